"""The rows of a delimited log as arrays: a quick way for clean files, a careful one that can name lines."""

import re
from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import field
from functools import cached_property, partial
from itertools import chain
from typing import TYPE_CHECKING, Literal

import numpy as np

from ridelog.importers.delimited.arrow_arrays import floats_of
from ridelog.importers.delimited.arrow_rows import ArrowRows, arrow_rows
from ridelog.importers.delimited.cells import Cells, OtherUnitError
from ridelog.importers.delimited.dialect import COMMENT_START, NO_VALUE, Dialect, split_line
from ridelog.importers.delimited.log_text import LogText
from ridelog.lazy import dataclass
from ridelog.tell.refusals import logs as refusals
from ridelog.vocabulary.units import Unit

if TYPE_CHECKING:
    import pyarrow as pa

Kind = Literal["number", "text"]
LARGEST = 1e30  # beyond what anything measures, in any unit; its cube is still a number
LARGEST_UNREADABLE_SHARE = 0.01  # of a column's cells; more that are no numbers are no slips of a device

_PIECE = 65_536  # cells that are understood at a time
_INFINITE = r"\A[+-]?inf(inity)?\z"  # as a pattern: an arrow array of words would load pandas


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
    is_careful : whether it was read line by line
    """

    text: LogText
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
    is_careful: bool = False

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
    cut_off: bool
    n_repeated_headers: int


def read_body(
    text: LogText,
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
    body = Body(text, dialect)
    if not _quick(body, wanted, name, needed):
        body = Body(text, dialect)
        _careful(body, wanted, name, needed)
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


def _without_infinite(cells: "pa.ChunkedArray") -> "pa.StringArray":
    """Cells of times, of which an infinite one is none, as one array."""
    import pyarrow as pa
    import pyarrow.compute as pc

    pool = pa.system_memory_pool()  # arrow's own holds what was freed
    chunks = []
    for chunk in cells.chunks:
        infinite_mask = pc.match_substring_regex(chunk, _INFINITE, ignore_case=True, memory_pool=pool)
        is_any = pc.any(infinite_mask).as_py()
        chunks.append(pc.if_else(infinite_mask, pa.scalar(None, pa.string()), chunk) if is_any else chunk)
    return pa.chunked_array(chunks, pa.string()).combine_chunks(memory_pool=pool)


def _quick(body: Body, wanted: Mapping[int, Kind], name: str, needed: Collection[int]) -> bool:
    """Read all rows through arrow's reader; false where the careful way is needed.

    Columns whose cells are more than numbers, such as "12.3 A" or "on", are read as texts. Where the first rows do not
    show that, arrow stumbles over the cells further down, and all columns are read so.
    """
    import pyarrow as pa

    numbers = [index for index, kind in wanted.items() if kind == "number"]
    plain = {index for index in numbers if _is_plain(body.dialect, index)}
    for read_as_numbers in (plain, set()) if plain else (set(),):
        try:
            found = arrow_rows(body.text, body.dialect, {index: index in read_as_numbers for index in wanted})
        except pa.ArrowException:
            continue
        if not found.are_lines_of(body.text, body.dialect):
            return False
        _note_rows(body, found)
        try:
            for index, kind in wanted.items():
                column = found.taken(index)
                if kind == "text":
                    body.texts[index] = _without_infinite(column)
                elif index in read_as_numbers:
                    body.numbers[index] = floats_of(column)
                else:
                    body.numbers[index] = _numbers(body, index, partial(_pieces, column), name, needed=index in needed)
        except _GiveWayError:
            return False
        return True
    return False


class _GiveWayError(Exception):
    """The careful way must read the rows."""


def _is_plain(dialect: Dialect, index: int) -> bool:
    """Whether the first rows hold numbers alone in a column, or nothing."""
    sign = re.escape(dialect.decimal)
    number = re.compile(rf"[+-]?(?:\d+(?:{sign}\d*)?|{sign}\d+)(?:[eE][+-]?\d+)?")
    return all(number.fullmatch(row[index]) or row[index].lower() in NO_VALUE for row in dialect.sample)


def _pieces(column: "pa.ChunkedArray") -> Iterator[list[str]]:
    """Cells of a column, some at a time; empty where there is none."""
    for chunk in column.chunks:
        for place in range(0, len(chunk), _PIECE):
            yield ["" if cell is None else cell.strip() for cell in chunk[place : place + _PIECE].to_pylist()]


def _note_rows(body: Body, found: ArrowRows) -> None:
    """Note how many rows there are, and which are of another width."""
    content, wrong = body.text.content, found.wrong
    body.n_rows, body.n_wrong, body.n_repeated_headers = found.table.num_rows, len(wrong), found.n_headers
    if wrong:
        start = body.text.start_of(body.dialect.first_line)
        places = [content.find(f"\n{row}\n".encode(), start - 1) for row in wrong[:100]]
        first = min((place for place in places if place >= 0), default=content.rfind(f"\n{wrong[0]}".encode()))
        body.wrong_line = content.count(b"\n", 0, first + 1) + 1 if first >= 0 else None
        body.cut_off = not content.endswith(b"\n") and content.endswith(f"\n{wrong[-1]}".encode())


def _kept_lines(text: LogText, dialect: Dialect) -> _Kept:
    """The rows of data with their line numbers, found line by line."""
    lines, numbers, wrong_line, n_wrong, n_repeated = [], [], None, 0, 0
    line, is_wrong = "", False
    width, delimiter = len(dialect.headers), dialect.delimiter
    header = list(dialect.headers)
    for number, line in enumerate(text.lines_from(dialect.first_line), start=dialect.first_line):
        if not line.strip(" ") or line.lstrip().startswith(COMMENT_START):
            continue
        plain = '"' not in line
        n_fields = line.count(delimiter) + 1 if plain else len(split_line(line, delimiter))
        is_wrong = n_fields != width
        if n_fields == width and line[:1].isalpha() and split_line(line, delimiter) == header:
            n_repeated += 1
        elif n_fields == width:
            lines.append(line)
            numbers.append(number)
        else:
            n_wrong += 1
            wrong_line = wrong_line or number
    cut_off = is_wrong and bool(line.strip(" ")) and not text.content.endswith(b"\n")
    return _Kept(lines, numbers, n_wrong, wrong_line, cut_off, n_repeated)


def _careful(body: Body, wanted: Mapping[int, Kind], name: str, needed: Collection[int] = ()) -> None:
    """Line by line: finds the cell that is not a number, or reads what the quick way does not."""
    import pyarrow as pa

    kept, delimiter = body.kept, body.dialect.delimiter
    body.n_rows, body.n_wrong, body.wrong_line = len(kept.lines), kept.n_wrong, kept.wrong_line
    body.n_repeated_headers, body.cut_off, body.is_careful = kept.n_repeated_headers, kept.cut_off, True
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
            body.numbers[index] = _numbers(body, index, partial(list, [cells[index]]), name, needed=index in needed)


def _numbers(
    body: Body, index: int, pieces: Callable[[], Iterable[list[str]]], name: str, *, needed: bool
) -> np.ndarray:
    """A column's cells as numbers; a unit beside each of them is taken off, and must be the same throughout."""
    known = Cells(body.dialect.decimal)
    try:
        parts = [np.array([known[cell] for cell in piece], dtype=float) for piece in pieces()]
    except OtherUnitError as other:
        row = next(row for row, cell in enumerate(chain.from_iterable(pieces())) if cell == other.cell)
        header, line = body.dialect.headers[index], _line_of_row(body, row)
        raise refusals.cell_in_other_unit(name, line, header, other.cell, other.units) from None
    values = np.concatenate([np.empty(0), *parts])
    if known.unit:
        body.cell_units[index] = known.unit
    if known.wrong:
        _note_unreadable(body, index, list(chain.from_iterable(pieces())), known.wrong, (name, needed))
        values = np.full(len(values), np.nan) if body.unreadable[index].left_out else values
    return values


