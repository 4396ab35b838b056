"""The rows of a delimited log as arrays: a quick way for clean files, a careful one that can name lines."""

import re
from collections.abc import Collection, Mapping
from dataclasses import dataclass, field
from functools import cached_property
from typing import TYPE_CHECKING, Any, Literal

import numpy as np

from ridelog.importers.delimited.arrow_arrays import floats_of
from ridelog.importers.delimited.dialect import INFINITE, NO_VALUE, Dialect, split_line
from ridelog.tell.refusals import logs as refusals
from ridelog.vocabulary.units import UNITS, Unit
from ridelog.vocabulary.words import SWITCH_WORDS

if TYPE_CHECKING:
    import pyarrow as pa

Kind = Literal["number", "text"]
LARGEST = 1e30  # beyond what anything measures, in any unit; its cube is still a number
LARGEST_UNREADABLE_SHARE = 0.01  # of a column's cells; more that are no numbers are no slips of a device

_NULLS = sorted(
    {" ", "  "} | {form for word in NO_VALUE - INFINITE for form in (word, word.upper(), word.capitalize())} | {"NaN"}
)
_COMMENT_START = ("#", "//", "%")


@dataclass(frozen=True)
class Unreadable:
    """Cells that are no numbers: how many of how many, the first with its line; ``left_out``: the column is."""

    n_cells: int
    n_all: int
    cell: str
    line: int
    left_out: bool


@dataclass
class Body:
    """The columns wanted, and what had to be passed over.

    Attributes
    ----------
    numbers : column number -> values, shape (n,), NaN where there is none
    texts : column number -> cells as an arrow string array, shape (n,)
    n_rows : rows kept
    n_wrong : rows left out because their number of fields is not the usual one
    wrong_line : line of the first of them
    cut_off : whether the last line of the file is such a row
    n_repeated_headers : header lines that turn up again among the rows
    cell_units : units that stand in the cells themselves ("48.2 V")
    unreadable : column number -> its cells that are no numbers
    n_infinite : column number -> its cells that are infinite or beyond any measure, as devices write of no value
    """

    text: str
    dialect: Dialect
    numbers: dict[int, np.ndarray] = field(default_factory=dict)
    texts: dict[int, "pa.StringArray"] = field(default_factory=dict)
    n_rows: int = 0
    n_wrong: int = 0
    wrong_line: int | None = None
    cut_off: bool = False
    n_repeated_headers: int = 0
    cell_units: dict[int, Unit] = field(default_factory=dict)
    unreadable: "dict[int, Unreadable]" = field(default_factory=dict)
    n_infinite: dict[int, int] = field(default_factory=dict)

    @cached_property
    def kept(self) -> "_Kept":
        """The rows kept with their line numbers; costs a walk through the text, so only on demand."""
        return _kept_lines(self.text, self.dialect)

    def line_of(self, row: int) -> int:
        """Line of row ``row``, both as counted by people and by arrays (from 1 and from 0)."""
        return self.kept.numbers[row]


@dataclass(frozen=True)
class _Kept:
    lines: list[str]
    numbers: list[int]
    n_wrong: int
    wrong_line: int | None
    n_repeated_headers: int


def read_body(
    text: str,
    dialect: Dialect,
    wanted: Mapping[int, Kind],
    name: str,
    *,
    needed: Collection[int] = (),
    largest_wrong_share: float = 0.2,
) -> Body:
    """Read the rows under the header.

    Parameters
    ----------
    text : the whole log, lines parted by ``\\n``
    dialect : how it is written
    wanted : column number -> what its cells hold
    name : of the file, for messages
    needed : columns without which there is nothing to measure; any other whose cells are no numbers is left out
    largest_wrong_share : share of rows with a wrong number of fields that is put up with [1]

    Returns
    -------
    Numbers and texts by column, and what had to be passed over.

    Raises
    ------
    InputError : text in a needed column of numbers, no rows, or too many rows of a wrong number of fields
    """
    import pyarrow as pa

    body = Body(text, dialect)
    try:
        table = _quick(body, wanted)
    except pa.ArrowException:
        table = None
    if table is None or _eats_lines(body, table.num_rows):
        _careful(body, wanted, name, needed)
    else:
        body.n_rows = table.num_rows
        for index, kind in wanted.items():
            column = table.column(str(index))
            if kind == "text":
                body.texts[index] = _without_infinite(column.combine_chunks())
            else:
                body.numbers[index] = floats_of(column)
    for index, values in body.numbers.items():
        body.numbers[index], n_infinite = _measurable(values)
        if n_infinite:
            body.n_infinite[index] = n_infinite
    if not body.n_rows:
        raise refusals.no_row_as_wide(name, dialect.header_line)
    if body.n_wrong > largest_wrong_share * (body.n_rows + body.n_wrong):
        n_rows, n_fields = body.n_rows + body.n_wrong, len(dialect.headers)
        raise refusals.rows_of_other_width(name, body.wrong_line, body.n_wrong, n_rows, n_fields)
    return body


