"""A table as data: named columns with their kind of quantity, and rows of quantities, numbers and words.

Terminal, page and document draw the same table; only how a cell looks is theirs. Nothing here is converted or rounded
before it is drawn, so that one style decides units and digits of all of it.
"""

from collections.abc import Iterable, Sequence
from dataclasses import replace
from math import log10
from typing import Literal

from ridelog.lazy import dataclass
from ridelog.tell import numbers, times
from ridelog.tell.kinds import ENERGY, RATIO, Kind
from ridelog.tell.numbers import METRIC, UNKNOWN, Style
from ridelog.uncertain.quantity import Quantity


@dataclass(frozen=True)
class Span:
    """Two ends in a column's own unit; ``link`` stands between them. An end that is not known is a question mark."""

    start: float | None
    end: float | None
    link: str = "to"


@dataclass(frozen=True)
class Amount:
    """A quantity of another kind than its column's: tables of few things of many kinds."""

    quantity: Quantity | None
    kind: Kind


@dataclass(frozen=True)
class Elapsed:
    """Seconds since the start, read as hours, minutes and seconds [s]."""

    seconds: float


Cell = Quantity | Span | Amount | Elapsed | float | int | str | None


@dataclass(frozen=True)
class Column:
    """One column.

    ``key`` : short, for programs · ``kind`` : of its quantities; ``None`` for words, counts and mixed kinds ·
    ``decimals`` : of its numbers in the metric unit, where not by their size · ``given`` : its name is somebody's own,
    and stands as it was given
    """

    key: str
    name: str
    kind: Kind | None = None
    align: Literal["left", "right"] = "right"
    decimals: int | None = None
    given: bool = False

    def unit(self, style: Style = METRIC) -> str:
        """The sign of the unit that its numbers are shown in; empty where it has none."""
        return "" if self.kind is None else numbers.symbol(self.kind, style)

    def fixed_decimals(self, style: Style = METRIC) -> int | None:
        """Decimals that tell as much in the unit shown as ``decimals`` do in the metric one: a foot needs one less."""
        if self.decimals is None or self.kind is None:
            return self.decimals
        finer = numbers.unit_of(self.kind, style).factor / numbers.unit_of(self.kind).factor
        return max(0, self.decimals - round(log10(finer)))


@dataclass(frozen=True)
class Table:
    """A titled table; ``note`` is a sentence that belongs to it, or empty."""

    key: str
    title: str
    columns: tuple[Column, ...]
    rows: tuple[tuple[Cell, ...], ...]
    note: str = ""

    def __post_init__(self) -> None:
        if any(len(row) != len(self.columns) for row in self.rows):
            raise ValueError(f"{self.title}: a row has another number of cells than there are columns")

    def only(self, *keys: str) -> "Table":
        """The table with these columns alone, in this order."""
        at = {column.key: index for index, column in enumerate(self.columns)}
        chosen = [at[key] for key in keys]
        columns = tuple(self.columns[index] for index in chosen)
        return replace(self, columns=columns, rows=tuple(tuple(row[k] for k in chosen) for row in self.rows))

    def without(self, key: str) -> "Table":
        """The table without one of its columns."""
        return self.only(*(column.key for column in self.columns if column.key != key))

    def known(self) -> "Table":
        """The table without the columns of which no row knows anything; the first stays."""
        kept = [
            column.key
            for index, column in enumerate(self.columns)
            if index == 0 or any(is_known(row[index]) for row in self.rows)
        ]
        return self.only(*kept)

    def column(self, key: str) -> list[Cell]:
        """The cells of one column."""
        index = next(index for index, column in enumerate(self.columns) if column.key == key)
        return [row[index] for row in self.rows]


def is_known(cell: Cell) -> bool:
    """Whether a cell says anything."""
    if isinstance(cell, Span):
        return cell.start is not None or cell.end is not None
    if isinstance(cell, Amount):
        return cell.quantity is not None
    return cell is not None and cell != ""


def value_of(cell: Cell) -> float | None:
    """The number of a cell in its column's own unit, for bars and for sorting; ``None`` where there is none."""
    if isinstance(cell, Quantity):
        return cell.value
    return float(cell) if isinstance(cell, (int, float)) else None


