"""How a delimited text log is written: encoding, delimiter, decimal sign, comments, header and units row."""

from __future__ import annotations

import csv
import re
from collections import Counter
from collections.abc import Sequence
from functools import lru_cache
from itertools import islice
from typing import TYPE_CHECKING

from ridelog.errors import InputError
from ridelog.importers.delimited.log_text import SNIFFED_BYTES, LogText
from ridelog.lazy import dataclass
from ridelog.tell.reasons import logs as reasons
from ridelog.tell.refusals import logs as refusals
from ridelog.vocabulary.headers import understand
from ridelog.vocabulary.units import says_no_unit, spells_unit, unit_named

if TYPE_CHECKING:
    from ridelog.settings.column_map import LogSettings

DELIMITERS = (";", "\t", "|", ",")
COMMENT_START = ("#", "//", "%")
_COMMENT = re.compile(r"^\s*(#|//|%)")
_NUMBER = re.compile(r"[+-]?(\d+([.,]\d*)?|[.,]\d+)([eE][+-]?\d+)?")
_TIME_LIKE = re.compile(r"\d{1,4}([-/.])\d{1,2}\1\d{1,4}([T ].*)?|\d{1,3}:\d{2}(:\d{2})?([.,]\d+)?( ?[AaPp][Mm])?")
_CELLS_HELD = 4096  # a log writes the same numbers time and again, and each is looked at a few times
INFINITE = frozenset(f"{sign}{word}" for sign in ("", "+", "-") for word in ("inf", "infinity"))
NO_VALUE = INFINITE | {"", "nan", "-", "--", "---", "n/a", "na", "#n/a", "null", "none", "nil", "invalid", "?"}


@dataclass(frozen=True)
class Dialect:
    """How the log is written. Lines are counted from 1, as editors do.

    Attributes
    ----------
    encoding : Python's name of it
    headers : one a column, as they stand in the file
    units : the units row's cells, or empty
    header_line, first_line : lines of the header and of the first row of data
    n_comment_lines : lines above the header that are not part of the table
    sample : cells of the first rows, for a look at them
    """

    encoding: str
    delimiter: str
    decimal: str
    headers: tuple[str, ...]
    units: tuple[str, ...]
    header_line: int
    first_line: int
    n_comment_lines: int
    sample: tuple[tuple[str, ...], ...]

    @property
    def facts(self) -> tuple[str, ...]:
        """How the log is written, in words."""
        return (
            reasons.written_as(self.encoding, self.delimiter),
            reasons.decimal_sign(self.decimal),
            reasons.header_in(self.header_line, self.n_comment_lines, units_below=bool(self.units)),
            reasons.first_row_in(self.first_line),
        )


def split_line(line: str, delimiter: str) -> list[str]:
    """The fields of one line, quotes taken off and blanks trimmed."""
    if '"' not in line:
        return [field.strip() for field in line.split(delimiter)]
    try:
        return [field.strip() for field in next(csv.reader([line], delimiter=delimiter, skipinitialspace=True))]
    except (csv.Error, StopIteration):
        return [line.strip()]


@lru_cache(maxsize=_CELLS_HELD)
def _is_number(cell: str) -> bool:
    """Whether a cell is a number and nothing else."""
    return _NUMBER.fullmatch(cell) is not None


@lru_cache(maxsize=_CELLS_HELD)
def is_value(cell: str) -> bool:
    """Whether a cell holds a number, with or without a unit, or a time."""
    if _is_number(cell) or _TIME_LIKE.fullmatch(cell):
        return True
    number = _NUMBER.match(cell)
    return number is not None and unit_named(cell[number.end() :]) is not None


def sniffed(text: LogText, name: str, encoding: str, log: LogSettings | None) -> Dialect:
    """How a log is written, by its beginning: as `sniff` of all of it, which is looked at only to word an error.

    Parameters
    ----------
    text, name, encoding, log : as for `sniff`

    Returns
    -------
    As `sniff`.

    Raises
    ------
    InputError : as `sniff`
    """
    try:
        return sniff(text.head, name, encoding, log)
    except InputError:
        if text.is_longer_than_its_head:
            return sniff(text.text, name, encoding, log)
        raise


