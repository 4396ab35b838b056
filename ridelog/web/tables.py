"""The page's tables: hills as a ledger with bars, braking events, and how columns were understood."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import dash_mantine_components as dmc
from dash import html

from ridelog.answer.braking import BrakingEvent
from ridelog.answer.hills import Hill
from ridelog.answer.ride import Answer
from ridelog.recording import ColumnReading
from ridelog.uncertain.quantity import Quantity
from ridelog.web import text

MOST_EVENTS = 300
ORDERS = (
    ("time", "In order"),
    ("returned", "Most returned"),
    ("captured", "Best captured"),
    ("missed", "Most missed"),
)


SMALL = "The small numbers are 95 % intervals, where wider than the digits shown."
LEDGER_HEADS = (
    "Hill", "From–to, km", "Height, m", "Grade, %",
    "Drawn, Wh", "Came back of offered, Wh", "Captured, %", "Recovered both ways, %",
)  # fmt: skip


@dataclass(frozen=True)
class _Bar:
    """How a column's numbers and bars are drawn; ``full`` is what a whole bar stands for."""

    kind: str
    full: float
    decimals: int


def hill_ledger(answer: Answer) -> Any:
    """All hills with bars: drawn going up; returned, offered and captured going down; recovered for both ways."""
    if not answer.hills:
        return html.P("No hill rises or falls by at least 5 m at 2 % or more on this ride.", className="gloss")
    recovered = {pair.down: pair.recovered_pct for pair in answer.hill_pairs}
    energies = [text.value_of(q) for h in answer.hills for q in (h.drawn_wh, h.returned_wh, h.available_wh)]
    longest_wh, decimals = max((e for e in energies if e), default=1.0), text.decimals_for(energies)
    shares = text.decimals_for([100.0 if q.value >= 10 else 1.0 for q in recovered.values() if q], 2)
    bars = (
        _Bar("drawn", longest_wh, decimals),
        _Bar("returned", longest_wh, decimals),
        _Bar("captured", 100.0, 0),
        _Bar("recovered", 100.0, shares),
    )
    return html.Table(
        [
            html.Caption(
                "Offered is what braking had to give at the wheel (the outline), came back is what reached the "
                "battery. Recovered both ways: returned going down, of what the same hill took going up. " + SMALL
            ),
            html.Thead(html.Tr([html.Th(head, scope="col") for head in LEDGER_HEADS])),
            html.Tbody([_ledger_row(hill, recovered.get(hill.id), bars) for hill in answer.hills]),
        ],
        className="ledger",
    )


def _ledger_row(hill: Hill, recovered: Quantity | None, bars: Sequence[_Bar]) -> Any:
    down = hill.direction == "down"
    head = html.Th(
        [
            html.Span(text.hill_label(hill), className="returned" if down else "drawn"),
            html.Span(f" {hill.direction}", className="way"),
        ],
        scope="row",
    )
    cells = [
        html.Td(f"{hill.start_m / 1000:.2f}–{hill.end_m / 1000:.2f}"),
        html.Td(text.fixed(hill.height_m.value, 0)),
        html.Td(text.fixed(hill.mean_grade_pct.value, 1)),
        _bar_cell(hill.drawn_wh, bars[0]),
        _bar_cell(hill.returned_wh, bars[1], offered=hill.available_wh if down else None),
        _bar_cell(hill.captured_pct if down else None, bars[2]),
        _bar_cell(recovered, bars[3]),
    ]
    for cell, name in zip(cells, LEDGER_HEADS[1:], strict=True):
        setattr(cell, "data-label", name)  # on a narrow page each row is a card, and its cells say what they are
    return html.Tr([head, *cells])


