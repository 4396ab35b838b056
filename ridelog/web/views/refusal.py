"""What a visitor sees whose files gave no answer: why, and what answers the question where there is one."""

from typing import Any

from dash import html

from ridelog.tell import page
from ridelog.web.parts.findings import marked
from ridelog.web.parts.sources import column_table, map_link
from ridelog.web.rides import Columns, ShownRide


def refusal(shown: ShownRide, token: str) -> Any:
    """Why the visitor's files gave no answer, and what answers the question where there is one."""
    message, *hints = shown.error_lines
    return html.Section(
        [
            html.H2("These files could not be measured"),
            html.P(marked(message), className="cause"),
            *(html.Pre(hint, className="hint", tabIndex="0") for hint in hints),
            *(_question(number, each, token) for number, each in enumerate(shown.columns)),
            html.P(page.files(shown.files), className="gloss") if shown.files else None,
        ],
        className="refusal",
        **{"aria-label": "Files that could not be measured"},
    )


def _question(number: int, columns: Columns, token: str) -> Any:
    return html.Div(
        [
            html.H3(page.understood_of(columns.name)),
            column_table(columns.readings, columns.name),
            *map_link(number, columns, token, "to answer the question"),
        ]
    )  # fmt: skip
