"""Tables of an answer as rows and as pandas frames, the unit of each number in its column's name.

They serve CSV, Parquet and pages alike. A record becomes one row: a number with its interval takes three columns
(``drawn_wh``, ``drawn_wh_low95``, ``drawn_wh_high95``), a place two (``start_latitude_deg``, ``start_longitude_deg``),
facts one of JSON text; records within a record have a table of their own. Rows are read back by `records`.
"""

import json
import math
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import fields, is_dataclass
from datetime import datetime
from functools import cache
from types import NoneType, UnionType
from typing import Any, Literal, Union, get_args, get_origin, get_type_hints

import pandas as pd

from ridelog.answer.braking import BrakingEvent, BrakingKind
from ridelog.answer.hills import Hill, HillPair
from ridelog.answer.ledger import LedgerEntry, SpeedBand
from ridelog.answer.plain import plain, value_of
from ridelog.answer.ride import Answer, ColumnUse, Source
from ridelog.findings import Finding
from ridelog.lazy import dataclass
from ridelog.tell.findings import sentence
from ridelog.uncertain.budget import BudgetRow
from ridelog.uncertain.quantity import Quantity

Cell = str | float | int | bool | datetime | None
Row = dict[str, Cell]


@dataclass(frozen=True)
class _Table:
    """One table: what its rows are, where they are in an answer, and columns beside those of the record itself."""

    kind: type
    of: Callable[[Answer], Iterable[tuple[Row, Any]]]
    before: tuple[str, ...] = ()
    after: tuple[str, ...] = ()


def _each(of: Callable[[Answer], Iterable[Any]]) -> Callable[[Answer], Iterable[tuple[Row, Any]]]:
    return lambda answer: (({}, record) for record in of(answer))


def _columns(answer: Answer) -> Iterable[tuple[Row, Any]]:
    return (({"path": source.path}, column) for source in answer.sources for column in source.columns)


def _findings(answer: Answer) -> Iterable[tuple[Row, Any]]:
    return (({"message": sentence(finding)}, finding) for finding in answer.findings)


def _budget(answer: Answer) -> Iterable[tuple[Row, Any]]:
    return (
        ({"quantity": budget.quantity, "unit": budget.unit}, line) for budget in answer.budget for line in budget.rows
    )


_TABLES: Mapping[str, _Table] = {
    "hills": _Table(Hill, _each(lambda answer: answer.hills)),
    "hill_pairs": _Table(HillPair, _each(lambda answer: answer.hill_pairs)),
    "events": _Table(BrakingEvent, _each(lambda answer: answer.braking.events)),
    "kinds": _Table(BrakingKind, _each(lambda answer: answer.braking.kinds)),
    "ledger": _Table(LedgerEntry, _each(lambda answer: answer.ledger.entries if answer.ledger is not None else ())),
    "bands": _Table(SpeedBand, _each(lambda answer: answer.speed_bands)),
    "budget": _Table(BudgetRow, _budget, ("quantity", "unit")),
    "sources": _Table(Source, _each(lambda answer: answer.sources)),
    "columns": _Table(ColumnUse, _columns, ("path",)),
    "findings": _Table(Finding, _findings, after=("message",)),
}
TABLES = (*_TABLES, "samples")  # "samples" is the series itself, which has no records

# The last word of a name -> its unit; the names of numbers without a unit end otherwise.
UNITS: Mapping[str, str] = {
    "a": "A", "ah": "Ah", "c": "°C", "deg": "°", "hpa": "hPa", "kg": "kg", "km": "km", "kmh": "km/h", "kwh": "kWh",
    "m": "m", "m2": "m²", "mps": "m/s", "mps2": "m/s²", "n": "N", "nm": "N m", "ohm": "Ω", "pct": "%", "ppm": "1e-6",
    "ratio": "1", "rpm": "1/min", "s": "s", "v": "V", "w": "W", "wh": "Wh",
}  # fmt: skip


