"""Delimited text logs: bytes -> table -> Recording, and the same reasoning laid open for people.

No device's format is known here: `ridelog.vocabulary.words` says what words and units mean, and
`ridelog.importers.columns.evidence` what values show where words do not.
"""

import re
from dataclasses import dataclass, field, replace
from typing import Literal

import numpy as np
import pandas as pd

from ridelog.errors import ColumnQuestionError, InputError
from ridelog.findings import Finding
from ridelog.importers.columns.assign import apply_entry, assign
from ridelog.importers.columns.column import NO_NUMBER, OPEN, Assignment, Column, Question, answers
from ridelog.importers.delimited.body import Body, Kind, read_body
from ridelog.importers.delimited.clock_columns import ClockReading, read_clock
from ridelog.importers.delimited.clock_steps import counted
from ridelog.importers.delimited.dialect import (
    DELIMITER_NAMES,
    NO_VALUE,
    SNIFFED_BYTES,
    Dialect,
    decoded,
    encoding_of,
    guess_delimiter,
    sniff,
)
from ridelog.recording import ColumnReading, Recording, checked
from ridelog.settings.column_map import ColumnEntry, ColumnMap, LogSettings
from ridelog.vocabulary.headers import HeaderMeaning, quantity_named, understand
from ridelog.vocabulary.units import UNITS, unit_named

FORMAT = "csv"
LOOKED_FOR = "a delimited text log (columns parted by comma, semicolon, tab or bar, under a header)"

_SUFFIXES = (".csv", ".tsv", ".txt", ".log")
_NOT_A_TABLE = re.compile(r"\s*(<[?!a-zA-Z]|\{|\[\s*\{)")
_TOML_LINE = re.compile(r"\s*(\[[\w. -]+\]|\[\[[\w. -]+\]\]|[\w.-]+\s*=\s*\S.*)\s*(#.*)?")
_DIGIT = re.compile(r"[+-]?[.,]?\d")
_COUNTED_CHANNELS = ("current_a", "voltage_v", "power_w")


@dataclass(frozen=True)
class ColumnReport:
    """How a log was understood, for ``ridelog columns`` and the page.

    Attributes
    ----------
    name : of the file
    readings : one for each column, in the file's order
    facts : how the file is written: encoding, delimiter, header and so on
    clock : how the time was read
    questions : what is open, each with the line of a column map that answers it
    findings : what the reading of the rows brought up
    blocked : whether an open question keeps the log from being read
    """

    name: str
    readings: tuple[ColumnReading, ...]
    facts: tuple[str, ...]
    clock: str
    questions: tuple[str, ...] = ()
    findings: tuple[Finding, ...] = ()
    blocked: bool = False
    log: LogSettings = field(default_factory=LogSettings)

    def to_toml(self) -> str:
        """The column map that says what was understood, to be edited; what is open stands in it as a comment."""
        entries = [_entry(reading) for reading in self.readings if reading.header.strip()]
        is_open = {reading.header for reading in self.readings if reading.why.endswith(OPEN)}
        known = tuple(entry for entry in entries if entry.header not in is_open)
        lines = [f"# How the columns of {self.name!r} were understood. Edit, then give it as --columns.", ""]
        for entry in entries:
            if entry.header in is_open:
                lines += ["# To answer the question, take the # off these lines and mend them:"]
                lines += [f"# {line}" for line in ColumnMap(column=(entry,)).to_toml().splitlines() if line]
        shown = ["".join(c if c.isprintable() else "?" for c in question) for question in self.questions]
        comments = [f"# Question: {question}" for question in shown]
        return "\n".join([lines[0], *comments, *lines[1:], ""]) + ColumnMap(log=self.log, column=known).to_toml()


def _entry(reading: ColumnReading) -> ColumnEntry:
    """What a map would say to have the column read as it was."""
    is_open = reading.why.endswith(OPEN)
    used = reading.channel is not None or is_open
    unit = reading.unit if reading.unit and unit_named(reading.unit) else None
    fits = quantity_named(reading.quantity)
    if is_open and unit is None and fits:
        unit = next(known.name for known in UNITS.values() if known.dimension in fits.dimensions)
    sign: Literal[-1, 1] | None = None
    if used and _directed(reading):
        sign = -1 if reading.sign < 0 else 1
    quantity = reading.quantity if used and fits else None
    return ColumnEntry(header=reading.header, quantity=quantity, unit=unit if quantity else None, sign=sign, use=used)


