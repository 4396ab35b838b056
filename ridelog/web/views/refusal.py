"""What a visitor sees whose files gave no answer: why, and what answers the question where there is one."""

from collections import Counter
from collections.abc import Iterator, Sequence
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

MOST_HEADERS = 8  # that are asked about at once


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
            *_questions(shown.columns, token, owned),
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


def _questions(columns: Sequence[Columns], token: str, owned: Owned) -> Iterator[Any]:
    """How far the logs were understood, of those with one header the first, as one choice holds for all of them."""
    alike = Counter(each.header for each in columns if each.readings)
    first = {each.header: number for number, each in reversed([*enumerate(columns)]) if each.readings}
    for number in sorted(first.values())[:MOST_HEADERS]:
        yield _question(number, columns[number], token, owned, alike[columns[number].header] - 1)
    if len(first) > MOST_HEADERS:
        yield html.P(words.more_headers(len(first) - MOST_HEADERS), className="gloss")


def _question(number: int, columns: Columns, token: str, owned: Owned, n_alike: int) -> Any:
    """How far a log was understood; the first is the one that asks, the others are folded."""
    title = page.understood_of(columns.name)
    told = [
        *([html.P(words.same_header(n_alike), className="gloss")] if n_alike else []),
        *column_table(columns),
        *editor(number, columns, owned, place="asked"),
        *map_link(number, columns, token, "to answer the question"),
    ]
    if number == 0:
        return html.Div([html.H3(title), *told])
    return html.Details([html.Summary(title), html.Div(told)], id=f"understood-{number}")
