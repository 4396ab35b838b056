"""The page's tables: hills as a ledger with bars, braking events, and how columns were understood."""

from collections.abc import Sequence
from typing import Any

import dash_mantine_components as dmc
from dash import html

from ridelog.answer import Answer, BrakingEvent, Hill, Quantity
from ridelog.recording import ColumnReading
from ridelog.web import text

MOST_EVENTS = 300
ORDERS = (
    ("time", "In order"),
    ("returned", "Most returned"),
    ("captured", "Best captured"),
    ("missed", "Most missed"),
)


def hill_ledger(answer: Answer) -> Any:
    """All hills with bars: drawn going up; returned, offered and captured going down; recovered for both ways."""
    if not answer.hills:
        return html.P("No hill rises or falls by at least 5 m at 2 % or more on this ride.", className="gloss")
    pair_share = {pair.down: pair for pair in answer.hill_pairs}
    names = {hill.id: hill.name for hill in answer.hills}
    longest_wh = max(
        (q.value for hill in answer.hills for q in (hill.drawn_wh, hill.returned_wh, hill.available_wh) if q),
        default=1.0,
    )
    heads = (
        "Hill", "Along the ride, km", "Height, m", "Grade, %",
        "Drawn, Wh", "Came back, Wh", "Captured, %", "Recovered, %",
    )  # fmt: skip
    rows = []
    for hill in answer.hills:
        pair = pair_share.get(hill.id)
        recovered = pair.recovered_pct if pair else None
        cells = [
            html.Td(f"{hill.start_m / 1000:.2f}–{hill.end_m / 1000:.2f}"),
            html.Td(text.number(hill.height_m.value)),
            html.Td(text.number(hill.mean_grade_pct.value, 2)),
            _bar_cell(hill.drawn_wh, longest_wh, "drawn"),
            _bar_cell(hill.returned_wh, longest_wh, "returned", offered=_offered(hill)),
            _bar_cell(hill.captured_pct if hill.direction == "down" else None, 100.0, "captured", digits=2),
            _bar_cell(
                recovered, 100.0, "recovered", digits=2, gloss=f"of {names[pair.up]}" if pair and recovered else None
            ),
        ]
        rows.append(
            html.Tr(
                [
                    html.Th([html.Span(text.hill_label(hill), className=_side(hill)), " ", _way(hill)], scope="row"),
                    *_labelled(cells, heads[1:]),
                ]
            )
        )
    return html.Div(
        [
            html.Table(
                [
                    html.Caption(
                        "Came back: the outline is what braking offered at the wheel, the filled part what reached the "
                        "battery. Recovered: returned going down, of what the same hill took going up."
                    ),
                    html.Thead(html.Tr([html.Th(head, scope="col") for head in heads])),
                    html.Tbody(rows),
                ],
                className="ledger",
            )
        ],
        className="ledger-box",
    )


def _way(hill: Hill) -> Any:
    return html.Span(hill.direction, className="gloss")


def _side(hill: Hill) -> str:
    return "drawn" if hill.direction == "up" else "returned"


def _offered(hill: Hill) -> Quantity | None:
    return hill.available_wh if hill.direction == "down" else None


def _labelled(cells: Sequence[Any], heads: Sequence[str]) -> list[Any]:
    """Cells that carry their column's head, for the narrow page where each row is a card."""
    for cell, head in zip(cells, heads, strict=True):
        setattr(cell, "data-label", head)
    return list(cells)


def _bar_cell(
    value: Quantity | None,
    full: float,
    kind: str,
    *,
    offered: Quantity | None = None,
    digits: int = 3,
    gloss: str | None = None,
) -> Any:
    """A number with its interval and a bar; an outline behind the bar for what was offered."""
    if value is None:
        return html.Td(html.Span(text.UNKNOWN, className="none"))
    bars = [html.Span(className=f"fill {kind}", style={"width": _width(value.value, full)})]
    if offered is not None and offered.value > 0:
        bars.insert(0, html.Span(className="offered", style={"width": _width(offered.value, full)}))
        gloss = f"of {text.number(offered.value)} offered"
    within = text.interval(value, digits=digits)
    return html.Td(
        [
            html.Span(text.number(value.value, digits), className="figure"),
            *([html.Span(within, className="interval")] if within else []),
            *([html.Span(gloss, className="gloss")] if gloss else []),
            html.Span(bars, className="track-bar", **{"aria-hidden": "true"}),
        ],
        className="barred",
    )


def _width(value: float, full: float) -> str:
    return f"{100 * min(max(value / full, 0.0), 1.0):.2f}%" if full > 0 else "0%"


