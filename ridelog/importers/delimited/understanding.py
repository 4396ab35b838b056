"""What the columns of a delimited log are: headers read, times found, each column decided.

No device's format is known here: `ridelog.vocabulary` says what words and units mean, and
`ridelog.importers.columns.evidence` what values show where words do not.
"""

from __future__ import annotations

import re
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from ridelog.errors import ColumnQuestionError, InputError, NoTimeError
from ridelog.findings import Fact, Finding
from ridelog.importers.columns.assign import apply_entry, assign
from ridelog.importers.columns.column import Assignment, Column, Question, labels, overruled
from ridelog.importers.delimited.body import Body, Kind, read_body
from ridelog.importers.delimited.clock.cells import time_found
from ridelog.importers.delimited.clock.columns import ClockReading, read_clock
from ridelog.importers.delimited.dialect import NO_VALUE, Dialect, sniffed
from ridelog.importers.delimited.glance import glance
from ridelog.importers.delimited.log_text import decoded
from ridelog.importers.shown_sign import shows_sign
from ridelog.lazy import dataclass
from ridelog.recording import ColumnReading, Preview
from ridelog.tell.reasons.clocks import NOT_USED
from ridelog.tell.reasons.columns import WORDS_NOT_NUMBERS
from ridelog.tell.refusals.columns import header_against_units_row
from ridelog.vocabulary.headers import HeaderMeaning, understand
from ridelog.vocabulary.units import unit_named

if TYPE_CHECKING:
    from ridelog.settings.column_map import ColumnEntry, ColumnMap

_DIGIT = re.compile(r"[+-]?[.,]?\d")


@dataclass(frozen=True)
class Understood:
    """Everything about a log but its frame.

    ``clock`` is ``None`` where a question on the time is open, or where its times are not believed, which ``refusal``
    says then; ``no_time`` is the question where no column tells it.
    """

    dialect: Dialect
    n_rows: int
    clock: ClockReading | None
    assignment: Assignment
    readings: tuple[ColumnReading, ...]
    questions: tuple[Question, ...]
    findings: tuple[Finding, ...]
    can_show_return: bool | None
    writes_sign: bool
    refusal: InputError | None = None
    no_time: NoTimeError | None = None
    previews: tuple[Preview, ...] = ()


def understood_log(content: bytes, name: str, columns: ColumnMap | None, *, seen: bool = False) -> Understood:
    """Take a log apart and decide on every column.

    Parameters
    ----------
    content : the file, unpacked
    name : as the user gave it
    columns : what the user says about the log
    seen : whether somebody may want to see the columns

    Returns
    -------
    Decisions on every column, and the questions that stay open.

    Raises
    ------
    InputError : no table, or rows that cannot be read
    """
    log = columns.log if columns else None
    text, encoding = decoded(content, name, log.encoding if log else None)
    dialect = sniffed(text, name, encoding, log)
    heads = labels(dialect.headers)
    entries = [columns.entry(label) if columns else None for label in heads]
    units = dialect.units or ("",) * len(heads)
    meanings = [
        overruled(understand(header, unit), entry)
        for header, unit, entry in zip(dialect.headers, units, entries, strict=True)
    ]
    meanings = meanings if log is not None and log.step_s is not None else time_found(dialect, meanings, entries)
    _refuse_contradictions(dialect, meanings, entries, name)
    body = read_body(text, dialect, _wanted(dialect, meanings, entries), name, needed=_needed(meanings))
    _scale(body, entries)
    questions: list[Question] = []
    clock: ClockReading | None = None
    refusal: InputError | None = None
    no_time: NoTimeError | None = None
    try:
        clock = read_clock(body, meanings, log, name, _same_as_before(body, meanings))
        rows, time_s = clock.steady.rows, clock.steady.time_s
    except ColumnQuestionError as question:
        questions.append(Question(question.what, log=question.hint or ""))
        no_time = question if isinstance(question, NoTimeError) else None
    except InputError as error:
        refusal = error
    if clock is None:
        rows, time_s = np.arange(body.n_rows), np.arange(body.n_rows, dtype=float)
    table = [
        _column(index, label, (meanings[index], entries[index]), body, rows, name) for index, label in enumerate(heads)
    ]
    assignment = assign(table, time_s, name)
    readings = tuple(_reading(index, column, clock) for index, column in enumerate(table))
    found = (*_row_findings(body, name), *(clock.findings if clock else ()), *assignment.findings)
    return Understood(
        dialect,
        body.n_rows,
        clock,
        assignment,
        readings,
        (*questions, *assignment.questions),
        found,
        assignment.can_show_return if log is None or log.signed is None else log.signed,
        _writes_sign(assignment, body),
        refusal,
        no_time,
        glance(text, dialect) if seen else (),
    )


def _writes_sign(assignment: Assignment, body: Body) -> bool:
    """Whether the numbers of the log's current carry a sign."""
    written = [
        (column, _as_written(index, column, body)) for index, column in enumerate(assignment.columns) if column.channel
    ]
    return shows_sign(written)


def _as_written(index: int, column: Column, body: Body) -> np.ndarray | None:
    """A column's numbers; a plus before any of them is as good a sign as a minus."""
    if column.channel in ("current_a", "power_w") and any(row[index][:1] == "+" for row in body.dialect.sample):
        return np.array([-0.0])
    return body.numbers.get(index)


