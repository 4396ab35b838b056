"""The braking events of a ride, with a choice of order."""

from collections.abc import Callable
from typing import Any

import dash_mantine_components as dmc
from dash import html

from ridelog.answer.braking import BrakingEvent
from ridelog.answer.ride import Answer
from ridelog.tell import page, tables
from ridelog.tell.numbers import Style
from ridelog.uncertain.quantity import Quantity
from ridelog.web import ids
from ridelog.web.parts.table import body, component, head, opens, scrolled

MOST_EVENTS = 300
SHOWN = ("start", "lasts", "kind", "speed", "drop", "available", "returned", "missed", "captured")
ORDERS = (
    ("time", "In order"),
    ("returned", "Most returned"),
    ("captured", "Best captured"),
    ("missed", "Most missed"),
)


def braking_section(answer: Answer, style: Style) -> Any:
    """Braking by kind, and every event."""
    events = answer.braking.events
    if not events:
        return html.P("No braking was found on this ride.", className="gloss")
    keys = set(_known(answer))
    orders = [{"value": value, "label": label} for value, label in ORDERS if value in {"time", *keys}]
    return html.Div(
        [
            component(tables.kinds(answer), style),
            html.P(page.MISSED if "missed" in keys else page.INTERVALS, className="gloss"),
            dmc.SegmentedControl(
                id=ids.EVENT_ORDER,
                data=orders,
                value="time",
                size="xs",
                display=None if len(orders) > 1 else "none",
                **{"aria-label": "Order of the braking events"},
            ),
            scrolled(
                html.Div(event_table(answer, "time", style), id=ids.EVENT_TABLE),
                "Table of braking events",
                high=True,
            ),
        ],
        className="braking",
    )


def _known(answer: Answer) -> list[str]:
    """The columns of which any event knows something."""
    return [column.key for column in tables.events(answer).only(*SHOWN).known().columns]


def event_table(answer: Answer, order: str, style: Style) -> Any:
    """The table of the braking events.

    Parameters
    ----------
    answer : of the ride
    order : one of `ORDERS`
    style : units, digits and separators

    Returns
    -------
    Component.
    """
    table = tables.events(answer).only(*_known(answer))
    rows = html.Tbody(event_rows(answer, order, style), id=ids.EVENT_ROWS)
    return html.Table([head(table, style), rows], className="events")


def event_rows(answer: Answer, order: str, style: Style) -> list[Any]:
    """Table rows of the braking events, at most `MOST_EVENTS` of them, in one of `ORDERS`.

    Parameters
    ----------
    answer : of the ride
    order : one of `ORDERS`
    style : units, digits and separators

    Returns
    -------
    Rows of a table's body.
    """
    events = ordered(answer, order)
    table = tables.events(answer, events[:MOST_EVENTS]).only(*_known(answer))
    rows = [opens(row, event.start_s, event.end_s) for row, event in zip(body(table, style), events, strict=False)]
    if len(events) > MOST_EVENTS:
        more = page.more_events(len(events) - MOST_EVENTS, style)
        rows.append(html.Tr(html.Td(more, colSpan=len(table.columns), className="word")))
    return rows


def ordered(answer: Answer, order: str) -> list[BrakingEvent]:
    """The braking events in one of `ORDERS`; those whose number is not known come last."""
    missed = tables.missed_by_event(answer)
    numbers: dict[str, Callable[[BrakingEvent], Quantity | None]] = {
        "returned": lambda event: event.returned_wh,
        "captured": lambda event: event.captured_pct,
        "missed": lambda event: missed.get(event.start_s),
    }
    if order not in numbers:
        return sorted(answer.braking.events, key=lambda event: event.start_s)

    def unknown_last(event: BrakingEvent) -> tuple[bool, float]:
        number = numbers[order](event)
        return (number is None, 0.0 if number is None else -number.value)

    return sorted(answer.braking.events, key=unknown_last)