def unit_of(column: str) -> str | None:
    """The unit that a column's name states: "Wh" of ``drawn_wh`` and ``drawn_wh_low95``; ``None`` where it has none."""
    name = column.removesuffix("_low95").removesuffix("_high95")
    head, per, distance = name.rpartition("_per_")
    if per and (unit := unit_of(head)) is not None:
        return f"{unit}/{UNITS.get(distance, distance)}"
    _, apart, last = name.rpartition("_")
    return UNITS.get(last) if apart else None


def header(answer: Answer, name: str) -> list[str]:
    """The columns of a table; those of "samples" are the ride's own.

    Raises
    ------
    KeyError : no such table; see `TABLES`
    """
    if name == "samples":
        return ["time", *map(str, answer.series.columns)]
    table = _TABLES[name]
    return [*table.before, *(column for field in _layout(table.kind) for column in field.columns), *table.after]


def rows(answer: Answer, name: str) -> list[Row]:
    """The rows of a table, column -> cell; what is not known is ``None``.

    Raises
    ------
    KeyError : no such table; see `TABLES`
    """
    if name == "samples":
        series = answer.series
        cells = {str(column): series[column].astype(object).where(series[column].notna(), None) for column in series}
        return [
            {"time": str(plain(time.to_pydatetime())), **dict(zip(cells, row, strict=True))}
            for time, row in zip(series.index, zip(*cells.values(), strict=True), strict=True)
        ]
    columns = header(answer, name)
    held = ({**beside, **row_of(record)} for beside, record in _TABLES[name].of(answer))
    return [{column: row[column] for column in columns} for row in held]


def frame(answer: Answer, name: str) -> pd.DataFrame:
    """A table as a frame; its ``attrs["units"]`` holds the unit of each column that has one.

    Numbers are float64, whole numbers Int64, truth values boolean, times UTC. The frame of "samples" has its time as
    the index.

    Raises
    ------
    KeyError : no such table; see `TABLES`
    """
    if name == "samples":
        table = answer.series.copy()
    else:
        kinds, held = columns_of(_TABLES[name].kind), rows(answer, name)
        columns: dict[str, Any] = {column: [row[column] for row in held] for column in header(answer, name)}
        table = pd.DataFrame(
            {
                column: pd.array(cells, dtype=_PANDAS.get(kinds.get(column), "string"))
                for column, cells in columns.items()
            }
        )
    table.attrs["units"] = {str(column): unit for column in table if (unit := unit_of(str(column))) is not None}
    return table


def columns_of(kind: Any) -> dict[str, type]:
    """The columns that a record takes, each with what it holds: float, int, bool, datetime, or str for all else.

    Parameters
    ----------
    kind : a frozen record of an answer

    Returns
    -------
    column -> type, in the order of `row_of`; records within it that have a table of their own are left out
    """
    kinds: dict[str, type] = {}
    for field in _layout(kind):
        for column, _, hint in field.parts:
            choices = get_args(hint) if get_origin(hint) in (Union, UnionType) else (hint,)
            kinds[column] = next((each for each in choices if each in _PANDAS), str)
    return kinds


def row_of(record: Any) -> Row:
    """A record of an answer as one row: column -> cell, ``None`` for what is not known."""
    row: Row = {}
    kind: Any = type(record)
    for field in _layout(kind):
        row |= field.cells(getattr(record, field.name))
    return row


def records(name: str, held: Iterable[Mapping[str, Any]]) -> tuple[Any, ...]:
    """The records of a table's rows, as `rows` gave them, or as CSV or a frame gives them back.

    Parameters
    ----------
    name : of the table
    held : column -> cell; a missing one is ``None``, NaN or an empty text, a number may be a text

    Returns
    -------
    records : equal to those of the answer, but for what has a table of its own (the columns of a source)

    Raises
    ------
    KeyError : no such table, or a column is missing
    AnswerError : a cell is not of its column's type
    """
    kind: Any = _TABLES[name].kind
    layout = _layout(kind)
    return tuple(kind(**{field.name: field.read(row) for field in layout}) for row in held)


