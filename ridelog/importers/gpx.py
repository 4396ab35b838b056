"""GPX tracks: all tracks of a file as one recording, its extensions read by their words."""

from __future__ import annotations

from collections import Counter
from datetime import datetime, timedelta
from typing import TYPE_CHECKING

import numpy as np

from ridelog.findings import Fact, Finding
from ridelog.importers.fields import FieldsRead, NativeField, read_fields
from ridelog.importers.gpx_points import Track, track_of
from ridelog.importers.peek import Peek
from ridelog.importers.points.columns import Points
from ridelog.importers.points.times import EPOCH
from ridelog.importers.report import ColumnReport, ReadLog, ReadTrack
from ridelog.importers.sample_times import SettledTimes, believable_start, settle
from ridelog.importers.unpack import Unpacked, Window, refuse_larger
from ridelog.importers.xml_text import decoded, root_name
from ridelog.tell.reasons import logs as reasons

if TYPE_CHECKING:
    from ridelog.settings.column_map import ColumnMap

FORMAT = "gpx"
LOOKED_FOR = reasons.GPX
LARGEST_BYTES = 40_000_000  # two days at one point a second; reading takes 25 times this memory

_HEAD_BYTES = 65_536  # the root element stands within these, after comments and a document type


def recognises(content: bytes, name: str) -> bool:
    """Whether the first element of an XML file is <gpx>."""
    del name
    return root_name(decoded(content[:_HEAD_BYTES])) == "gpx"


def read_log(
    content: bytes, name: str, sha256: str, columns: ColumnMap | None = None, *, largest_bytes: int = LARGEST_BYTES
) -> ReadLog:
    """Read a GPX file, once: all its tracks as one recording, with a pause wherever a segment ends.

    Parameters
    ----------
    content : the whole file
    name : what to call it in messages
    sha256 : of the file as given
    columns : what the user says about extensions; the elements of GPX say what they are
    largest_bytes : more is no single ride [byte]

    Returns
    -------
    log : the clock of its recording is "local" where the times do not name a zone

    Raises
    ------
    InputError : it is larger than a ride can be, has a document type, is no XML up to its first point, or holds no
        point with a time
    """
    read = _read(content, name, columns, largest_bytes)
    return ReadLog(read.report(), read.recording(sha256))


def report_on(log: Unpacked, columns: ColumnMap | None) -> ColumnReport:
    """The report of `read_log`, with the same errors: what the fields hold is part of it; no recording is made."""
    return _read(log.content, log.name, columns, LARGEST_BYTES).report()


def _read(content: bytes, name: str, columns: ColumnMap | None, largest_bytes: int) -> ReadTrack:
    refuse_larger(len(content), name, largest_bytes, "GPX")
    track = track_of(content, name)
    settled, fields = _settled(track, name, columns)
    time_s, kept = settled.time_s, settled.rows
    start, clock_findings = _start(track, settled, name)
    findings = [*track.findings, *settled.findings]
    if track.damage is not None:
        damage: dict[str, Fact] = {"file": name, "damage": "line", "at": track.damage}
        findings.append(Finding("damaged-tail", "warning", damage, float(time_s[-1]), float(time_s[-1])))
    return ReadTrack(
        name=name,
        format=FORMAT,
        form=reasons.GPX_TRACK,
        time_s=time_s,
        start=start,
        clock="elapsed" if start is None else "utc" if track.zoned else "local",
        fields=fields,
        findings=(*findings, *clock_findings, *_lost_findings(track.lost, name)),
        pauses_s=_pauses(track.points.segment[kept], time_s),
    ).checked()


def peek(window: Window) -> Peek:
    """When and what for a GPX file was recorded: its points are read, and no recording is made of them."""
    refuse_larger(window.n_bytes, window.name, LARGEST_BYTES, "GPX")
    return _read(window.whole(), window.name, None, LARGEST_BYTES).peek(window.n_bytes)


def _settled(track: Track, name: str, columns: ColumnMap | None = None) -> tuple[SettledTimes, FieldsRead]:
    """The points whose times can be believed, and their channels."""
    points = track.points
    settled = settle(points.time_us, name)
    extras = points.extras.columns(points.rows[settled.rows])
    natives = _natives(points, settled.rows)
    return settled, read_fields(natives, extras, settled.time_s, source=name, why=reasons.GPX_ELEMENT, columns=columns)


def _start(track: Track, settled: SettledTimes, name: str) -> tuple[datetime | None, list[Finding]]:
    """Wall time of the first point kept, if it can be believed."""
    first_us = int(track.points.time_us[settled.rows[0]])
    return believable_start(EPOCH + timedelta(microseconds=first_us), name)


def _natives(points: Points, kept: np.ndarray) -> list[NativeField]:
    """Position and height of the kept points."""
    values = points.values[kept]
    return [
        NativeField("lat", "latitude_deg", values[:, 0], "°"),
        NativeField("lon", "longitude_deg", values[:, 1], "°"),
        NativeField("ele", "altitude_m", values[:, 2], "m"),
    ]


def _pauses(segment: np.ndarray, time_s: np.ndarray) -> tuple[tuple[float, float], ...]:
    """From the last point of each segment to the first of the next [s]."""
    ends = np.flatnonzero(np.diff(segment) != 0)
    return tuple((float(time_s[end]), float(time_s[end + 1])) for end in ends)


def _lost_findings(lost: Counter[str], name: str) -> list[Finding]:
    """One finding for each kind of thing that could not be used."""
    points = {"no-time": "untimed-samples", "bad-time": "unreadable-times", "other-zone": "mixed-zones"}
    values = {"no-position": "position", "no-number": "altitude_m"}
    return [
        *(
            Finding(code, "note" if kind == "no-time" else "warning", {"file": name, "n_points": lost[kind]})
            for kind, code in points.items()
            if lost[kind]
        ),
        *(
            Finding("unreadable-values", "warning", {"file": name, "channel": channel, "n_values": lost[kind]})
            for kind, channel in values.items()
            if lost[kind]
        ),
    ]