def _measurable(values: np.ndarray) -> tuple[np.ndarray, int]:
    """Numbers without those that no sensor measures, and how many were infinite or beyond `LARGEST`.

    What is nearer to zero than its inverse is zero, with its sign: else quotients would go beyond all numbers.
    """
    size = np.abs(values)
    beyond_mask, tiny_mask = size > LARGEST, (size < 1 / LARGEST) & (values != 0)
    if tiny_mask.any():
        values = np.where(tiny_mask, np.copysign(0.0, values), values)
    if beyond_mask.any():
        values = np.where(beyond_mask, np.nan, values)
    return values, int(beyond_mask.sum())


def _without_infinite(cells: "pa.StringArray") -> "pa.StringArray":
    """Cells of times, of which an infinite one is none."""
    import pyarrow as pa
    import pyarrow.compute as pc

    infinite_mask = pc.is_in(pc.utf8_lower(cells), pa.array(sorted(INFINITE)))
    return pc.if_else(infinite_mask, pa.scalar(None, pa.string()), cells) if pc.any(infinite_mask).as_py() else cells


def _start(text: str, line: int) -> int:
    """Offset of the first character of ``line``, counted from 1."""
    offset = 0
    for _ in range(line - 1):
        offset = text.find("\n", offset) + 1
    return offset


def _quick(body: Body, wanted: Mapping[int, Kind]) -> "pa.Table | None":
    """All rows through arrow's reader; ``None`` (or arrow's exception) where the careful way is needed."""
    import pyarrow as pa
    from pyarrow import csv

    dialect, text = body.dialect, body.text
    start = _start(text, dialect.first_line)
    wrong: list[str] = []

    def skip(row: Any) -> str:
        wrong.append(row.text)
        return "skip"

    table = csv.read_csv(
        pa.BufferReader(text[start:].encode("utf-8", "replace")),
        read_options=csv.ReadOptions(column_names=[str(i) for i in range(len(dialect.headers))]),
        parse_options=csv.ParseOptions(delimiter=dialect.delimiter, invalid_row_handler=skip),
        convert_options=csv.ConvertOptions(
            include_columns=[str(index) for index in wanted],
            column_types={str(i): pa.float64() if kind == "number" else pa.string() for i, kind in wanted.items()},
            null_values=_NULLS,
            strings_can_be_null=True,
            decimal_point=dialect.decimal,
        ),
    )
    wrong = [row for row in wrong if row.strip() and not row.lstrip().startswith(_COMMENT_START)]
    body.n_wrong = len(wrong)
    if wrong:
        places = [text.find(f"\n{row}\n", start - 1) for row in wrong[:100]]
        first = min((place for place in places if place >= 0), default=text.rfind("\n" + wrong[0]))
        body.wrong_line = text.count("\n", 0, first + 1) + 1 if first >= 0 else None
        body.cut_off = not text.endswith("\n") and text.endswith("\n" + wrong[-1])
    return table


def _eats_lines(body: Body, n_rows: int) -> bool:
    """Whether a quote that is never closed, or lines later, has made one cell of several lines."""
    text, dialect = body.text, body.dialect
    if '"' not in text:
        return False
    lines = text[_start(text, dialect.first_line) :].split("\n")
    return n_rows + body.n_wrong < sum(
        bool(line.strip(" ")) and not line.lstrip().startswith(_COMMENT_START) for line in lines
    )


