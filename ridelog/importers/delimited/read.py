"""Delimited text logs: bytes -> table -> Recording, and the same reasoning laid open for people."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from ridelog.errors import InputError
from ridelog.importers.columns.column import answers
from ridelog.importers.delimited.arrow_arrays import give_back_memory
from ridelog.importers.delimited.dialect import guess_delimiter
from ridelog.importers.delimited.log_text import SNIFFED_BYTES, encoding_of
from ridelog.importers.delimited.peek import FORMAT, peek
from ridelog.importers.delimited.understanding import Understood, understood_log
from ridelog.importers.report import ColumnReport, ReadLog
from ridelog.importers.unpack import Unpacked
from ridelog.recording import Recording, checked_channels, frame_of
from ridelog.tell.reasons import logs as reasons
from ridelog.tell.refusals import logs as refusals
from ridelog.tell.refusals.columns import unanswered
from ridelog.vocabulary.headers import understand

if TYPE_CHECKING:
    from collections.abc import Iterable

    from ridelog.settings.column_map import ColumnMap

__all__ = ["FORMAT", "LOOKED_FOR", "peek", "read_log", "recognises", "report_on"]

LOOKED_FOR = reasons.TEXT_LOG

_LARGE_BYTES = 1_000_000  # reading less leaves little behind
_SUFFIXES = (".csv", ".tsv", ".txt", ".log")
_NOT_A_TABLE = re.compile(r"\s*(<[?!a-zA-Z]|\{|\[\s*\{)")
_TOML_LINE = re.compile(r"\s*(\[[\w. -]+\]|\[\[[\w. -]+\]\]|[\w.-]+\s*=\s*\S.*)\s*(#.*)?")


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
    if lines and sum(map(_is_toml, lines)) > 0.8 * len(lines):
        return False
    return named or guess_delimiter(lines) is not None


def _is_toml(line: str) -> bool:
    """Whether a line of a settings file could be this one; most lines of a log hold neither mark."""
    return ("=" in line or "[" in line) and _TOML_LINE.fullmatch(line) is not None


def read_log(content: bytes, name: str, sha256: str, columns: ColumnMap | None = None) -> ReadLog:
    """Read a delimited log, once, for its recording and for the report on its columns.

    Parameters
    ----------
    content : the file, unpacked
    name : as the user gave it
    sha256 : of the bytes as given
    columns : what the user says about the log; overrules what it was understood to say

    Returns
    -------
    log : with the report in any case, and with the recording unless it is refused: by a `ColumnQuestionError`
        where the columns can be understood in more than one way, or for values that cannot be

    Raises
    ------
    InputError : no table, or text in a column of numbers
    """
    understood = understood_log(content, name, columns, seen=True)
    report = _report(understood, name, columns)
    try:
        log = ReadLog(report, _recording(understood, name, sha256, columns), previews=understood.previews)
    except InputError as refusal:
        log = ReadLog(report, None, refusal, understood.previews)
    if len(content) > _LARGE_BYTES:
        give_back_memory()
    return log


def report_on(log: Unpacked, columns: ColumnMap | None) -> ColumnReport:
    """The report of `read_log`, with the same errors; no recording is made."""
    understood = understood_log(log.content, log.name, columns)
    if understood.refusal is not None:
        raise understood.refusal
    return _report(understood, log.name, columns)


def _recording(understood: Understood, name: str, sha256: str, columns: ColumnMap | None) -> Recording:
    if understood.refusal is not None:
        raise understood.refusal
    if open_questions := [question for question in understood.questions if question.blocking]:
        raise unanswered(name, [question.text for question in open_questions], answers(open_questions))
    clock, channels = understood.clock, understood.assignment.channels
    if clock is None or not channels:
        raise _nothing_used(understood, name)
    channels, findings = checked_channels(channels, clock.steady.time_s, name)
    return Recording(
        name=name,
        sha256=sha256,
        format=FORMAT,
        frame=frame_of(channels, clock.steady.time_s),
        start=clock.start,
        clock=clock.clock,
        clock_s=clock.clock_s,
        columns=understood.readings,
        can_show_return=understood.can_show_return,
        writes_sign=understood.writes_sign,
        findings=(*understood.findings, *findings),
        time_zone=columns.log.time_zone if columns is not None else None,
    )


def _nothing_used(understood: Understood, name: str) -> InputError:
    """The error for a log in which nothing but the time is understood, or nothing has a value."""
    dialect = understood.dialect
    if empty := [column.header for column in understood.assignment.columns if column.is_empty]:
        return refusals.no_numbers(name, dialect.first_line, empty)
    named = [_quantities(cells) for cells in zip(*dialect.sample, strict=True)]
    most = max(named, key=len, default=[])
    if most:
        return refusals.one_value_a_row(name, dialect.header_line, dialect.headers[named.index(most)], most[:3])
    return refusals.nothing_used(name, dialect.header_line, [header for header in dialect.headers if header])


def _quantities(cells: Iterable[str]) -> list[str]:
    """Those of a column's cells that would be headers of something measured."""
    return [cell for cell in dict.fromkeys(cells) if understand(cell).quantity not in (None, "time", "date")]


def _report(found: Understood, name: str, columns: ColumnMap | None) -> ColumnReport:
    clock = found.clock
    words = reasons.CLOCK_NOT_KNOWN
    if clock is not None:
        time_s = clock.steady.time_s
        words = reasons.clock(clock.start, zoned=clock.clock == "utc", n_samples=len(time_s), span_s=float(time_s[-1]))
    return ColumnReport(
        name=name,
        readings=found.readings,
        facts=found.dialect.facts,
        clock=words,
        questions=tuple(question.in_words for question in found.questions),
        findings=found.findings,
        blocked=any(question.blocking for question in found.questions),
        open_headers=frozenset(column.header for column in found.assignment.columns if column.is_open),
        log=columns.log if columns else None,
    )