@dataclass(frozen=True)
class _Field:
    """One field of a record: the columns that it takes, each with the name of its part (``None``: the field itself)."""

    name: str
    hint: Any
    parts: tuple[tuple[str, str | None, Any], ...]  # column, part, type

    @property
    def columns(self) -> list[str]:
        """Names of its columns."""
        return [column for column, _, _ in self.parts]

    def cells(self, value: Any) -> Row:
        """The cells of its columns."""
        if self.parts[0][1] is None:
            return {self.name: _cell(value)}
        return {column: None if value is None else getattr(value, str(part)) for column, part, _ in self.parts}

    def read(self, row: Mapping[str, Any]) -> Any:
        """The field's value from the cells of its columns."""
        if self.parts[0][1] is None:
            return _typed(self.hint, row[self.name], self.name)
        cells = {str(part): _typed(hint, row[column], column) for column, part, hint in self.parts}
        return None if all(cell is None for cell in cells.values()) else _record_in(self.hint)(**cells)


@cache
def _layout(kind: Any) -> tuple[_Field, ...]:
    """The fields of a record that stand in its row."""
    hints = get_type_hints(kind)
    return tuple(
        _Field(field.name, hints[field.name], tuple(_parts(field.name, hints[field.name])))
        for field in fields(kind)
        if field.compare and not _has_own_table(hints[field.name])
    )


def _parts(name: str, hint: Any) -> Iterable[tuple[str, str | None, Any]]:
    """The columns of a field."""
    record = _record_in(hint)
    if record is None:
        return [(name, None, hint)]
    inner = get_type_hints(record)
    optional = {part: Union[inner[part], None] for part in inner}  # noqa: UP007  (a type made at run time)
    if record is Quantity:
        heads = {"value": name, "low95": f"{name}_low95", "high95": f"{name}_high95"}
        return [(heads[part], part, optional[part]) for part in heads]
    return [(f"{name}_{field.name}", field.name, optional[field.name]) for field in fields(record)]


def _record_in(hint: Any) -> Any:
    """The record that a type is, or may be; ``None`` where it is none."""
    return next((each for each in (hint, *get_args(hint)) if isinstance(each, type) and is_dataclass(each)), None)


def _has_own_table(hint: Any) -> bool:
    """Whether a field holds records of its own."""
    return get_origin(hint) is tuple and _record_in(hint) is not None


def _cell(value: Any) -> Cell:
    if isinstance(value, (Mapping, tuple)):
        return json.dumps(plain(value), ensure_ascii=False)
    cell: Cell = value if isinstance(value, datetime) else plain(value)
    return cell


def _typed(hint: Any, cell: Any, column: str) -> Any:
    """A cell as its type says, from a text where it was one."""
    choices = get_args(hint) if get_origin(hint) in (Union, UnionType) else (hint,)
    if cell is None or cell is pd.NA or cell is pd.NaT or (isinstance(cell, float) and math.isnan(cell)):
        cell = None
    elif isinstance(cell, str) and not (cell == "" and str in choices and NoneType not in choices):
        cell = _from_text(choices, cell)
    elif isinstance(cell, datetime):
        cell = plain(cell)
    return value_of(hint, cell if cell is None or isinstance(cell, (str, list, Mapping)) else plain(cell), column)


def _from_text(choices: Sequence[Any], text: str) -> Any:
    """What a text stands for in a column of these types."""
    if text == "" and NoneType in choices:
        return None
    if str in choices or datetime in choices or any(get_origin(each) is Literal for each in choices):
        return text
    if bool in choices:
        return {"True": True, "False": False}.get(text, text)
    try:
        return json.loads(text)
    except ValueError:
        return text


_PANDAS: Mapping[Any, str] = {float: "float64", int: "Int64", bool: "boolean", datetime: "datetime64[us, UTC]"}
