"""The hills of a ride as a ledger with bars: drawn going up; available, returned and captured going down."""

from collections.abc import Mapping, Sequence
from types import MappingProxyType
from typing import Any

from dash import html

from ridelog.answer.hills import Hill
from ridelog.answer.ride import Answer
from ridelog.lazy import dataclass
from ridelog.tell import numbers, page, tables
from ridelog.tell.numbers import UNKNOWN, Style
from ridelog.tell.table import Cell, Column, Table, capital, heads, text_of, value_of
from ridelog.uncertain.quantity import Quantity
from ridelog.web import ids
from ridelog.web.parts.bar import width
from ridelog.web.parts.table import interval, opens

NOWHERE: Mapping[float, str] = MappingProxyType({})
SHOWN = ("mark", "from_to", "height", "grade", "drawn", "returned", "captured", "both_ways")


@dataclass(frozen=True)
class _Bar:
    """How a column's numbers and bars are drawn; ``full`` is what a whole bar stands for."""

    kind: str
    full: float
    decimals: int


def hill_ledger(answer: Answer, style: Style, places: Mapping[float, str] = NOWHERE) -> Any:
    """All hills with bars, or a sentence where there is none.

    Parameters
    ----------
    answer : of the ride
    style : units, digits and separators
    places : hills that have pages of their own, by the second at which the ride enters them

    Returns
    -------
    Component.
    """
    if not answer.hills:
        return html.P(page.no_hill(style), className="gloss")
    table = tables.hills(answer)
    known = {column.key for column in table.known().columns}
    what = {"returned": "available"} if "returned" not in known else {}  # else it stands beside what was returned
    shown = table.only(*(what.get(key, key) for key in SHOWN if what.get(key, key) in known))
    bars = _bars(table)
    names = [capital(name) for name in heads(shown.columns, style, before_unit=", ")]
    names = [
        page.returned_of_available(name) if name == "Returned, Wh" and "available" in known else name for name in names
    ]
    rows = [
        _leading(_row(row, shown.columns, bars, hill, names, style), hill, places.get(hill.start_s))
        for row, hill in zip(shown.rows, answer.hills, strict=True)
    ]
    return html.Table(
        [
            html.Caption(
                page.hill_caption(
                    available="available" in known, returned="returned" in known, both_ways="both_ways" in known
                )
            ),
            html.Thead(html.Tr([html.Th(name, scope="col") for name in names])),
            html.Tbody(rows),
        ],
        className="ledger",
    )


def _leading(row: Any, hill: Hill, place: str | None) -> Any:
    """The row, with a way from its head to the page of its hill where there is one."""
    if place is not None:
        head = row.children[0]
        told = f"{hill.name}, {page.OVER_TIME}"
        way = html.A(page.OVER_TIME, href=f"{ids.HILL_PATH}{place}", className="over", **{"aria-label": told})
        head.children = [head.children, " ", way]
    return row


def _bars(table: Table) -> dict[str, _Bar]:
    """Energies share one scale, and so do percentages."""
    energies = [value_of(cell) for key in ("drawn", "available", "returned") for cell in table.column(key)]
    longest_wh, wh = max((each for each in energies if each), default=1.0), numbers.decimals_for(energies)
    shares = [value_of(cell) for cell in table.column("both_ways")]
    tenths = numbers.decimals_for([100.0 if each >= 10 else 1.0 for each in shares if each], 2)
    return {
        "drawn": _Bar("drawn", longest_wh, wh),
        "available": _Bar("available", longest_wh, wh),
        "returned": _Bar("returned", longest_wh, wh),
        "captured": _Bar("captured", 100.0, 0),
        "both_ways": _Bar("recovered", 100.0, tenths),
    }


def _row(
    row: Sequence[Cell],
    columns: Sequence[Column],
    bars: dict[str, _Bar],
    hill: Hill,
    names: Sequence[str],
    style: Style,
) -> Any:
    down = hill.direction == "down"
    head = html.Th(
        [
            html.Span(str(row[0]), className="returned" if down else "drawn"),
            html.Span(" down" if down else " up", className="way"),
        ],
        scope="row",
    )
    cells = []
    for cell, column, name in zip(row[1:], columns[1:], names[1:], strict=True):
        if column.key not in bars:
            shown = Quantity(cell.value) if isinstance(cell, Quantity) else cell  # a value alone: the place is scarce
            made = html.Td(text_of(shown, column, style))
        else:
            outline = hill.available_wh if down and column.key == "returned" else None
            made = _bar_cell(cell, column, bars[column.key], outline, style)
        setattr(made, "data-label", name)  # on a narrow page each row is a card, and its cells say what they are
        cells.append(made)
    return opens(html.Tr([head, *cells]), hill.start_s, hill.end_s)


def _bar_cell(cell: Cell, column: Column, bar: _Bar, available: Quantity | None, style: Style) -> Any:
    """A number with its interval and a bar; an outline around the bar for what was available."""
    quantity = cell if isinstance(cell, Quantity) else None
    if quantity is not None and column.key == "available":
        return _available_cell(quantity, column, bar, style)
    if quantity is None and available is None:
        return html.Td(html.Span(UNKNOWN), className="none")
    words: list[Any] = [UNKNOWN if quantity is None else numbers.fixed(quantity.value, bar.decimals, style)]
    fills = []
    if quantity is not None:
        fills.append(html.Span(className=f"fill {bar.kind}", style=width(quantity.value, bar.full)))
    if available is not None and available.value > 0:
        fills.append(html.Span(className="outline", style=width(available.value, bar.full)))
        words.append(html.Span(page.of_available(numbers.fixed(available.value, bar.decimals, style)), className="of"))
    words += [] if quantity is None else interval(quantity, column, style, bar.decimals)
    return html.Td([*words, html.Span(fills, className="track-bar", **{"aria-hidden": "true"})], className="barred")


def _available_cell(available: Quantity, column: Column, bar: _Bar, style: Style) -> Any:
    """What was available, outlined as beside what was returned: nobody knows what came back."""
    outline = html.Span(className="outline", style=width(available.value, bar.full))
    words = [numbers.fixed(available.value, bar.decimals, style), *interval(available, column, style, bar.decimals)]
    return html.Td([*words, html.Span(outline, className="track-bar", **{"aria-hidden": "true"})], className="barred")