def _kept_lines(text: str, dialect: Dialect) -> _Kept:
    """The rows of data with their line numbers, found line by line."""
    lines, numbers, wrong_line, n_wrong, n_repeated = [], [], None, 0, 0
    width, delimiter = len(dialect.headers), dialect.delimiter
    start = _start(text, dialect.first_line)
    header = list(dialect.headers)
    for number, line in enumerate(text[start:].split("\n"), start=dialect.first_line):
        if not line.strip(" ") or line.lstrip().startswith(_COMMENT_START):
            continue
        plain = '"' not in line
        n_fields = line.count(delimiter) + 1 if plain else len(split_line(line, delimiter))
        if n_fields == width and line[:1].isalpha() and split_line(line, delimiter) == header:
            n_repeated += 1
        elif n_fields == width:
            lines.append(line)
            numbers.append(number)
        else:
            n_wrong += 1
            wrong_line = wrong_line or number
    return _Kept(lines, numbers, n_wrong, wrong_line, n_repeated)


def _careful(body: Body, wanted: Mapping[int, Kind], name: str, needed: Collection[int] = ()) -> None:
    """Line by line: finds the cell that is not a number, or reads what the quick way does not."""
    import pyarrow as pa

    kept, delimiter = body.kept, body.dialect.delimiter
    body.n_rows, body.n_wrong, body.wrong_line = len(kept.lines), kept.n_wrong, kept.wrong_line
    body.n_repeated_headers = kept.n_repeated_headers
    cells: dict[int, list[str]] = {index: [] for index in wanted}
    for line in kept.lines:
        fields = split_line(line, delimiter)
        for index, column in cells.items():
            column.append(fields[index] if index < len(fields) else "")
    for index, kind in wanted.items():
        if kind == "text":
            known = [None if cell.lower() in NO_VALUE else cell for cell in cells[index]]
            body.texts[index] = pa.array(known, pa.string())
        else:
            body.numbers[index] = _numbers(body, index, cells[index], name, needed=index in needed)


def _numbers(body: Body, index: int, cells: list[str], name: str, *, needed: bool) -> np.ndarray:
    """The cells as numbers; a unit beside each of them is taken off, and must be the same throughout."""
    decimal = re.escape(body.dialect.decimal)
    number = re.compile(rf"([+-]?(?:\d+(?:{decimal}\d*)?|{decimal}\d+)(?:[eE][+-]?\d+)?)\s*(.*)")
    values = np.full(len(cells), np.nan)
    unit: Unit | None = None
    n_all, wrong = 0, []
    for row, cell in enumerate(cells):
        if (word := cell.lower()) in NO_VALUE:
            values[row] = np.inf if word in INFINITE else np.nan
            continue
        n_all += 1
        match = number.fullmatch(SWITCH_WORDS.get(word, cell))
        if match is None or (match[2] and match[2].lower() not in UNITS):
            wrong.append(row)
            continue
        if match[2]:
            here = UNITS[match[2].lower()]
            unit = unit or here
            if here != unit:
                header, line = body.dialect.headers[index], body.line_of(row)
                raise refusals.cell_in_other_unit(name, line, header, cell, (here.name, unit.name))
        values[row] = float(match[1].replace(",", "."))
    if unit:
        body.cell_units[index] = unit
    if wrong:
        look = _look(cells[wrong[0]], body.dialect)
        too_many = look != "other" or len(wrong) > max(1, LARGEST_UNREADABLE_SHARE * n_all)
        line = body.line_of(wrong[0])
        if too_many and needed:
            header = body.dialect.headers[index] or refusals.unnamed_column(index + 1)
            raise refusals.not_a_number(name, line, header, cells[wrong[0]], look)
        body.unreadable[index] = Unreadable(len(wrong), n_all, cells[wrong[0]], line, too_many)
        values[:] = np.nan if too_many else values
    return values


def _look(cell: str, dialect: Dialect) -> refusals.Look:
    """What may be behind a cell that is no number; all but "other" is a way of writing that holds for the column."""
    other = "," if dialect.decimal == "." else "."
    if re.fullmatch(rf"[+-]?\d{{1,3}}(?:[{other}' \u00a0\u202f]\d{{3}})+([.,]\d+)?", cell):
        return "thousands"
    if re.fullmatch(rf"[+-]?\d*\{other}\d+", cell):
        return "comma" if other == "," else "point"
    return "other"
