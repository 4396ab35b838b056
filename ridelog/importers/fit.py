"""FIT activity files, read through fitdecode.

The file's own scaled values are taken as they come (m/s, m, °C); positions come in semicircles. A damaged
tail is kept up to the damage; what the check sums say is reported.
"""

from __future__ import annotations

import struct
from dataclasses import field
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING, Any

import numpy as np

from ridelog.errors import InputError
from ridelog.findings import Fact, Finding
from ridelog.importers.fields import Extra, NativeField, columns_of, read_fields
from ridelog.importers.fit_columns import FIRST_WALL_TIME, UNKNOWN_TIME, NotPlainError, Records, plain_records
from ridelog.importers.peek import Peek
from ridelog.importers.report import ColumnReport, ReadLog, ReadTrack
from ridelog.importers.sample_times import believable_start, settle
from ridelog.importers.unpack import Unpacked, Window, refuse_larger
from ridelog.lazy import dataclass
from ridelog.tell.reasons import logs as reasons
from ridelog.tell.refusals import tracks

if TYPE_CHECKING:
    from collections.abc import Mapping

    from ridelog.settings.column_map import ColumnMap

FORMAT = "fit"
LOOKED_FOR = reasons.FIT
LARGEST_BYTES = 30_000_000  # a week at one sample a second; a plain MB takes 0.1 s, any other 2 s
MOST_EMPTY = 10_000  # messages without a field, a byte each, of which 3 MB took half a minute: no device writes them

FIT_EPOCH = datetime(1989, 12, 31, tzinfo=UTC)
_DEGREES_PER_SEMICIRCLE = 180 / 2**31

# field of a record: channel, unit, factor; of two fields for one channel the later one is finer, and wins
_NATIVE = {
    "position_lat": ("latitude_deg", "semicircles", _DEGREES_PER_SEMICIRCLE),
    "position_long": ("longitude_deg", "semicircles", _DEGREES_PER_SEMICIRCLE),
    "altitude": ("altitude_m", "m", 1.0),
    "enhanced_altitude": ("altitude_m", "m", 1.0),
    "speed": ("speed_mps", "m/s", 1.0),
    "enhanced_speed": ("speed_mps", "m/s", 1.0),
    "distance": ("distance_m", "m", 1.0),
    "temperature": ("air_temperature_c", "°C", 1.0),
    "cadence": ("cadence_rpm", "1/min", 1.0),
    "power": ("rider_power_w", "W", 1.0),
    "ebike_battery_level": ("state_of_charge_pct", "%", 1.0),
    "battery_soc": ("state_of_charge_pct", "%", 1.0),
}
_TOTALS = {
    "total_distance": "distance_m",
    "total_ascent": "ascent_m",
    "total_descent": "descent_m",
    "total_elapsed_time": "elapsed_s",
    "total_timer_time": "moving_s",
    "total_work": "rider_work_j",
}
_STOPS = frozenset(["stop", "stop_all", "stop_disable", "stop_disable_all"])


@dataclass(frozen=True)
class Damage:
    """What ended the reading: a kind of `ridelog.tell.findings.files.damage_words`, and at which byte."""

    kind: str
    at: int | None = None


@dataclass
class _Messages:
    """What is gathered while a file is walked through."""

    times: list[int] = field(default_factory=list)
    samples: list[dict[str, float]] = field(default_factory=list)
    extras: list[Extra] = field(default_factory=list)
    records: Records | None = None  # in place of samples and extras, where the file is plain
    rows: np.ndarray = field(default_factory=lambda: np.empty(0, dtype=int))  # those of the records with a time
    timer: list[tuple[int, bool]] = field(default_factory=list)  # FIT seconds, whether the timer stops
    sessions: list[dict[str, Any]] = field(default_factory=list)
    laps: list[dict[str, Any]] = field(default_factory=list)
    told: set[tuple[str, str]] = field(default_factory=set)  # sessions and laps, to know one that is repeated
    n_untimed: int = 0
    n_empty: int = 0  # messages without a field; after `MOST_EMPTY` no more is read
    n_bad_sums: int = 0
    damage: Damage | None = None

    def columns(self, kept: np.ndarray) -> tuple[list[NativeField], dict[tuple[str, str], np.ndarray]]:
        """The native and the makers' fields of the samples that are kept."""
        if self.records is None:
            natives = _natives(columns_of([self.samples[i] for i in kept]), len(kept))
            return natives, columns_of([self.extras[i] for i in kept])
        rows = self.rows[kept]
        natives = _natives({name: self.records.natives[name][rows] for name in self.records.natives}, len(kept))
        return natives, self.records.developer_columns(rows)


def recognises(content: bytes, name: str) -> bool:
    """Whether the file says at its ninth byte that it is a FIT file."""
    del name
    return content[8:12] == b".FIT"


