"""A document on paper: HTML laid out as PDF, tagged for who hears it, the same bytes from the same HTML."""

import re
from typing import Any

from ridelog.budget import give_back
from ridelog.tell.refusals import documents as refusals

UNIT, WHOLE = re.compile(r"(?<=Wh)/(?=km|mi)|(?<=km)/(?=h)"), "/\N{WORD JOINER}"  # a line does not end within a unit
TELEPHONES = re.compile(r'<svg class="drawing narrow".*?</svg>', re.DOTALL)  # drawings that paper never shows
VARIANT = "pdf/ua-1"  # ISO 14289-1: structure, language, title and words for each picture


def pdf_of(html: str) -> bytes:
    """The HTML as PDF/UA-1, laid out on the paper that it names.

    Parameters
    ----------
    html : a document; nothing is fetched for it

    Returns
    -------
    The PDF, without dates or random names.

    Raises
    ------
    RidelogError : what lays it out is not installed
    """
    on_paper = UNIT.sub(WHOLE, TELEPHONES.sub("", html))
    give_back()  # what the measuring before took, as laying out takes as much again
    content: bytes = layout().HTML(string=on_paper).write_pdf(pdf_variant=VARIANT)
    return content


def layout() -> Any:
    """What lays out PDF.

    Raises
    ------
    RidelogError : it, or what it takes of the system, is not installed
    """
    try:
        import weasyprint
    except ImportError as error:
        raise refusals.no_layout() from error
    except OSError as error:  # libraries of the system, which Python's packages do not bring
        raise refusals.no_layout_libraries() from error
    return weasyprint
