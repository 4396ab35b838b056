"""GPX tracks, read through gpxpy.

The XML is first parsed by a parser that refuses document types and entities. gpxpy is then given a plain
document with nothing but the track points, because it would read the rest wrongly or not at all: other
encodings than UTF-8, prefixed names, one bad number; and because it drops unreadable times in silence.
"""

from __future__ import annotations

import math
import re
from bisect import bisect_left, bisect_right
from collections import Counter
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING, Any
from xml.etree.ElementTree import Element, SubElement, tostring

import numpy as np
import pandas as pd

from ridelog.errors import InputError
from ridelog.findings import Finding
from ridelog.importers.fields import Extra, NativeField, read_fields
from ridelog.importers.report import ReadLog, field_report
from ridelog.importers.sample_times import believable_start, increasing_mask, settle
from ridelog.importers.unpack import refuse_larger
from ridelog.importers.xml_text import decoded, local_name, parsed, root_name
from ridelog.recording import Recording, checked

if TYPE_CHECKING:
    from ridelog.settings.column_map import ColumnMap

FORMAT = "gpx"
LOOKED_FOR = "GPX 1.0 or 1.1 (an XML file whose first element is <gpx>)"

_EPOCH = datetime(1970, 1, 1, tzinfo=UTC)
_HEAD_BYTES = 65_536  # the root element stands within these, after comments and a document type
_POINT_END = re.compile(rb"</(?P<prefix>[\w.-]+:)?trkpt\s*>|<(?P<single>[\w.-]+:)?trkpt\b[^<>]*/>")


@dataclass
class _Points:
    """Track points in the order of the file; the lists are of the same length."""

    time_us: list[int] = field(default_factory=list)
    segment: list[int] = field(default_factory=list)
    values: list[tuple[float, float, float]] = field(default_factory=list)  # latitude, longitude, altitude
    extras: list[Extra] = field(default_factory=list)


def recognises(content: bytes, name: str) -> bool:
    """Whether the first element of an XML file is <gpx>."""
    del name
    return root_name(decoded(content[:_HEAD_BYTES])) == "gpx"


def read_log(
    content: bytes, name: str, sha256: str, columns: ColumnMap | None = None, *, largest_bytes: int = 40_000_000
) -> ReadLog:
    """Read a GPX file, once: all its tracks as one recording, with a pause wherever a segment ends.

    Parameters
    ----------
    content : the whole file
    name : what to call it in messages
    sha256 : of the file as given
    columns : what the user says about extensions; the elements of GPX say what they are
    largest_bytes : two days at one point a second; reading takes 25 times this memory [byte]

    Returns
    -------
    log : the clock of its recording is "local" where the times do not name a zone

    Raises
    ------
    InputError : it is larger than a ride can be, has a document type, is no XML up to its first point, or holds no
        point with a time
    """
    refuse_larger(content, name, largest_bytes, "GPX")
    findings: list[Finding] = []
    root, damage = parsed(decoded(content), name, _cut)
    plain, extras, lost = _plain(root, name)
    points, zoned = _points(plain, extras, lost, name)
    points = _without_overlap(points, name, findings)
    times_us = np.array(points.time_us, dtype=np.int64)
    settled = settle(times_us, name)
    findings += settled.findings
    kept, time_s = settled.rows, settled.time_s
    start, clock_findings = believable_start(_EPOCH + timedelta(microseconds=int(times_us[kept[0]])), name)
    if damage:
        sentence = f"{name}: the file is damaged or cut off ({damage}); the points before it were kept."
        findings.append(Finding("damaged-tail", "warning", sentence, float(time_s[-1]), float(time_s[-1])))
    fields = read_fields(
        _natives(points, kept),
        [points.extras[index] for index in kept],
        time_s,
        source=name,
        why="an element of GPX",
        columns=columns,
    )
    recording = checked(
        Recording(
            name=name,
            sha256=sha256,
            format=FORMAT,
            frame=pd.DataFrame(fields.channels, index=time_s),
            start=start,
            clock="elapsed" if start is None else "utc" if zoned else "local",
            pauses_s=_pauses(np.array(points.segment)[kept], time_s),
            columns=fields.readings,
            can_show_return=fields.can_show_return,
            findings=(*findings, *clock_findings, *_lost_findings(lost, name), *fields.findings),
        )
    )
    return ReadLog(field_report(recording, "GPX track", fields.questions, fields.is_open), recording)


