"""Findings as lists: the gravest first, each with its mark, its word and its time span."""

import re
from collections.abc import Sequence
from typing import Any

from dash import html

from ridelog.findings import Finding
from ridelog.tell.findings import sentence
from ridelog.tell.numbers import NO_BREAK_SPACE, Style
from ridelog.tell.times import clock_span

MARKS = {"danger": "■", "warning": "▲", "note": "●"}
LONG = 170  # letters, from which on it is cut to two lines at first
WORDS = {"danger": "Danger", "warning": "Warning", "note": "Note"}


def finding_list(findings: Sequence[Finding], label: str, style: Style) -> Any:
    """A section of findings; ``None`` where there is none.

    Parameters
    ----------
    findings : in the order in which they are read
    label : of the section
    style : units, digits and separators

    Returns
    -------
    Component.
    """
    if not findings:
        return None
    items = [_finding(each, style) for each in findings]
    return html.Section(html.Ul(items), className="findings", **{"aria-label": label})


def notes(findings: Sequence[Finding], style: Style) -> Any:
    """The list of notes, for a fold."""
    return html.Ul([_finding(each, style) for each in findings], className="findings")


def _finding(finding: Finding, style: Style) -> Any:
    """Two lines of it where it is long, and all of it when it is opened."""
    when = clock_span(finding.start_s, finding.end_s, style)
    said = sentence(finding, style)
    text = html.Span(
        [
            html.B(f"{WORDS[finding.severity]}: "),
            html.Span(marked(said)),
            *([html.Span(f" ({when})", className="when")] if when else []),
        ],
        className="said-of-it",
    )
    mark = html.Span(MARKS[finding.severity], className="mark", **{"aria-hidden": "true"})
    if len(said) <= LONG:
        return html.Li([mark, text], className=finding.severity)
    return html.Li([mark, html.Details(html.Summary(text))], className=f"{finding.severity} long")


def marked(text: str) -> list[Any]:
    """A sentence with what stands between backticks as code, and no line broken between a number and its %."""
    text = re.sub(r"(?<=\d) %", f"{NO_BREAK_SPACE}%", text)
    return [html.Code(part) if index % 2 else part for index, part in enumerate(text.split("`")) if part]
