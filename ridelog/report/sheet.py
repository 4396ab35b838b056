"""A document as one HTML file: its head, its look, and tables, with everything escaped that comes from outside."""

import re
from collections.abc import Iterable, Sequence
from functools import cache
from html import escape
from importlib import resources
from itertools import chain, repeat

from ridelog.errors import printable
from ridelog.tell import table as drawing
from ridelog.tell.numbers import UNKNOWN, Style

Links = Sequence[str | None]
PAGE = "@page {{ size: {paper}; }}\n"


@cache
def look() -> str:
    """The style sheet of all documents."""
    return resources.files("ridelog.report").joinpath("assets", "document.css").read_text(encoding="utf-8")


def sheet(title: str, parts: Iterable[str], *, again_s: int | None = None, paper: str = "A4") -> str:
    """The whole document.

    Parameters
    ----------
    title : of the window
    parts : HTML of the body, in order
    again_s : after how long a browser looks again, where there will be more to see [s]
    paper : that it is printed on, as style sheets name it

    Returns
    -------
    HTML.
    """
    body = "\n".join(parts)
    again = "" if again_s is None else f'<meta http-equiv="refresh" content="{again_s}">\n'
    return (
        '<!doctype html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n'
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        ""
        f"{again}<title>{text(title)}</title>\n<style>\n{look()}{PAGE.format(paper=paper)}</style>\n</head>\n<body>\n<main>\n{body}\n</main>\n</body>\n</html>\n"
    )


def text(words: str) -> str:
    """Words as text: no markup, nothing that a screen would obey."""
    return escape(printable(words))


def sentence(words: str) -> str:
    """Words as text; what stands between backticks is code."""
    return re.sub("`([^`]+)`", r"<code>\1</code>", text(words))


def table_of(table: drawing.Table, style: Style, links: Links = ()) -> str:
    """A table of the columns in which anything is known, under its heading; the first cell of a row is its head.

    Parameters
    ----------
    table : as `ridelog.tell` gives it
    style : units, digits and separators
    links : where the head of each row leads to; nowhere by default

    Returns
    -------
    HTML with a heading, the table's note below it; empty without a row.
    """
    rows = _rows_of(table, style, links)
    return f"<h2>{text(table.title)}</h2>\n{rows}" if rows else ""


def folded_table_of(table: drawing.Table, style: Style, links: Links = ()) -> str:
    """The same table folded away under its heading, until a reader asks for it.

    Parameters
    ----------
    table, style, links : as of `table_of`

    Returns
    -------
    HTML; empty without a row.
    """
    rows = _rows_of(table, style, links)
    return f"<details>\n<summary>{text(table.title)}</summary>\n{rows}\n</details>" if rows else ""


def _rows_of(table: drawing.Table, style: Style, links: Links) -> str:
    known = table.known()
    if not known.rows:
        return ""
    heads = "".join(
        f'<th scope="col"{_kind(column)}>{text(column.name)}{_unit(column, style)}</th>' for column in known.columns
    )
    leads = chain(links, repeat(None))
    rows = "\n".join(
        f"<tr>{''.join(_cells(row, known.columns, style, link))}</tr>"
        for row, link in zip(known.rows, leads, strict=False)  # links without end
    )
    note = f'<p class="soft">{text(table.note)}</p>' if table.note else ""
    return (
        f"{scrolled(table.title)}<table>\n"
        f"<thead><tr>{heads}</tr></thead>\n<tbody>\n{rows}\n</tbody>\n</table></div>\n{note}"
    )


def scrolled(label: str) -> str:
    """The beginning of a box with a name, which scrolls sideways where it must, also by the keyboard."""
    return f'<div class="scroll" role="group" tabindex="0" aria-label="{text(label)}">'


def _cells(
    row: Iterable[drawing.Cell], columns: Iterable[drawing.Column], style: Style, link: str | None
) -> Iterable[str]:
    for place, (cell, column) in enumerate(zip(row, columns, strict=True)):
        words = drawing.text_of(cell, column, style) if drawing.is_known(cell) else UNKNOWN
        if place == 0:
            head = text(words) if link is None else f'<a href="{text(link)}">{text(words)}</a>'
            yield f'<th scope="row">{head}</th>'
        else:
            yield f"<td{_kind(column)}>{text(words)}</td>"


def _kind(column: drawing.Column) -> str:
    return ' class="number"' if column.align == "right" else ""


def _unit(column: drawing.Column, style: Style) -> str:
    unit = column.unit(style)
    return f" [{text(unit)}]" if unit else ""