def read(content: bytes, name: str, sha256: str, columns: ColumnMap | None = None) -> Recording:
    """The recording of a GPX file; parameters and errors as for `read_log`."""
    return read_log(content, name, sha256, columns).required()


def _cut(document: bytes) -> bytes | None:
    """The document up to its last whole track point, with the open elements closed."""
    ends = list(_POINT_END.finditer(document))
    if not ends:
        return None
    end = ends[-1]
    prefix = end["prefix"] or end["single"] or b""
    closing = b"".join(b"</" + prefix + tag + b">" for tag in (b"trkseg", b"trk", b"gpx"))
    return document[: end.end()] + closing


def _number(text: str | None) -> float:
    """The number, NaN where there is none."""
    try:
        value = float(text or "")
    except ValueError:
        return math.nan
    return value if math.isfinite(value) else math.nan


def _plain(root: Element, name: str) -> tuple[Element, list[Extra], Counter[str]]:
    """A document of bare track points for gpxpy, the other values of each, and counts of what was lost."""
    plain = Element("gpx", version="1.1")
    extras: list[Extra] = []
    lost: Counter[str] = Counter()
    for track in (element for element in root if local_name(element) == "trk"):
        new_track = SubElement(plain, "trk")
        for segment in (element for element in track if local_name(element) == "trkseg"):
            new_segment = SubElement(new_track, "trkseg")
            for point in (element for element in segment if local_name(element) == "trkpt"):
                _copy_point(point, new_segment, extras, lost)
    if not extras and not lost:
        kinds = {"rte": "a planned route", "wpt": "single waypoints"}
        held = " and ".join(kinds[kind] for kind in kinds if any(local_name(child) == kind for child in root))
        raise InputError(
            name,
            f"holds {held or 'nothing'} and no recorded track",
            hint="export the ride as it was recorded (a track), not as it was planned",
        )
    return plain, extras, lost


def _copy_point(point: Element, segment: Element, extras: list[Extra], lost: Counter[str]) -> None:
    """One point with position, height and time; without a position or a time it cannot be used."""
    children = {local_name(child): child for child in point}
    time = (children["time"].text or "").strip() if "time" in children else ""
    if not time:
        lost["no-time"] += 1
        return
    latitude, longitude = _number(point.get("lat")), _number(point.get("lon"))
    if math.isnan(latitude) or math.isnan(longitude):
        lost["no-position"] += 1
        return
    new = SubElement(segment, "trkpt", lat=repr(latitude), lon=repr(longitude))
    if "ele" in children:
        altitude = _number(children["ele"].text)
        if math.isnan(altitude):
            lost["no-number"] += 1
        else:
            SubElement(new, "ele").text = repr(altitude)
    SubElement(new, "time").text = time
    extra: Extra = {}
    for element in point.iter():
        if element is point or len(element) or element in (children.get("ele"), children.get("time")):
            continue
        value = _number(element.text)
        unit = element.get("unit") or element.get("units") or element.get("uom") or ""
        if not math.isnan(value):
            extra.setdefault((local_name(element), unit), value)
    extras.append(extra)


def _points(plain: Element, extras: list[Extra], lost: Counter[str], name: str) -> tuple[_Points, bool]:
    """The points that gpxpy finds, with their times in microseconds since 1970, and whether zones are named.

    Where some times name a zone and others do not, the more frequent kind is kept.
    """
    import gpxpy
    import gpxpy.gpx

    try:
        document = gpxpy.parse(tostring(plain, encoding="unicode"))
    except gpxpy.gpx.GPXException as error:
        raise InputError(name, f"cannot be read: {error}") from None
    segments = [segment for track in document.tracks for segment in track.segments]
    found = [(number, point) for number, segment in enumerate(segments) for point in segment.points]
    stamps = [_microseconds(point.time) for _, point in found]
    n_zoned = sum(stamp is not None and stamp[1] for stamp in stamps)
    zoned = 2 * n_zoned >= sum(stamp is not None for stamp in stamps)
    points = _Points()
    for (number, point), stamp, extra in zip(found, stamps, extras, strict=True):
        if stamp is None:
            lost["bad-time"] += 1
        elif stamp[1] != zoned:
            lost["other-zone"] += 1
        else:
            altitude = math.nan if point.elevation is None else point.elevation
            points.time_us.append(stamp[0])
            points.segment.append(number)
            points.values.append((point.latitude, point.longitude, altitude))
            points.extras.append(extra)
    if not points.time_us:
        n_points = len(found) + lost["no-time"] + lost["no-position"]
        what = "position and a time" if lost["no-position"] else "time"
        raise InputError(
            name,
            f"none of its {n_points} track points has a {what} that can be read",
            hint="it may be a planned route; export the ride as it was recorded",
        )
    return points, zoned