def _note_unreadable(
    body: Body, index: int, cells: Sequence[str], no_numbers: Collection[str], about: tuple[str, bool]
) -> None:
    """Note the cells that are no numbers; an error where there are many in a column that is needed."""
    name, needed = about
    header = body.dialect.headers[index]
    wrong = [row for row, cell in enumerate(cells) if cell in no_numbers]
    line = _line_of_row(body, wrong[0], no_numbers, header)
    n_all = sum(cell.lower() not in NO_VALUE for cell in cells)
    first = cells[wrong[0]]
    look = _look(first, body.dialect)
    too_many = look != "other" or len(wrong) > max(1, LARGEST_UNREADABLE_SHARE * n_all)
    if too_many and needed:
        raise refusals.not_a_number(name, line, header or refusals.unnamed_column(index + 1), first, look)
    body.unreadable[index] = Unreadable(len(wrong), n_all, first, line, too_many)


def _line_of_row(body: Body, row: int, no_numbers: Collection[str] = (), header: str = "") -> int:
    """The line of a row; not where arrow may have taken a header for a row, or quotes for letters."""
    is_unsure = header in no_numbers or any('"' in cell for cell in no_numbers)
    if (is_unsure and not body.is_careful) or len(body.kept.numbers) != body.n_rows:
        raise _GiveWayError
    return body.line_of(row)


def _look(cell: str, dialect: Dialect) -> refusals.Look:
    """What may be behind a cell that is no number; all but "other" is a way of writing that holds for the column."""
    other = "," if dialect.decimal == "." else "."
    if re.fullmatch(rf"[+-]?\d{{1,3}}(?:[{other}' \u00a0\u202f]\d{{3}})+([.,]\d+)?", cell):
        return "thousands"
    if re.fullmatch(rf"[+-]?\d*\{other}\d+", cell):
        return "comma" if other == "," else "point"
    return "other"