def read_log(
    content: bytes, name: str, sha256: str, columns: ColumnMap | None = None, *, largest_bytes: int = LARGEST_BYTES
) -> ReadLog:
    """Read a FIT activity file, once, for its recording and for the report on its fields.

    Parameters
    ----------
    content : the whole file
    name : what to call it in messages
    sha256 : of the file as given
    columns : what the user says about developer fields; the fields of the FIT profile say what they are
    largest_bytes : more is no single ride [byte]

    Returns
    -------
    log : its speed is the device's own, spikes included: after a pause, devices have been seen to divide the way
        since the last sample by too short a time

    Raises
    ------
    InputError : the file is larger than a ride can be, or holds no sample with a time and a value
    """
    read = _read_track(content, name, columns, largest_bytes)
    return ReadLog(read.report(), read.recording(sha256))


def report_on(log: Unpacked, columns: ColumnMap | None) -> ColumnReport:
    """The report of `read_log`, with the same errors: what the fields hold is part of it; no recording is made."""
    return _read_track(log.content, log.name, columns, LARGEST_BYTES).report()


def _read_track(content: bytes, name: str, columns: ColumnMap | None, largest_bytes: int) -> ReadTrack:
    refuse_larger(len(content), name, largest_bytes, "FIT")
    messages = _walked(content)
    if messages.n_empty > MOST_EMPTY:
        raise tracks.fit_of_empty_messages(name, MOST_EMPTY)
    if not messages.times:
        raise _nothing(messages, name)
    times_us = np.array(messages.times, dtype=np.int64) * 1_000_000
    settled = settle(times_us, name)
    kept, time_s = settled.rows, settled.time_s
    first, last = messages.times[kept[0]], messages.times[kept[-1]]
    natives, extras = messages.columns(kept)
    fields = read_fields(natives, extras, time_s, source=name, why=reasons.FIT_FIELD, columns=columns)
    start, clock_findings = _start(first, name)
    return ReadTrack(
        name=name,
        format=FORMAT,
        form=reasons.FIT_FILE,
        time_s=time_s,
        start=start,
        clock="elapsed" if start is None else "utc",
        fields=fields,
        findings=(*settled.findings, *clock_findings, *_file_findings(messages, name, float(last - first))),
        pauses_s=_pauses(messages.timer, first, last),
        stated=_stated(messages),
    ).checked()


def peek(window: Window) -> Peek:
    """When and what for a FIT file was recorded: its samples are read, and no recording is made of them."""
    refuse_larger(window.n_bytes, window.name, LARGEST_BYTES, "FIT")
    return _read_track(window.whole(), window.name, None, LARGEST_BYTES).peek(window.n_bytes)


def _start(first: int, name: str) -> tuple[datetime | None, list[Finding]]:
    """Wall time of the first sample, if its stamp counts from the FIT epoch and can be believed."""
    if first < FIRST_WALL_TIME:
        return None, []
    return believable_start(FIT_EPOCH + timedelta(seconds=first), name)


def _nothing(messages: _Messages, name: str) -> InputError:
    """The error for a file without a sample that can be used."""
    if messages.damage:
        return tracks.fit_damaged_at_once(name, messages.damage.kind, messages.damage.at)
    return tracks.no_fit_time(name, messages.n_untimed) if messages.n_untimed else tracks.no_fit_sample(name)


def _walked(content: bytes) -> _Messages:
    """All messages up to the end, or up to the damage; the records of a plain file as columns."""
    try:
        messages = _read(plain_records(content))
    except NotPlainError:
        return _read(content)
    return _read(content) if messages.damage and messages.n_empty <= MOST_EMPTY else messages


def _read(source: bytes | Records) -> _Messages:
    """All messages of a file, or those that stand beside its records.

    Raises
    ------
    NotPlainError : only the full reader can say what the records hold
    """
    import fitdecode

    # What fitdecode raises on damaged bytes: its own errors, and those of the arithmetic inside it.
    damage = (
        fitdecode.FitError,
        struct.error,
        ArithmeticError,
        AssertionError,
        AttributeError,
        LookupError,
        TypeError,
        ValueError,
    )
    messages = _Messages()
    records = source if isinstance(source, Records) else None
    content = source.rest if isinstance(source, Records) else _with_length(source, messages)
    try:
        with fitdecode.FitReader(
            content,
            processor=None,  # raw but scaled values, and nothing turned into km/h behind our back
            check_crc=fitdecode.CrcCheck.READONLY,
            error_handling=fitdecode.ErrorHandling.IGNORE,
        ) as reader:
            for frame in reader:
                if frame.frame_type == fitdecode.FIT_FRAME_DATA:
                    _take(frame, messages)
                    messages.n_empty += not frame.fields
                    if messages.n_empty > MOST_EMPTY:
                        break
                elif records and frame.frame_type == fitdecode.FIT_FRAME_DEFINITION:
                    records.define(frame)
                elif frame.frame_type == fitdecode.FIT_FRAME_CRC:
                    messages.n_bad_sums += not frame.matched
                elif frame.frame_type == fitdecode.FIT_FRAME_HEADER:
                    messages.n_bad_sums += frame.crc_matched is False
    except damage as error:
        messages.damage = messages.damage or _place(error)
    if records:
        messages.records, messages.rows = records, np.flatnonzero(records.times != UNKNOWN_TIME)
        messages.times = records.times[messages.rows].tolist()
        messages.n_untimed = len(records.times) - len(messages.times)
    return messages