def text_of(cell: Cell, column: Column, style: Style = METRIC) -> str:
    """A cell as text: a quantity with half the width of its interval, a number to the style's digits.

    Parameters
    ----------
    cell : what stands in it
    column : its kind and decimals
    style : units and digits

    Returns
    -------
    text : without the unit, which the column's head names
    """
    if cell is None:
        return UNKNOWN
    if isinstance(cell, str):
        return cell
    if isinstance(cell, Elapsed):
        return times.clock(cell.seconds, style)
    if isinstance(cell, Amount):
        return numbers.measured(cell.quantity, cell.kind, style)
    kind, decimals = column.kind or RATIO, column.fixed_decimals(style)
    if isinstance(cell, Quantity):
        return numbers.cell(cell, kind, style, decimals=decimals)
    if isinstance(cell, Span):
        return span_text(cell, kind, style, decimals or 0)
    if column.kind is None and isinstance(cell, int):
        return numbers.count(cell, style)
    shown = numbers.converted(float(cell), kind, style)
    return numbers.number(shown, style) if decimals is None else numbers.fixed(shown, decimals, style)


def span_text(span: Span, kind: Kind, style: Style, decimals: int) -> str:
    """Both ends of a span in the unit shown.

    Parameters
    ----------
    span : in the kind's own unit
    kind : what its ends are
    style : units
    decimals : of both ends

    Returns
    -------
    text : "0.25 to 1.23"
    """
    if span.start is None and span.end is None:
        return UNKNOWN
    ends = [
        "?" if each is None else numbers.fixed(numbers.converted(each, kind, style), decimals, style)
        for each in (span.start, span.end)
    ]
    return f"{ends[0]} {span.link} {ends[1]}"


def heads(columns: Iterable[Column], style: Style = METRIC, *, before_unit: str = " ") -> list[str]:
    """The heads of columns, each with its unit.

    Parameters
    ----------
    columns : of a table
    style : units
    before_unit : what stands between name and unit: " " on a terminal, ", " on a page

    Returns
    -------
    heads : "drawn Wh", "captured %"
    """
    return [f"{column.name}{before_unit}{unit}" if (unit := column.unit(style)) else column.name for column in columns]


def capital(text: str) -> str:
    """A text with its first letter large, its units as they are: "Drawn, Wh"."""
    return text[:1].upper() + text[1:]


def decimals_of_column(cells: Sequence[Cell], column: Column, style: Style = METRIC, *, digits: int = 3) -> int:
    """Decimals that show the largest of a column's numbers to so many digits, so that its points line up.

    Parameters
    ----------
    cells : of the column
    column : its kind, and its decimals where they are given
    style : units
    digits : significant digits of the largest number

    Returns
    -------
    decimals : for all numbers of the column
    """
    if (fixed := column.fixed_decimals(style)) is not None:
        return fixed
    kind = column.kind or RATIO
    return numbers.decimals_for((numbers.converted(value_of(cell), kind, style) for cell in cells), digits)


def decimals_of(table: Table, style: Style = METRIC) -> dict[str, int]:
    """The decimals of each column; energies that stand side by side are compared, so the largest sets those of all."""
    decimals = {column.key: decimals_of_column(table.column(column.key), column, style) for column in table.columns}
    known = {column.key for column in table.known().columns}  # a column without a number has no say
    energies = [decimals[column.key] for column in table.columns if column.kind is ENERGY and column.key in known]
    return decimals | {column.key: min(energies, default=0) for column in table.columns if column.kind is ENERGY}


def bounds_of(quantity: Quantity, column: Column, style: Style, decimals: int) -> str:
    """The 95 % interval of a cell with the decimals of its column; empty where its bounds look the same.

    Parameters
    ----------
    quantity, column : what is told
    style : units, digits and signs
    decimals : of the column's numbers

    Returns
    -------
    "0.70 to 0.75", without its unit.
    """
    if quantity.low95 is None or quantity.high95 is None:
        return ""
    kind = column.kind or RATIO
    low, high = (
        numbers.fixed(numbers.converted(each, kind, style), decimals, style)
        for each in (quantity.low95, quantity.high95)
    )
    return "" if low == high else f"{low} to {high}"


def value_and_bounds(cell: Cell, column: Column, style: Style, decimals: int | None) -> tuple[str, str]:
    """What stands in a cell, and the 95 % interval to be put beneath it.

    Parameters
    ----------
    cell, column : what is told
    style : units, digits and signs
    decimals : of the column's numbers; ``None`` where its intervals stand beside them

    Returns
    -------
    Text and interval; the one is empty where nothing is to be told, the other where there is none.
    """
    if not is_known(cell):
        return ("" if cell == "" else UNKNOWN), ""
    if isinstance(cell, Amount) and cell.quantity is not None:
        value, _, within = numbers.measured(cell.quantity, cell.kind, style).partition(" (")
        return value, within.rstrip(")")
    if not isinstance(cell, Quantity) or decimals is None:
        return text_of(cell, column, style), ""
    value = numbers.fixed(numbers.converted(cell.value, column.kind or RATIO, style), decimals, style)
    return value, bounds_of(cell, column, style, decimals)