def braking_section(answer: Answer) -> Any:
    """The braking events, with a choice of order."""
    events = answer.braking.events
    if not events:
        return html.Section(
            [html.H2("Braking events"), html.P("No braking event was found.", className="gloss")], className="braking"
        )
    return html.Section(
        [
            html.H2(f"Braking events ({len(events)})"),
            html.P(
                "Missed is what was offered at the wheel and did not reach the battery.",
                className="gloss",
            ),
            dmc.SegmentedControl(
                id="event-order",
                data=[{"value": value, "label": label} for value, label in ORDERS],
                value="time",
                size="xs",
                **{"aria-label": "Order of the braking events"},
            ),
            html.Div(
                html.Table(
                    [
                        html.Thead(html.Tr([html.Th(head, scope="col") for head in EVENT_HEADS])),
                        html.Tbody(event_rows(answer, "time"), id="event-rows"),
                    ],
                    className="events",
                ),
                className="scroll",
                tabIndex="0",
                role="region",
                **{"aria-label": "Table of braking events"},
            ),
        ],
        className="braking",
    )


EVENT_HEADS = (
    "Start, h:mm:ss", "Length, s", "Kind", "Speed, km/h", "Drop, m",
    "Offered, Wh", "Returned, Wh", "Captured, %", "Returned, mAh",
)  # fmt: skip


def event_rows(answer: Answer, order: str) -> list[Any]:
    """Table rows of the braking events, at most `MOST_EVENTS` of them, in one of `ORDERS`."""
    events = ordered(answer.braking.events, order)
    rows = [html.Tr(_event_cells(event)) for event in events[:MOST_EVENTS]]
    if len(events) > MOST_EVENTS:
        more = f"{len(events) - MOST_EVENTS} more: `ridelog measure --table events` lists them all."
        rows.append(html.Tr(html.Td(more, colSpan=len(EVENT_HEADS))))
    return rows


def ordered(events: Sequence[BrakingEvent], order: str) -> list[BrakingEvent]:
    """Events in an order; those whose number is not known come last."""

    def known_first(value: float | None) -> tuple[bool, float]:
        return (value is None, -(value or 0.0))

    if order == "returned":
        return sorted(events, key=lambda event: known_first(text.value_of(event.returned_wh)))
    if order == "captured":
        return sorted(events, key=lambda event: known_first(text.value_of(event.captured_pct)))
    if order == "missed":
        return sorted(events, key=lambda event: known_first(_missed_wh(event)))
    return sorted(events, key=lambda event: event.start_s)


def _missed_wh(event: BrakingEvent) -> float | None:
    if event.available_wh is None or event.returned_wh is None:
        return None
    return event.available_wh.value - event.returned_wh.value


def _event_cells(event: BrakingEvent) -> list[Any]:
    speeds = [text.number(v * 3.6, 2) if v is not None else "?" for v in (event.start_speed_mps, event.end_speed_mps)]
    known = event.start_speed_mps is not None or event.end_speed_mps is not None
    return [
        html.Th(text.clock(event.start_s), scope="row"),
        html.Td(text.number(event.end_s - event.start_s, 2)),
        html.Td(event.kind, className="word"),
        html.Td(f"{speeds[0]} → {speeds[1]}" if known else text.UNKNOWN),
        html.Td(_shown(event.drop_m, 2)),
        html.Td(_shown(event.available_wh)),
        html.Td(_shown(event.returned_wh)),
        html.Td(_shown(event.captured_pct, 2)),
        html.Td(_shown(event.returned_ah, factor=1000.0)),
    ]


def _shown(quantity: Quantity | None, digits: int = 3, *, factor: float = 1.0) -> Any:
    if quantity is None:
        return text.UNKNOWN
    within = text.interval(quantity, factor, digits)
    shown = text.number(quantity.value * factor, digits)
    return [shown, html.Span(within, className="interval")] if within else shown


def column_table(readings: Sequence[ColumnReading], name: str) -> Any:
    """How each column of a log was understood, and why."""
    rows = [
        html.Tr(
            [
                html.Th(reading.header, scope="row"),
                html.Td(reading.quantity or "not used", className="word"),
                html.Td(reading.unit or text.UNKNOWN, className="word"),
                html.Td(_conversion(reading)),
                html.Td(reading.why, className="word why"),
            ]
        )
        for reading in readings
    ]
    heads = ("Column", "Understood as", "Unit", "Conversion", "Why")
    return html.Div(
        html.Table(
            [html.Thead(html.Tr([html.Th(head, scope="col") for head in heads])), html.Tbody(rows)],
            className="columns",
        ),
        className="scroll",
        tabIndex="0",
        role="region",
        **{"aria-label": f"How the columns of {name} were understood"},
    )


def _conversion(reading: ColumnReading) -> str:
    """ "× 0.001, sign turned": what was done to the column's values."""
    if reading.channel is None:
        return "not used"
    words = [f"+ {reading.offset:g}"] if reading.offset else []
    words += [f"× {reading.factor:g}"] if reading.factor != 1 else []
    words += ["sign turned"] if reading.sign < 0 else []
    return ", ".join(words) or "as it is"