def _microseconds(time: Any) -> tuple[int, bool] | None:
    """Microseconds since 1970 and whether the zone is known; ``None`` for no time, or an impossible zone."""
    if time is None:
        return None
    zoned = time.tzinfo is not None
    try:
        since = (time if zoned else time.replace(tzinfo=UTC)) - _EPOCH
    except (ValueError, OverflowError):
        return None
    return since // timedelta(microseconds=1), zoned


def _without_overlap(points: _Points, name: str, findings: list[Finding]) -> _Points:
    """Points in the order of time where segments are not; of two that cover one time, the fuller is kept."""
    times_us, segment = np.array(points.time_us), np.array(points.segment)
    if (np.diff(times_us) > 0).all():
        return points
    groups = np.split(np.arange(len(segment)), np.flatnonzero(np.diff(segment)) + 1)
    spans = [times_us[group][increasing_mask(times_us[group])][[0, -1]].tolist() for group in groups]
    kept_of: dict[int, list[int]] = {}
    covered = _Covered()
    for number in sorted(range(len(groups)), key=lambda number: len(groups[number]), reverse=True):
        kept_of[number] = [index for index in groups[number].tolist() if not covered.holds(points.time_us[index])]
        covered.add(*spans[number])
    # whole segments are put in order, never single points: a clock that goes back must show
    order = [index for number in sorted(kept_of, key=lambda number: spans[number][0]) for index in kept_of[number]]
    if len(order) < len(segment):
        sentence = (
            f"{name}: {len(segment) - len(order)} of {len(segment)} points belong to a track or segment recorded "
            "at the same time as a longer one; they were left out."
        )
        findings.append(Finding("overlapping-tracks", "warning", sentence))
    return _Points(
        [points.time_us[index] for index in order],
        [points.segment[index] for index in order],
        [points.values[index] for index in order],
        [points.extras[index] for index in order],
    )


class _Covered:
    """The time that the segments taken so far cover: spans in order that do not touch."""

    def __init__(self) -> None:
        self.starts: list[int] = []
        self.ends: list[int] = []

    def holds(self, time: int) -> bool:
        """Whether ``time`` lies within a span; its ends do not, a time shared there is a repeated one."""
        before = bisect_left(self.starts, time) - 1
        return before >= 0 and time < self.ends[before]

    def add(self, start: int, end: int) -> None:
        """Cover a span too."""
        low, high = bisect_left(self.ends, start), bisect_right(self.starts, end)
        if low < high:
            start, end = min(start, self.starts[low]), max(end, self.ends[high - 1])
        self.starts[low:high], self.ends[low:high] = [start], [end]


def _natives(points: _Points, kept: np.ndarray) -> list[NativeField]:
    """Position and height of the kept points."""
    values = np.array(points.values)[kept]
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
    sentences = {
        "no-time": ("untimed-samples", "points left out for want of a time: {n}"),
        "bad-time": ("unreadable-times", "points left out because their time cannot be read: {n}"),
        "other-zone": ("mixed-zones", "points left out because they differ from the others in naming a zone: {n}"),
        "no-position": ("unreadable-values", "points left out because their position is not a number: {n}"),
        "no-number": ("unreadable-values", "heights taken as not known because they are not numbers: {n}"),
    }
    return [
        Finding(code, "warning" if kind != "no-time" else "note", f"{name}: {sentence.format(n=lost[kind])}.")
        for kind, (code, sentence) in sentences.items()
        if lost[kind]
    ]
