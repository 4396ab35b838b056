"""What an importer hands back of one log: the recording, how its columns were understood, what keeps it from use."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import field, replace
from datetime import datetime
from typing import TYPE_CHECKING, Literal

import numpy as np

from ridelog.errors import InputError
from ridelog.findings import Finding
from ridelog.importers.fields import FieldsRead
from ridelog.importers.peek import Peek, end_of, role_of
from ridelog.lazy import dataclass
from ridelog.recording import Clock, ColumnReading, Preview, Recording, checked_channels, frame_of
from ridelog.tell.reasons.logs import MAP_ANSWER_BELOW, clock, map_head, map_question
from ridelog.tell.refusals.logs import nothing_held
from ridelog.vocabulary.headers import quantity_named
from ridelog.vocabulary.units import UNITS, unit_named

if TYPE_CHECKING:
    from ridelog.settings.column_map import ColumnEntry, LogSettings


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
    open_headers : columns that wait for the answer to a question
    log : what the user said on how the log is written; ``None`` where nothing was said
    """

    name: str
    readings: tuple[ColumnReading, ...]
    facts: tuple[str, ...]
    clock: str
    questions: tuple[str, ...] = ()
    findings: tuple[Finding, ...] = ()
    blocked: bool = False
    open_headers: frozenset[str] = frozenset()
    log: LogSettings | None = None

    def to_toml(self) -> str:
        """The column map that says what was understood, to be edited; what is open stands in it as a comment."""
        from ridelog.settings.column_map import LONGEST_HEADER, ColumnMap, LogSettings

        is_open = self.open_headers
        unnamed = [each for each in self.readings if not each.header.strip()]
        alone = [each.header for each in unnamed if len(unnamed) == 1 and each.channel]  # of two, a map means both
        named = [
            each
            for each in self.readings
            if (each.header.strip() or each.header in alone) and len(each.header) <= LONGEST_HEADER
        ]
        entries = [_entry(reading, is_open=reading.header in is_open) for reading in named]
        known = tuple(entry for entry in entries if entry.header not in is_open)
        lines = [f"# {map_head(self.name)}", ""]
        for entry in entries:
            if entry.header in is_open:
                lines += [f"# {MAP_ANSWER_BELOW}"]
                lines += [f"# {line}" for line in ColumnMap(column=(entry,)).to_toml().splitlines() if line]
        shown = ["".join(c if c.isprintable() else "?" for c in question) for question in self.questions]
        comments = [f"# {map_question(question)}" for question in shown]
        return (
            "\n".join([lines[0], *comments, *lines[1:], ""])
            + ColumnMap(log=self.log or LogSettings(), column=known).to_toml()
        )


def _entry(reading: ColumnReading, *, is_open: bool) -> ColumnEntry:
    """What a map would say to have the column read as it was."""
    from ridelog.settings.column_map import ColumnEntry

    used = reading.channel is not None or is_open
    unit = reading.unit if reading.unit and unit_named(reading.unit) else None
    fits = quantity_named(reading.quantity)
    if is_open and unit is None and fits:
        unit = next(known.name for known in UNITS.values() if known.dimension in fits.dimensions)
    sign: Literal[-1, 1] | None = None
    if used and (_directed(reading) or reading.sign < 0):
        sign = -1 if reading.sign < 0 else 1
    quantity = reading.quantity if used and fits else None
    return ColumnEntry(
        header=reading.header,
        quantity=quantity,
        unit=unit if quantity else None,
        factor=reading.map_factor,
        sign=sign,
        use=used,
    )


def _directed(reading: ColumnReading) -> bool:
    return reading.channel in ("current_a", "power_w")


@dataclass(frozen=True)
class ReadLog:
    """One log, read once.

    Attributes
    ----------
    report : how its columns were understood
    recording : what it holds; ``None`` where it cannot be used
    refusal : why it cannot be used: a `ColumnQuestionError` where a column map answers it; ``None`` where it can
    previews : of each column of a text log
    """

    report: ColumnReport
    recording: Recording | None
    refusal: InputError | None = None
    previews: tuple[Preview, ...] = ()

    def seen(self) -> tuple[Preview, ...]:
        """Some rows of each column; those of a track are of its channels, in the units that it writes."""
        from ridelog.importers.preview import of_channels

        return self.previews if self.recording is None else self.previews or of_channels(self.recording)

    def required(self) -> Recording:
        """The recording.

        Raises
        ------
        InputError : the log cannot be used
        """
        if self.recording is None:
            raise self.refusal or nothing_held(self.report.name)
        return self.recording


@dataclass(frozen=True)
class ReadTrack:
    """All about a log whose format says of most fields what they are, before a frame is made of it.

    Attributes
    ----------
    name, format : of the file
    form : how the file is written, in words
    time_s : times of the samples, shape (n,) [s]
    start, clock, pauses_s, stated : as `ridelog.recording.Recording` has them
    fields : its channels, and how they were understood
    findings : what the reading brought up
    """

    name: str
    format: str
    form: str
    time_s: np.ndarray
    start: datetime | None
    clock: Clock
    fields: FieldsRead
    findings: tuple[Finding, ...]
    pauses_s: tuple[tuple[float, float], ...] = ()
    stated: Mapping[str, float] = field(default_factory=dict)

    def checked(self) -> ReadTrack:
        """The same, held against the table of channels.

        Raises
        ------
        InputError : no value, a time that does not increase, or an impossible column
        """
        channels, findings = checked_channels(self.fields.channels, self.time_s, self.name)
        fields = replace(self.fields, channels=channels)
        return replace(self, fields=fields, findings=(*self.findings, *self.fields.findings, *findings))

    def recording(self, sha256: str) -> Recording:
        """The recording; ``sha256`` of the bytes as given."""
        return Recording(
            name=self.name,
            sha256=sha256,
            format=self.format,
            frame=frame_of(self.fields.channels, self.time_s),
            start=self.start,
            clock=self.clock,
            pauses_s=self.pauses_s,
            stated=self.stated,
            columns=self.fields.readings,
            can_show_return=self.fields.can_show_return,
            writes_sign=self.fields.writes_sign,
            findings=self.findings,
        )

    def peek(self, n_bytes: int) -> Peek:
        """What a look shows of it; ``n_bytes`` of the file, unpacked [byte]."""
        return Peek(
            name=self.name,
            format=self.format,
            n_bytes=n_bytes,
            clock=self.clock,
            start=self.start,
            end=end_of(self.start, float(self.time_s[-1])),
            role=role_of(self.fields.channels),
            n_samples=len(self.time_s),
        )

    def report(self) -> ColumnReport:
        """The report for ``ridelog columns`` and the page."""
        span_s = float(self.time_s[-1] - self.time_s[0])
        return ColumnReport(
            name=self.name,
            readings=self.fields.readings,
            facts=(self.form,),
            clock=clock(self.start, zoned=self.clock == "utc", n_samples=len(self.time_s), span_s=span_s),
            questions=self.fields.questions,
            findings=self.findings,
            open_headers=self.fields.open_headers,
        )
