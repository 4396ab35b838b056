"""The braking events of a ride, with a choice of order."""

from collections.abc import Sequence
from typing import Any

import dash_mantine_components as dmc
from dash import html

from ridelog.answer.braking import BrakingEvent
from ridelog.answer.ride import Answer
from ridelog.tell import derived, tables
from ridelog.tell.numbers import Style, count
from ridelog.web import ids
from ridelog.web.parts.table import INTERVALS, body, component, head, scrolled

MOST_EVENTS = 300
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
        return html.Section(
            [html.H2("Braking events"), html.P("No braking was found on this ride.", className="gloss")],
            className="braking",
        )
    table = tables.events(events)
    return html.Section(
        [
            html.H2(f"Braking events ({count(len(events), style)})"),
            component(tables.kinds(answer), style),
            html.P(
                f"Missed is what was available at the wheel and never reached the battery. {INTERVALS}",
                className="gloss",
            ),
            dmc.SegmentedControl(
                id=ids.EVENT_ORDER,
                data=[{"value": value, "label": label} for value, label in ORDERS],
                value="time",
                size="xs",
                **{"aria-label": "Order of the braking events"},
            ),
            scrolled(
                html.Table(
                    [head(table, style), html.Tbody(event_rows(answer, "time", style), id=ids.EVENT_ROWS)],
                    className="events",
                ),
                "Table of braking events",
                high=True,
            ),
        ],
        className="braking",
    )


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
    events = ordered(answer.braking.events, order)
    table = tables.events(events[:MOST_EVENTS])
    rows = body(table, style)
    if len(events) > MOST_EVENTS:
        more = f"{count(len(events) - MOST_EVENTS, style)} more: `ridelog measure --table events` lists them all."
        rows.append(html.Tr(html.Td(more, colSpan=len(table.columns), className="word")))
    return rows


def ordered(events: Sequence[BrakingEvent], order: str) -> list[BrakingEvent]:
    """Events in an order; those whose number is not known come last."""

    def known_first(value: float | None) -> tuple[bool, float]:
        return (value is None, -(value or 0.0))

    if order == "returned":
        return sorted(events, key=lambda event: known_first(event.returned_wh.value if event.returned_wh else None))
    if order == "captured":
        return sorted(events, key=lambda event: known_first(event.captured_pct.value if event.captured_pct else None))
    if order == "missed":
        return sorted(events, key=lambda event: known_first(derived.missed_wh(event)))
    return sorted(events, key=lambda event: event.start_s)
