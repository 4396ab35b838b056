"""Parts that documents of any kind are made of: sections, figures, findings, contents."""

from collections.abc import Callable, Iterable, Sequence

from ridelog.findings import Finding
from ridelog.report.drawings.svg import NARROW, WIDE, Drawing
from ridelog.report.sheet import sentence, text
from ridelog.tell.findings import sentence as finding_sentence
from ridelog.tell.numbers import NO_BREAK_SPACE, Style
from ridelog.tell.times import clock_span

MARKS = {"danger": "■", "warning": "▲", "note": "●"}
WORDS = {"danger": "Danger", "warning": "Warning", "note": "Note"}
Section = tuple[str, str, str]  # key, heading, HTML


def section(key: str, heading: str, *parts: str) -> Section | None:
    """A section; ``None`` where nothing stands in it.

    Parameters
    ----------
    key : of its anchor
    heading : above it
    parts : HTML

    Returns
    -------
    The section.
    """
    body = "\n".join(part for part in parts if part)
    return (key, heading, body) if body else None


def drawn(section: Section) -> str:
    """A section as HTML."""
    key, heading, body = section
    return f'<section id="{key}" aria-labelledby="{key}-h"><h2 id="{key}-h">{text(heading)}</h2>\n{body}\n</section>'


def contents(sections: Sequence[Section], label: str) -> str:
    """Links to the sections; on paper with their pages.

    Parameters
    ----------
    sections : of the document
    label : what the list is called

    Returns
    -------
    HTML.
    """
    links = "".join(f'<li><a href="#{key}">{text(heading)}</a></li>' for key, heading, _ in sections)
    return f'<nav class="contents" aria-label="{text(label)}"><ol>{links}</ol></nav>'


def figure(draw: Callable[[int], Drawing | None], legend: str) -> str:
    """A drawing for a page and for a telephone, of which one is shown, and what to see in it.

    Parameters
    ----------
    draw : of a width
    legend : below it

    Returns
    -------
    HTML; empty where there is nothing to draw.
    """
    drawings = [drawing for drawing in (draw(WIDE), draw(NARROW)) if drawing is not None]
    if not drawings:
        return ""
    shown = "\n".join(drawing.inline() for drawing in drawings)
    return f"<figure>{shown}<figcaption>{text(legend)}</figcaption></figure>"


def paragraph(words: str, kind: str = "") -> str:
    """A paragraph, what stands between backticks as code; empty without words."""
    of_kind = f' class="{kind}"' if kind else ""
    return f"<p{of_kind}>{sentence(words)}</p>" if words else ""


def findings(told: Iterable[Finding], style: Style) -> str:
    """Findings as a list, each with how grave it is, its code, and when; empty without any."""
    items = "\n".join(_finding(each, style) for each in told)
    return f'<ul class="remarks">\n{items}\n</ul>' if items else ""


def _finding(finding: Finding, style: Style) -> str:
    severity = finding.severity
    when = clock_span(finding.start_s, finding.end_s, style)
    said = sentence(finding_sentence(finding, style)).replace(" %", f"{NO_BREAK_SPACE}%")
    return (
        f'<li class="{severity}"><b class="{severity}"><span aria-hidden="true">{MARKS[severity]}</span> '
        f"{WORDS[severity]}:</b> {said} "
        f'<span class="soft">{f"{text(when)} · " if when else ""}{text(finding.code)}</span></li>'
    )
