"""What an importer hands back of one log: the recording, how its columns were understood, what keeps it from use."""

from dataclasses import dataclass, field
from typing import Literal

from ridelog.errors import InputError
from ridelog.findings import Finding
from ridelog.recording import ColumnReading, Recording
from ridelog.settings.column_map import LONGEST_HEADER, ColumnEntry, ColumnMap, LogSettings
from ridelog.tell.reasons.logs import MAP_ANSWER_BELOW, clock, map_head, map_question
from ridelog.tell.refusals.logs import nothing_held
from ridelog.vocabulary.headers import quantity_named
from ridelog.vocabulary.units import UNITS, unit_named


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
    log : what the user said on how the log is written
    """

    name: str
    readings: tuple[ColumnReading, ...]
    facts: tuple[str, ...]
    clock: str
    questions: tuple[str, ...] = ()
    findings: tuple[Finding, ...] = ()
    blocked: bool = False
    open_headers: frozenset[str] = frozenset()
    log: LogSettings = field(default_factory=LogSettings)

    def to_toml(self) -> str:
        """The column map that says what was understood, to be edited; what is open stands in it as a comment."""
        is_open = self.open_headers
        named = [each for each in self.readings if each.header.strip() and len(each.header) <= LONGEST_HEADER]
        entries = [_entry(reading, is_open=reading.header in is_open) for reading in named]
        known = tuple(entry for entry in entries if entry.header not in is_open)
        lines = [f"# {map_head(self.name)}", ""]
        for entry in entries:
            if entry.header in is_open:
                lines += [f"# {MAP_ANSWER_BELOW}"]
                lines += [f"# {line}" for line in ColumnMap(column=(entry,)).to_toml().splitlines() if line]
        shown = ["".join(c if c.isprintable() else "?" for c in question) for question in self.questions]
        comments = [f"# {map_question(question)}" for question in shown]
        return "\n".join([lines[0], *comments, *lines[1:], ""]) + ColumnMap(log=self.log, column=known).to_toml()


def _entry(reading: ColumnReading, *, is_open: bool) -> ColumnEntry:
    """What a map would say to have the column read as it was."""
    used = reading.channel is not None or is_open
    unit = reading.unit if reading.unit and unit_named(reading.unit) else None
    fits = quantity_named(reading.quantity)
    if is_open and unit is None and fits:
        unit = next(known.name for known in UNITS.values() if known.dimension in fits.dimensions)
    sign: Literal[-1, 1] | None = None
    if used and _directed(reading):
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
    """

    report: ColumnReport
    recording: Recording | None
    refusal: InputError | None = None

    def required(self) -> Recording:
        """The recording.

        Raises
        ------
        InputError : the log cannot be used
        """
        if self.recording is None:
            raise self.refusal or nothing_held(self.report.name)
        return self.recording


def field_report(
    recording: Recording, fact: str, questions: tuple[str, ...], open_headers: frozenset[str]
) -> ColumnReport:
    """The report on a recording whose format says of most fields what they are.

    Parameters
    ----------
    recording : with the readings of its fields
    fact : how the file is written, in words
    questions : what is open about the others, each with the line of a column map that answers it
    open_headers : fields that wait for the answer

    Returns
    -------
    Report for ``ridelog columns`` and the page.
    """
    return ColumnReport(
        name=recording.name,
        readings=recording.columns,
        facts=(fact,),
        clock=clock(
            recording.start,
            zoned=recording.clock == "utc",
            n_samples=len(recording.frame),
            span_s=recording.duration_s,
        ),
        questions=questions,
        findings=recording.findings,
        open_headers=open_headers,
    )
