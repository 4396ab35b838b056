"""What a visitor sees whose files gave no answer: why, and what answers the question where there is one."""

from collections.abc import Sequence
from typing import Any

from dash import html

from ridelog.tell import page
from ridelog.tell.numbers import PAGE, Style
from ridelog.tell.pages import columns as words
from ridelog.web.parts.findings import marked
from ridelog.web.parts.reading.changes import change_list
from ridelog.web.parts.reading.needs import needs
from ridelog.web.parts.reading.sources import column_table, editor, map_link
from ridelog.web.rides import NOBODYS, Columns, Owned, ShownRide


def refusal(shown: ShownRide, token: str, owned: Owned = NOBODYS, style: Style = PAGE) -> Any:
    """Why the visitor's files gave no answer, and what answers the question where there is one.

    Parameters
    ----------
    shown : the ride
    token : by which it is found
    owned : what the visitor may do with it
    style : how numbers are written

    Returns
    -------
    Component.
    """
    message, *hints = shown.error_lines
    return html.Section(
        [
            html.H2("These files could not be measured"),
            html.P(marked(message), className="cause"),
            *_hints(hints, can_choose=owned.mine and bool(shown.columns) and bool(shown.columns[0].questions)),
            change_list(owned.changes, style),
            needs(shown.columns, None) if shown.columns else None,
            *(_question(number, each, token, owned) for number, each in enumerate(shown.columns) if each.readings),
            html.P(page.files(shown.files), className="gloss") if shown.files else None,
        ],
        className="refusal",
        **{"aria-label": "Files that could not be measured"},
    )


def _hints(hints: Sequence[str], *, can_choose: bool) -> list[Any]:
    """What can be done; where lists answer, the line of a column map is folded."""
    told = [html.Pre(hint, className="hint", tabIndex="0") for hint in hints]
    if not can_choose or not told:
        return told
    return [html.P(words.BELOW), html.Details([html.Summary(words.AS_MAP), *told], id="as-map")]


def _question(number: int, columns: Columns, token: str, owned: Owned) -> Any:
    """How far a log was understood; the first is the one that asks, the others are folded."""
    title = page.understood_of(columns.name)
    told = [
        *column_table(columns),
        *editor(number, columns, owned, place="asked"),
        *map_link(number, columns, token, "to answer the question"),
    ]
    if number == 0:
        return html.Div([html.H3(title), *told])
    return html.Details([html.Summary(title), html.Div(told)], id=f"understood-{number}")