def sniff(text: str, name: str, encoding: str, log: LogSettings | None) -> Dialect:
    """Find out how a log is written, from its first lines and what the map states.

    Parameters
    ----------
    text : the whole log, lines parted by ``\\n``
    name : of the file, for messages
    encoding : that it was written in
    log : what the map states; ``None`` without one

    Returns
    -------
    All that is needed to read its rows.

    Raises
    ------
    InputError : no table of at least two columns under a header was found
    """
    lines = _first_lines(text)
    delimiter = (log and log.delimiter) or guess_delimiter(lines)
    if delimiter is None:
        raise _no_table(text, lines, name)
    rows = [_row(line, delimiter) for line in lines]
    header = ((log and log.header_line) or _header_line(lines, rows, delimiter, name)) - 1
    if header >= len(lines):
        raise refusals.no_such_header_line(name, header + 1)
    units_at, first = _below(rows, header)
    body = [row for row in rows[first:] if row]
    if not body:
        raise _beyond_what_is_looked_at(text, name) or refusals.header_without_rows(name, header + 1)
    headers = _headers(_without_mark(lines[header], delimiter), body, name, header + 1, delimiter)
    width = len(headers)
    return Dialect(
        encoding=encoding,
        delimiter=delimiter,
        decimal=(log and log.decimal) or _decimal(body),
        headers=tuple(headers),
        units=() if units_at is None else tuple((rows[units_at] + [""] * width)[:width]),
        header_line=header + 1,
        first_line=first + 1,
        n_comment_lines=sum(map(bool, map(str.strip, lines[:header]))),
        sample=tuple(tuple(row) for row in body[:400] if len(row) == width and row != headers),
    )


def _first_lines(text: str) -> list[str]:
    """The whole lines among the characters that are looked at."""
    lines = text[:SNIFFED_BYTES].split("\n")
    return lines[:-1] if len(text) > SNIFFED_BYTES else lines


def _is_row(line: str) -> bool:
    """Whether a line is neither blank nor a comment."""
    written = line.lstrip()
    return bool(written) and not written.startswith(COMMENT_START)


def _row(line: str, delimiter: str) -> list[str]:
    """The fields of a line of the table; none for a blank line or a comment."""
    return split_line(line, delimiter) if _is_row(line) else []


def _no_table(text: str, lines: Sequence[str], name: str) -> InputError:
    """The error for a text in which no delimiter parts numbers: it may have a header all the same."""
    if (beyond := _beyond_what_is_looked_at(text, name)) is not None:
        return beyond
    if any(len(split_line(line, mark)) > 1 for line in lines[-2:] for mark in DELIMITERS):
        return refusals.no_row_of_numbers(name, len(text.rstrip().splitlines()))
    return refusals.no_table(name)


def _beyond_what_is_looked_at(text: str, name: str) -> InputError | None:
    """The error for a table whose header or first rows lie further down than the text is looked at, if it is one."""
    if len(text) <= SNIFFED_BYTES:
        return None
    last_lines = text[-4 * SNIFFED_BYTES :].rstrip("\n").split("\n")[1:]
    is_table = guess_delimiter(last_lines[-40:]) is not None
    return refusals.table_begins_too_late(name, SNIFFED_BYTES) if is_table else None


def _without_mark(line: str, delimiter: str) -> list[str]:
    """The fields of a line that may stand in a comment."""
    return split_line(_COMMENT.sub("", line, count=1), delimiter)


def _below(rows: Sequence[Sequence[str]], header: int) -> tuple[int | None, int]:
    """Where the units row below the header stands, if there is one, and the first row of data."""
    after = _next_row(rows, header)
    if after < len(rows) and _is_units_row(rows[after], below_header=True):
        return after, _next_row(rows, after)
    return None, after


def _next_row(rows: Sequence[Sequence[str]], above: int) -> int:
    """The first row below ``above`` that is not empty; the number of rows where there is none."""
    return next((index for index in range(above + 1, len(rows)) if rows[index]), len(rows))