def _column(
    index: int,
    label: str,
    said: tuple[HeaderMeaning, ColumnEntry | None],
    body: Body,
    rows: np.ndarray,
    name: str,
) -> Column:
    """One column, with the rows kept and the map's entry applied; times are read elsewhere."""
    meaning, entry = said
    values = None if meaning.quantity in ("time", "date") else body.numbers.get(index)
    column = Column(
        label, meaning, entry, None if values is None else _of_rows(values, rows), body.cell_units.get(index)
    )
    apply_entry(column, name)
    return column


def _of_rows(values: np.ndarray, rows: np.ndarray) -> np.ndarray:
    """The values of the rows kept; shared where that is all of them."""
    return values if len(rows) == len(values) else values[rows]


def _refuse_contradictions(
    dialect: Dialect, meanings: list[HeaderMeaning], entries: list[ColumnEntry | None], name: str
) -> None:
    """Raise where header and units row state two units, and the map does not decide."""
    for header, meaning, entry in zip(dialect.headers, meanings, entries, strict=True):
        if meaning.unit and meaning.contradiction and not (entry and entry.unit):
            units = (meaning.unit.name, meaning.contradiction.name)
            raise header_against_units_row(name, dialect.header_line, header, units)


def _wanted(dialect: Dialect, meanings: list[HeaderMeaning], entries: list[ColumnEntry | None]) -> dict[int, Kind]:
    """The columns to read, and whether their cells are numbers."""
    wanted: dict[int, Kind] = {}
    number = re.compile(
        rf"(?=[+-]?[.,]?\d)[+-]?\d*(?:{re.escape(dialect.decimal)}\d*)?(?:[eE][+-]?\d+)?(?:\s*[a-zA-Zµ]+)?"
    )
    for index, meaning in enumerate(meanings):
        if meaning.quantity is None:
            continue
        cells = [row[index] for row in dialect.sample if row[index].lower() not in NO_VALUE]
        timely = meaning.quantity in ("time", "date")
        words = len(set(cells)) > 2 and not timely and not any(map(_DIGIT.match, cells))
        if words and not _is_named(entries[index]):
            meanings[index] = replace(meaning, quantity=None, why=WORDS_NOT_NUMBERS)
            continue
        spelled = meaning.quantity == "date" or (
            timely and 2 * sum(map(bool, map(number.fullmatch, cells))) < len(cells)
        )
        wanted[index] = "text" if spelled else "number"
    return wanted


def _scale(body: Body, entries: list[ColumnEntry | None]) -> None:
    """Multiply columns by the factor that the map states."""
    for index, values in body.numbers.items():
        entry = entries[index]
        if entry is not None and entry.factor is not None:
            body.numbers[index] = values * entry.factor


def _needed(meanings: list[HeaderMeaning]) -> frozenset[int]:
    """Columns that can refuse the log: times, and battery current, or battery power where there is no current."""
    quantities = [meaning.quantity for meaning in meanings]
    flow = "battery current" if "battery current" in quantities else "battery power"
    return frozenset(index for index, quantity in enumerate(quantities) if quantity in ("time", "date", flow))


def _is_named(entry: ColumnEntry | None) -> bool:
    return bool(entry and entry.quantity)


def _same_as_before(body: Body, meanings: list[HeaderMeaning]) -> np.ndarray | None:
    """Whether a row repeats all numbers of the row above it, shape (n,)."""
    columns = [values for index, values in body.numbers.items() if meanings[index].quantity != "time"]
    if not columns:
        return None
    same = np.ones(body.n_rows, dtype=bool)
    same[:1] = False
    for values in columns:
        same[1:] &= (values[1:] == values[:-1]) | (np.isnan(values[1:]) & np.isnan(values[:-1]))
    return same


def _reading(index: int, column: Column, clock: ClockReading | None) -> ColumnReading:
    meaning = column.meaning
    if meaning.quantity in ("time", "date"):
        used = clock is not None and index in clock.used
        why = clock.why.get(index, NOT_USED) if clock else meaning.why
        unit = clock.units.get(index) if clock else None
        known = unit_named(unit) if unit else None
        return ColumnReading(
            column.header,
            "time_s" if used else None,
            meaning.quantity,
            unit or (meaning.unit.name if meaning.unit else None),
            (known.factor if known else 1.0) * (column.map_factor or 1.0),
            why=why,
            map_factor=column.map_factor,
        )
    return column.reading


def _row_findings(body: Body, name: str) -> list[Finding]:
    found = []
    n_all = body.n_rows + body.n_wrong
    if body.n_wrong:
        facts: dict[str, Fact] = {
            "file": name,
            "n_skipped": body.n_wrong,
            "n_rows": n_all,
            "n_fields": len(body.dialect.headers),
            "first_line": body.wrong_line or None,
            "cut_off": bool(body.cut_off),
        }
        found.append(Finding("rows-skipped", "warning" if body.n_wrong > 0.01 * n_all else "note", facts))
    for index, wrong in body.unreadable.items():
        cells: dict[str, Fact] = {
            "file": name,
            "column": body.dialect.headers[index],
            "cell": wrong.cell[:40],
            "line": wrong.line,
            "n_cells": wrong.n_cells,
            "n_all": wrong.n_all,
            "left_out": wrong.left_out,
        }
        found.append(Finding("unreadable-cells", "warning", cells))
    for index, n_values in body.n_infinite.items():
        infinite: dict[str, Fact] = {"file": name, "column": body.dialect.headers[index], "n_values": n_values}
        found.append(Finding("infinite-values", "note", {**infinite, "n_all": body.n_rows}))
    if body.n_repeated_headers:
        found.append(Finding("header-repeated", "note", {"file": name, "n_repeats": body.n_repeated_headers}))
    return found
