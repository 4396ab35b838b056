"""The plan of a campaign as a document of one page, to be printed and ticked on the way."""

from ridelog.compare.plan import Plan
from ridelog.report.making import PAPERS, Making
from ridelog.report.pdf import pdf_of
from ridelog.report.sheet import sentence, sheet, text
from ridelog.report.tables import full_table
from ridelog.tell.compare import plan as words
from ridelog.tell.documents import plan as told
from ridelog.tell.numbers import NO_BREAK_SPACE, Style

FORMS = (".html", ".pdf")


def plan_document(plan: Plan, making: Making, form: str) -> bytes:
    """The plan as a file.

    Parameters
    ----------
    plan : of a campaign
    making : how it is to be made
    form : ".html" or ".pdf"

    Returns
    -------
    Its content; the same input gives the same bytes.

    Raises
    ------
    RidelogError : a library that the form takes is missing
    """
    html = plan_page(plan, making)
    return pdf_of(html) if form == ".pdf" else html.encode()


def plan_page(plan: Plan, making: Making | None = None) -> str:
    """The plan as one HTML file, without scripts and without anything fetched.

    Parameters
    ----------
    plan : of a campaign
    making : how it is to be made; metric and without a command by default

    Returns
    -------
    HTML; the same plan gives the same bytes.
    """
    making = making or Making()
    return sheet(told.title(plan, making.style), plan_parts(plan, making), paper=PAPERS[making.paper])


def plan_parts(plan: Plan, making: Making) -> list[str]:
    """What the document holds, as HTML, from top to bottom.

    Parameters
    ----------
    plan : of a campaign
    making : how it is to be made

    Returns
    -------
    Parts of a page.
    """
    style = making.style
    line = " · ".join(map(text, told.dateline(plan, style, making.dated)))
    parts = [_part(part, number) for number, part in enumerate(words.parts(plan, style))]
    again = f'<p class="soft">{text(told.AGAIN)} <code id="command">{text(making.command or "")}</code></p>'
    return [
        f'<article class="plan">\n<header>\n<p class="dateline">{line}</p>',
        f"<h1>{text(words.headline(plan, style))}</h1>\n</header>",
        _curve(plan, style),
        *parts,
        again if making.command else "",
        "</article>",
    ]


def _part(part: words.Part, number: int) -> str:
    lines = "".join(f"<li>{sentence(line).replace(' %', f'{NO_BREAK_SPACE}%')}</li>" for line in part.lines)
    kind = "boxes" if part.boxes else "lines"
    return (
        f'<section aria-labelledby="plan-{number}"><h2 id="plan-{number}">{text(part.heading)}</h2>\n'
        f'<ul class="{kind}">{lines}</ul>\n</section>'
    )


def _curve(plan: Plan, style: Style) -> str:
    """How often the difference would be told, beside the first parts."""
    table = words.curve(plan, style).without("bar")
    return f'<aside aria-label="{text(table.title)}">{full_table(table, style, caption=table.title)}</aside>'