def _place(error: Exception) -> Damage:
    """Of what kind the damage is, and at which byte."""
    offset = getattr(error, "offset", None)
    n_read = getattr(error, "got", None)  # of the bytes of a message, where the file ends too early
    if offset is not None and n_read is not None:
        return Damage("ends-inside-message", offset + n_read)
    if offset is not None:
        return Damage("bad-message", offset)
    return Damage("not-this-format")


def _with_length(content: bytes, messages: _Messages) -> bytes:
    """A device that lost power leaves the length at 0 in the header: put in what is there."""
    header_size = content[0]
    if content[4:8] != b"\0\0\0\0" or len(content) <= header_size + 2:
        return content
    messages.damage = Damage("never-finished")
    return content[:4] + struct.pack("<I", len(content) - header_size) + content[8:]


def _take(frame: Any, messages: _Messages) -> None:
    """Put one data message where it belongs."""
    if frame.name == "record":
        _take_sample(frame, messages)
    elif frame.name == "event":
        values = {item.name: item.value for item in frame.fields}
        time, kind = values.get("timestamp"), values.get("event_type")
        if values.get("event") == "timer" and isinstance(time, int) and (kind == "start" or kind in _STOPS):
            messages.timer.append((time, kind != "start"))
    elif frame.name in ("session", "lap"):
        values = {item.name: item.value for item in frame.fields}
        if (told := (frame.name, repr(values))) not in messages.told:  # files joined by mistake repeat it
            messages.told.add(told)
            (messages.sessions if frame.name == "session" else messages.laps).append(values)


def _take_sample(frame: Any, messages: _Messages) -> None:
    sample: dict[str, float] = {}
    extra: Extra = {}
    time = None
    for item in frame.fields:
        value = item.value
        if not isinstance(value, int | float):
            continue  # not known, or several values in one field
        if item.field_def is not None and item.field_def.is_dev:
            extra[str(item.name), str(item.units or "")] = value
        elif item.name in _NATIVE:
            sample[item.name] = value
        elif item.name == "timestamp":
            time = value
    if isinstance(time, int) and 0 <= time < UNKNOWN_TIME:  # of a field that is wider than a time stamp, it is none
        messages.times.append(time)
        messages.samples.append(sample)
        messages.extras.append(extra)
    else:
        messages.n_untimed += 1


def _natives(samples: Mapping[str, np.ndarray], n_samples: int) -> list[NativeField]:
    """The fields of the FIT profile that are used, in the channels' units."""
    unknown = np.full(n_samples, np.nan)
    return [
        NativeField(name, channel, samples.get(name, unknown) * factor, unit, factor)
        for name, (channel, unit, factor) in _NATIVE.items()
    ]


def _pauses(timer: list[tuple[int, bool]], first: int, last: int) -> tuple[tuple[float, float], ...]:
    """Spans between a stop of the timer and its next start, within the recording [s]."""
    pauses: list[tuple[float, float]] = []
    stopped: int | None = None
    for time, stops in [*timer, (last, False)]:
        if stops and stopped is None:
            stopped = time
        elif not stops and stopped is not None:
            begin, end = max(stopped, first), min(time, last)
            if begin < end and (not pauses or begin - first >= pauses[-1][1]):
                pauses.append((float(begin - first), float(end - first)))
            stopped = None
    return tuple(pauses)


def _stated(messages: _Messages) -> dict[str, float]:
    """The totals of the session, or of all sessions or laps together where there are several."""
    totals: dict[str, float] = {}
    for message in messages.sessions or messages.laps:
        for field_name, total in _TOTALS.items():
            value = message.get(field_name)
            if isinstance(value, int | float):
                totals[total] = totals.get(total, 0.0) + float(value)
    return totals


def _file_findings(messages: _Messages, name: str, end_s: float) -> list[Finding]:
    """What the file's own state says of its samples."""
    findings = []
    if messages.damage:
        facts: dict[str, Fact] = {"file": name, "damage": messages.damage.kind, "at": messages.damage.at}
        findings.append(Finding("damaged-tail", "warning", facts, end_s, end_s))
    if messages.n_bad_sums:
        findings.append(Finding("check-sum", "warning", {"file": name}))
    if messages.n_untimed:
        findings.append(Finding("untimed-samples", "note", {"file": name, "n_points": messages.n_untimed}))
    return findings