def _headers(headers: list[str], body: Sequence[Sequence[str]], name: str, line: int, delimiter: str) -> list[str]:
    """Headers, one for each field of the usual row: a delimiter too many at the end of either is put up with."""
    n_as_header = sum(len(row) == len(headers) for row in body)
    width = len(headers) if n_as_header > 0.25 * len(body) else _width(body) or len(headers)
    while len(headers) > width and not headers[-1]:
        headers = headers[:-1]
    surplus_blank = all(not any(row[len(headers) :]) for row in body if len(row) == width)
    if len(headers) < width and surplus_blank:
        headers = headers + [""] * (width - len(headers))
    if len(headers) == width:
        return headers
    raise refusals.header_of_other_width(name, line, len(headers), width, commas=delimiter == ",")


def _width(rows: Sequence[Sequence[str]]) -> int:
    """The usual number of fields of a row of data."""
    counts = Counter(len(row) for row in rows if len(row) > 1 and any(map(is_value, row)))
    return max(counts, key=lambda width: (counts[width], width)) if counts else 0


def guess_delimiter(lines: Sequence[str]) -> str | None:
    """The delimiter that parts most lines into equally many fields of which most are numbers or times."""
    body = [*islice(filter(_is_row, reversed(lines)), 400)]
    scores = {}
    for delimiter in DELIMITERS:
        parted = any(delimiter in line for line in body)
        rows = [split_line(line, delimiter) for line in body] if parted else []
        if (width := _width(rows)) >= 2:
            # A header that parts into as many fields is the best witness for a delimiter.
            scores[delimiter] = (_evenness(rows, width) + 0.5 * _has_header(lines[:60], delimiter, width), width)
    return max(scores, key=lambda delimiter: scores[delimiter]) if scores else None


def _evenness(rows: Sequence[Sequence[str]], width: int) -> float:
    """Share of the rows with ``width`` fields, times the share of numbers and times among those fields."""
    alike = [row for row in rows if len(row) == width]
    cells = [cell for row in alike for cell in row]
    share = sum(is_value(cell) or cell.lower() in NO_VALUE for cell in cells) / len(cells)
    return share * (len(alike) / len(rows))


def _has_header(lines: Sequence[str], delimiter: str, width: int) -> bool:
    """Whether a line without a number has as many fields as the rows."""
    return any(
        len(_without_mark(line, delimiter)) == width
        for line in lines
        if not any(map(is_value, split_line(line, delimiter)))
    )


def _header_line(lines: Sequence[str], rows: Sequence[Sequence[str]], delimiter: str, name: str) -> int:
    """The line of the header, counted from 1: of the lines above the data the one most understood."""
    width = _width(rows)
    first = next((i for i, row in enumerate(rows) if len(row) == width and any(map(is_value, row))), 0)
    best: tuple[int, int, int] | None = None
    for index in range(first):
        cells = _without_mark(lines[index], delimiter)
        if len(cells) < 2 or not any(cells) or any(map(is_value, cells)):
            continue
        if _is_units_row(cells, below_header=best is not None and best[0] > 1):
            # Where nothing else heads the columns, their units do.
            best = best or (-1, 0, index)
            continue
        n_known = sum(understand(cell).quantity is not None for cell in cells)
        score = (n_known * 2 + (len(cells) == width), int(bool(rows[index])), index)
        best = score if best is None or score >= best else best
    if best is None:
        raise refusals.no_header(name, first + 1)
    return best[2] + 1


def _is_units_row(cells: Sequence[str], *, below_header: bool = False) -> bool:
    """Whether every cell is a unit or empty, and at least half of them are units.

    Below a header, a cell may also say that there is no unit ("-"), or how a time is written ("ISO 8601").
    """
    spelled = [spells_unit(cell) for cell in cells]
    no_unit = says_no_unit if below_header else _is_empty
    return all(known or no_unit(cell) for known, cell in zip(spelled, cells, strict=True)) and (
        2 * sum(spelled) >= len(cells) > 1
    )


def _is_empty(cell: str) -> bool:
    return not cell


def _decimal(body: Sequence[Sequence[str]]) -> str:
    """The decimal sign that most numbers are written with."""
    cells = [cell for row in body[:2000] for cell in row if _is_number(cell)]
    n_comma, n_point = (sum(sign in cell for cell in cells) for sign in ",.")
    return "," if n_comma > n_point else "."
