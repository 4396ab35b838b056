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
    when = clock_span(finding.start_s, finding.end_s, style)
    return html.Li(
        [
            html.Span(MARKS[finding.severity], className="mark", **{"aria-hidden": "true"}),
            html.Div(
                [
                    html.B(f"{WORDS[finding.severity]}: "),
                    html.Span(marked(sentence(finding, style))),
                    *([html.Span(f" ({when})", className="when")] if when else []),
                ]
            ),
        ],
        className=finding.severity,
    )


def marked(text: str) -> list[Any]:
    """A sentence with what stands between backticks as code, and no line broken between a number and its %."""
    text = re.sub(r"(?<=\d) %", f"{NO_BREAK_SPACE}%", text)
    return [html.Code(part) if index % 2 else part for index, part in enumerate(text.split("`")) if part]