def _directed(reading: ColumnReading) -> bool:
    return reading.channel in ("current_a", "power_w")


@dataclass(frozen=True)
class _Understood:
    dialect: Dialect
    clock: ClockReading | None
    assignment: Assignment
    readings: tuple[ColumnReading, ...]
    questions: tuple[Question, ...]
    findings: tuple[Finding, ...]
    can_show_return: bool | None


def recognises(content: bytes, name: str) -> bool:
    """Whether the content looks like a delimited text log; reads no more than its beginning.

    A text file with a name such as ``.csv`` is taken even without a table in it, so that the message says
    what is wrong with it.
    """
    named = name.lower().endswith(_SUFFIXES)
    head = content[:SNIFFED_BYTES]
    if len(content) > len(head):
        head = head[: len(head) // 2 * 2]
        head = head[: head.rfind(b"\n")] if b"\n\0" not in head and b"\n" in head else head
    if not head.strip():
        return named
    encoding = encoding_of(head)
    if encoding is None:
        return False
    text = head.decode(encoding, "replace").removeprefix("\ufeff")
    if _NOT_A_TABLE.match(text):
        return False
    lines = [line for line in re.split(r"\r\n|\n|\r", text) if line.strip() and not line.lstrip().startswith("#")]
    if lines and sum(bool(_TOML_LINE.fullmatch(line)) for line in lines) > 0.8 * len(lines):
        return False
    return named or guess_delimiter(lines) is not None


def read(content: bytes, name: str, sha256: str, columns: ColumnMap | None = None) -> Recording:
    """Read a delimited log.

    Parameters
    ----------
    content : the file, unpacked
    name : as the user gave it
    sha256 : of the bytes as given
    columns : what the user says about the log; overrules what it was understood to say

    Raises
    ------
    InputError : no table, no time, text in a column of numbers, or values that cannot be
    ColumnQuestionError : the columns can be understood in more than one way; the hint answers it
    """
    understood = _understand(content, name, columns)
    if open_questions := [question for question in understood.questions if question.blocking]:
        what = "; ".join(question.text for question in open_questions)
        raise ColumnQuestionError(name, what, hint=f"answer in a MAP.toml, option --columns: {answers(open_questions)}")
    clock, channels = understood.clock, understood.assignment.channels
    if clock is None or not channels:
        raise _nothing_used(understood, name)
    frame = pd.DataFrame(channels, index=pd.Index(clock.steady.time_s, name="time_s"), dtype=float)
    return checked(
        Recording(
            name=name,
            sha256=sha256,
            format=FORMAT,
            frame=frame,
            start=clock.start,
            clock=clock.clock,
            columns=understood.readings,
            can_show_return=understood.can_show_return,
            findings=understood.findings,
        )
    )


def _nothing_used(understood: _Understood, name: str) -> InputError:
    """The error for a log in which nothing but the time is understood, or nothing has a value."""
    dialect = understood.dialect
    if empty := [f"'{c.header}'" for c in understood.assignment.columns if c.reasons and NO_NUMBER in c.reasons[-1]]:
        return InputError(name, f"holds no number under {', '.join(empty)}", place=f"line {dialect.first_line}")
    heads = ", ".join(f"'{header}'" for header in dialect.headers if header)
    return InputError(
        name,
        f"no column besides the time says anything that is used: {heads}",
        place=f"line {dialect.header_line}",
        hint='say in a MAP.toml: column = [{ header = "…", quantity = "battery current", unit = "A" }]',
    )


def explain(content: bytes, name: str, columns: ColumnMap | None = None) -> ColumnReport:
    """How each column of a log is understood; a question that keeps `read` from reading it is shown, not raised.

    Raises
    ------
    InputError : as for `read`, where the file holds no table or its rows cannot be read
    """
    found = _understand(content, name, columns)
    clock = found.clock
    return ColumnReport(
        name=name,
        readings=found.readings,
        facts=_facts(found.dialect),
        clock=_clock_words(clock) if clock else "not known yet",
        questions=tuple(question.in_words for question in found.questions),
        findings=found.findings,
        blocked=any(question.blocking for question in found.questions),
        log=columns.log if columns else LogSettings(),
    )


def _understand(content: bytes, name: str, columns: ColumnMap | None) -> _Understood:
    """Everything but the frame."""
    log = columns.log if columns else LogSettings()
    text, encoding = decoded(content, name, log.encoding)
    dialect = sniff(text, name, encoding, log)
    labels = _labels(dialect)
    entries = [columns.entry(label) if columns else None for label in labels]
    units = dialect.units or ("",) * len(labels)
    meanings = [
        _overruled(understand(header, unit), entry)
        for header, unit, entry in zip(dialect.headers, units, entries, strict=True)
    ]
    _refuse_contradictions(meanings, entries, name, dialect.header_line)
    body = read_body(text, dialect, _wanted(dialect, meanings, entries), name)
    questions: list[Question] = []
    clock: ClockReading | None = None
    try:
        clock = read_clock(body, meanings, log, name, _same_as_before(body, meanings))
        rows, time_s = clock.steady.rows, clock.steady.time_s
    except ColumnQuestionError as question:
        questions.append(Question(question.what, log=question.hint or ""))
        rows, time_s = np.arange(body.n_rows), np.arange(body.n_rows, dtype=float)
    table = [
        _column(index, label, (meanings[index], entries[index]), body, rows, name) for index, label in enumerate(labels)
    ]
    assignment = assign(table, time_s, name)
    readings = tuple(_reading(index, column, clock) for index, column in enumerate(table))
    found = (*_row_findings(body, name), *(clock.findings if clock else ()), *assignment.findings)
    found += _missing_values(assignment, name)
    return _Understood(
        dialect,
        clock,
        assignment,
        readings,
        (*questions, *assignment.questions),
        found,
        _can_show_return(assignment, log),
    )


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
    column = Column(label, meaning, entry, None if values is None else values[rows], body.cell_units.get(index))
    apply_entry(column, name)
    return column


def _refuse_contradictions(
    meanings: list[HeaderMeaning], entries: list[ColumnEntry | None], name: str, header_line: int
) -> None:
    for meaning, entry in zip(meanings, entries, strict=True):
        if meaning.contradiction and not (entry and entry.unit):
            hint = "mend one of them, or say unit = … for that column in a MAP.toml (option --columns)"
            raise InputError(name, meaning.contradiction, place=f"line {header_line}", hint=hint)


def _labels(dialect: Dialect) -> list[str]:
    """Headers that can be told apart: the second of one name is called ``name #2``, and so on."""
    seen: dict[str, int] = {}
    labels = []
    for header in dialect.headers:
        seen[header] = seen.get(header, 0) + 1
        labels.append(header if seen[header] == 1 or not header else f"{header} #{seen[header]}")
    return labels


def _overruled(meaning: HeaderMeaning, entry: ColumnEntry | None) -> HeaderMeaning:
    """What a header says once the map had its say on whether and as what it is used."""
    if entry is None:
        return meaning
    if not entry.use:
        return HeaderMeaning(None, why="the map leaves it out")
    if entry.quantity and entry.quantity != meaning.quantity:
        unit = unit_named(entry.unit) if entry.unit else meaning.unit
        return HeaderMeaning(entry.quantity, unit, concepts=meaning.concepts, why=f"the map says {entry.quantity}")
    return replace(meaning, unit=unit_named(entry.unit)) if entry.unit else replace(meaning, rank=0)


def _wanted(dialect: Dialect, meanings: list[HeaderMeaning], entries: list[ColumnEntry | None]) -> dict[int, Kind]:
    """The columns to read, and whether their cells are numbers."""
    wanted: dict[int, Kind] = {}
    for index, meaning in enumerate(meanings):
        if meaning.quantity is None:
            continue
        cells = [row[index] for row in dialect.sample if row[index].lower() not in NO_VALUE]
        number = re.compile(
            rf"(?=[+-]?[.,]?\d)[+-]?\d*(?:{re.escape(dialect.decimal)}\d*)?(?:[eE][+-]?\d+)?(?:\s*[a-zA-Zµ]+)?"
        )
        timely = meaning.quantity in ("time", "date")
        n_numbers = sum(bool(number.fullmatch(cell)) for cell in cells)
        words = len(set(cells)) > 2 and not timely and not any(map(_DIGIT.match, cells))
        if words and not _is_named(entries[index]):
            meanings[index] = replace(meaning, quantity=None, why="its cells are words, not numbers")
            continue
        wanted[index] = "text" if timely and (2 * n_numbers < len(cells) or meaning.quantity == "date") else "number"
    return wanted


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
        why = clock.why.get(index, "not used") if clock else meaning.why
        unit = clock.units.get(index) if clock else None
        known = unit_named(unit) if unit else None
        return ColumnReading(
            column.header,
            "time_s" if used else None,
            meaning.quantity,
            unit or (meaning.unit.name if meaning.unit else None),
            known.factor if known else 1.0,
            why=why,
        )
    unit_read = column.unit or meaning.unit
    return ColumnReading(
        header=column.header,
        channel=column.channel,
        quantity=column.quantity or meaning.quantity or "",
        unit=unit_read.name if unit_read else None,
        factor=column.factor,
        offset=column.unit.offset if column.unit else 0.0,
        sign=column.sign,
        why="; ".join(dict.fromkeys(column.reasons)),
    )


def _row_findings(body: Body, name: str) -> list[Finding]:
    found = []
    n_all = body.n_rows + body.n_wrong
    if body.n_wrong:
        end = "; the last line is cut off" if body.cut_off else ""
        at = f" (first at line {body.wrong_line}{end})" if body.wrong_line else ""
        text = f"{name}: {body.n_wrong} of {n_all} rows do not have {len(body.dialect.headers)} fields{at}; left out."
        found.append(Finding("rows-skipped", "warning" if body.n_wrong > 0.01 * n_all else "note", text))
    if body.n_repeated_headers:
        text = f"{name}: the header turns up again {counted(body.n_repeated_headers, 'time')} among the rows; left out."
        found.append(Finding("header-repeated", "note", text))
    return found


def _missing_values(assignment: Assignment, name: str) -> tuple[Finding, ...]:
    """How many values of the electrical channels are missing."""
    found = []
    for channel in _COUNTED_CHANNELS:
        values = assignment.channels.get(channel)
        n_missing = int(np.isnan(values).sum()) if values is not None else 0
        if values is not None and n_missing:
            heads = " and ".join(f"'{c.header}'" for c in assignment.columns if c.channel == channel)
            text = f"{name}: {heads} has no value in {n_missing} of {len(values)} rows."
            grave = n_missing > 0.05 * len(values)
            found.append(Finding("values-missing", "warning" if grave else "note", text))
    return tuple(found)


def _can_show_return(assignment: Assignment, log: LogSettings) -> bool | None:
    """Whether the current has a sign, where map or words say so."""
    if log.signed is not None:
        return log.signed
    if any(c.channel == "current_a" and c.meaning.unsigned for c in assignment.columns):
        return False
    return None


def _facts(dialect: Dialect) -> tuple[str, ...]:
    above = f", {dialect.n_comment_lines} lines above it" if dialect.n_comment_lines else ""
    return (
        f"{dialect.encoding} text, columns parted by {DELIMITER_NAMES.get(dialect.delimiter, dialect.delimiter)}",
        f"decimal {'comma' if dialect.decimal == ',' else 'point'}",
        f"header in line {dialect.header_line}{above}" + (", units in the row below" if dialect.units else ""),
        f"first row of data in line {dialect.first_line}",
    )


def _clock_words(clock: ClockReading) -> str:
    n, span = len(clock.steady.time_s), clock.steady.time_s[-1]
    if clock.start is None:
        return f"elapsed time, {n} samples over {span:.1f} s"
    zone = "UTC" if clock.clock == "utc" else "wall time of an unknown zone"
    return f"{clock.start:%Y-%m-%d %H:%M:%S} ({zone}), {n} samples over {span:.1f} s"