def _bar_cell(value: Quantity | None, bar: _Bar, *, offered: Quantity | None = None) -> Any:
    """A number with its interval and a bar; an outline around the bar for what was offered."""
    if value is None:
        return html.Td(html.Span(text.UNKNOWN), className="none")
    fills = [html.Span(className=f"fill {bar.kind}", style={"width": _width(value.value, bar.full)})]
    words = [text.fixed(value.value, bar.decimals)]
    if offered is not None and offered.value > 0:
        fills.append(html.Span(className="offered", style={"width": _width(offered.value, bar.full)}))
        words.append(html.Span(f" of {text.fixed(offered.value, bar.decimals)}", className="of"))
    words += _interval(value, bar.decimals)
    return html.Td([*words, html.Span(fills, className="track-bar", **{"aria-hidden": "true"})], className="barred")


def _interval(value: Quantity, decimals: int, *, factor: float = 1.0) -> list[Any]:
    """The 95 % interval for a cell, called so for those who hear it; nothing where its bounds look the same."""
    if value.low95 is None or value.high95 is None:
        return []
    low, high = (text.fixed(each * factor, decimals) for each in (value.low95, value.high95))
    if low == high:
        return []
    called = html.Span(" 95 % interval ", className="visually-hidden")
    return [html.Span([called, f"{low} to {high}"], className="interval")]


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
                f"Missed is what was offered at the wheel and did not reach the battery. {SMALL}",
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
                        html.Thead(
                            html.Tr(
                                [
                                    html.Th(h, scope="col", className="word" if h == "Kind" else None)
                                    for h in EVENT_HEADS
                                ]
                            )
                        ),
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
    "Start, h:mm:ss", "Lasts, s", "Kind", "Speed, km/h", "Drop, m",
    "Offered, Wh", "Returned, Wh", "Returned, mAh", "Captured, %",
)  # fmt: skip


def event_rows(answer: Answer, order: str) -> list[Any]:
    """Table rows of the braking events, at most `MOST_EVENTS` of them, in one of `ORDERS`."""
    events = ordered(answer.braking.events, order)
    wh = text.decimals_for(text.value_of(q) for e in events for q in (e.available_wh, e.returned_wh))
    rows = [html.Tr(_event_cells(event, wh)) for event in events[:MOST_EVENTS]]
    if len(events) > MOST_EVENTS:
        more = f"{len(events) - MOST_EVENTS} more: `ridelog measure --table events` lists them all."
        rows.append(html.Tr(html.Td(more, colSpan=len(EVENT_HEADS), className="word")))
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


def _event_cells(event: BrakingEvent, wh: int) -> list[Any]:
    """One event; ``wh`` is the number of decimals of its energies."""
    speeds = [text.fixed(v * 3.6, 0) if v is not None else "?" for v in (event.start_speed_mps, event.end_speed_mps)]
    known = event.start_speed_mps is not None or event.end_speed_mps is not None
    return [
        html.Th(text.clock(event.start_s), scope="row"),
        html.Td(text.fixed(event.end_s - event.start_s, 1)),
        html.Td(event.kind, className="word"),
        html.Td(f"{speeds[0]} → {speeds[1]}" if known else text.UNKNOWN),
        html.Td(_shown(event.drop_m, 1)),
        html.Td(_shown(event.available_wh, wh)),
        html.Td(_shown(event.returned_wh, wh)),
        html.Td(_shown(event.returned_ah, 0, factor=1000.0)),
        html.Td(_shown(event.captured_pct, 0)),
    ]


def _shown(quantity: Quantity | None, decimals: int, *, factor: float = 1.0) -> Any:
    if quantity is None:
        return text.UNKNOWN
    return [text.fixed(quantity.value * factor, decimals), *_interval(quantity, decimals, factor=factor)]


def column_table(readings: Sequence[ColumnReading], name: str) -> Any:
    """How each column of a log was understood, and why."""
    rows = [
        html.Tr(
            [
                html.Th(reading.header, scope="row"),
                html.Td(reading.quantity or "not used", className="word"),
                html.Td(reading.unit or text.UNKNOWN, className="word"),
                html.Td(_conversion(reading), className="word"),
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
