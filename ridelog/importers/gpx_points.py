"""The track points of a GPX document: in the order of time, each with what stands in it, and what cannot be used.

The XML is parsed by a parser that refuses document types and entities. Of gpxpy only the reading of times is used: it
would read the rest wrongly or not at all (other encodings than UTF-8, prefixed names, one bad number), and it drops
unreadable times in silence.
"""

import contextlib
import math
import re
from bisect import bisect_left, bisect_right
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from typing import Any
from xml.etree.ElementTree import Element

import numpy as np

from ridelog.errors import InputError
from ridelog.findings import Fact, Finding
from ridelog.importers.fields import Extra
from ridelog.importers.sample_times import increasing_mask
from ridelog.importers.xml_text import decoded, local_name, parsed
from ridelog.tell.refusals import tracks
from ridelog.vocabulary.words import SWITCH_WORDS

EPOCH = datetime(1970, 1, 1, tzinfo=UTC)
_MICROSECOND = timedelta(microseconds=1)
_PLAIN_STAMP = re.compile(r"\d{4}-\d\d-\d\dT(?:[01]\d|2[0-3]):\d\d:\d\dZ", re.ASCII)
_POINT_END = re.compile(rb"</(?P<prefix>[\w.-]+:)?trkpt\s*>|<(?P<single>[\w.-]+:)?trkpt\b[^<>]*/>")


@dataclass
class Points:
    """Track points in the order of the file; the lists are of the same length.

    ``time_us`` counts from 1970 [1e-6 s]; ``values`` are latitude, longitude and altitude [°, °, m].
    """

    time_us: list[int] = field(default_factory=list)
    segment: list[int] = field(default_factory=list)
    values: list[tuple[float, float, float]] = field(default_factory=list)
    extras: list[Extra] = field(default_factory=list)

    def take(self, other: "Points", index: int) -> None:
        """Add a point of another list."""
        self.time_us.append(other.time_us[index])
        self.segment.append(other.segment[index])
        self.values.append(other.values[index])
        self.extras.append(other.extras[index])


@dataclass(frozen=True)
class Track:
    """The points of a document that can be used.

    Attributes
    ----------
    points : in the order of time as far as whole segments go
    zoned : whether their times name a zone
    damage : line at which the document is damaged, if it is
    lost : number of things that could not be used, by kind
    findings : of the choice between tracks of one time
    """

    points: Points
    zoned: bool
    damage: int | None
    lost: Counter[str]
    findings: tuple[Finding, ...]


def track_of(content: bytes, name: str) -> Track:
    """The points of a GPX document that have a position and a time.

    Where some times name a zone and others do not, the more frequent kind is kept.

    Raises
    ------
    InputError : it has a document type, is no XML up to its first point, or holds no point with a time
    """
    root, damage = parsed(decoded(content), name, _cut)
    points, zones, lost = _points(root)
    if not points.time_us:
        raise _nothing(root, lost, name)
    zoned = 2 * sum(zones) >= len(zones)
    lost["other-zone"] = sum(zone != zoned for zone in zones)
    of_zone = Points()
    for index, zone in enumerate(zones):
        if zone == zoned:
            of_zone.take(points, index)
    ordered, findings = _without_overlap(of_zone, name)
    return Track(ordered, zoned, damage, lost, findings)


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


def _points(root: Element) -> tuple[Points, list[bool], Counter[str]]:
    """All points with a position and a time, whether their times name a zone, and counts of what was lost."""
    points, zones = Points(), []
    lost: Counter[str] = Counter()
    segments = (segment for track in _inside(root, "trk") for segment in _inside(track, "trkseg"))
    for number, segment in enumerate(segments):
        for point in _inside(segment, "trkpt"):
            children = {local_name(child): child for child in point}
            position = _number(point.get("lat")), _number(point.get("lon"))
            stamp, fault = _stamp_of(children, position)
            if stamp is None:
                lost[fault] += 1
                continue
            altitude = _number(children["ele"].text) if "ele" in children else math.nan
            lost["no-number"] += "ele" in children and math.isnan(altitude)
            points.time_us.append(stamp[0])
            points.segment.append(number)
            points.values.append((*position, altitude))
            points.extras.append(_extra(point, children))
            zones.append(stamp[1])
    return points, zones, lost


def _inside(element: Element, name: str) -> Iterator[Element]:
    """The elements of this name that stand in another."""
    return (child for child in element if local_name(child) == name)


def _stamp_of(children: dict[str, Element], position: tuple[float, float]) -> tuple[tuple[int, bool] | None, str]:
    """The time of a point, or what it cannot be used for the want of."""
    text = (children["time"].text or "").strip() if "time" in children else ""
    if not text:
        return None, "no-time"
    if any(map(math.isnan, position)):
        return None, "no-position"
    return _microseconds(text), "bad-time"


def _extra(point: Element, children: dict[str, Element]) -> Extra:
    """The numbers of a point's other elements, at any depth; a switch that is on or off is 1 or 0."""
    extra: Extra = {}
    for element in point.iter():
        if element is point or len(element) or element in (children.get("ele"), children.get("time")):
            continue
        text = (element.text or "").strip()
        value = _number(SWITCH_WORDS.get(text.lower(), text))
        unit = element.get("unit") or element.get("units") or element.get("uom") or ""
        if not math.isnan(value):
            extra.setdefault((local_name(element), unit), value)
    return extra


def _nothing(root: Element, lost: Counter[str], name: str) -> InputError:
    """The error for a document without a point that can be used."""
    n_points = lost["no-time"] + lost["no-position"] + lost["bad-time"]
    if n_points:
        return tracks.no_usable_point(name, n_points, with_position=not lost["no-position"])
    return tracks.no_track(name, {local_name(child) for child in root})


def _microseconds(text: str) -> tuple[int, bool] | None:
    """Microseconds since 1970 and whether the zone is known; ``None`` for no time, or an impossible zone.

    Nearly all are whole seconds of UTC, which need no more than the standard library.
    """
    if _PLAIN_STAMP.fullmatch(text):
        with contextlib.suppress(ValueError):  # of no calendar: gpxpy decides
            return (datetime.fromisoformat(text) - EPOCH) // _MICROSECOND, True
    from gpxpy.gpxfield import TIME_TYPE

    time: Any = TIME_TYPE.from_string(text)
    if time is None:
        return None
    zoned = time.tzinfo is not None
    try:
        since = (time if zoned else time.replace(tzinfo=UTC)) - EPOCH
    except (ValueError, OverflowError):
        return None
    return since // _MICROSECOND, zoned


def _without_overlap(points: Points, name: str) -> tuple[Points, tuple[Finding, ...]]:
    """Points in the order of time where segments are not; of two that cover one time, the fuller is kept."""
    times_us, segment = np.array(points.time_us), np.array(points.segment)
    if (np.diff(times_us) > 0).all():
        return points, ()
    groups = np.split(np.arange(len(segment)), np.flatnonzero(np.diff(segment)) + 1)
    spans = [times_us[group][increasing_mask(times_us[group])][[0, -1]].tolist() for group in groups]
    kept_of: dict[int, list[int]] = {}
    covered = _Covered()
    for number in sorted(range(len(groups)), key=lambda number: len(groups[number]), reverse=True):
        kept_of[number] = [index for index in groups[number].tolist() if not covered.holds(points.time_us[index])]
        covered.add(*spans[number])
    # whole segments are put in order, never single points: a clock that goes back must show
    order = [index for number in sorted(kept_of, key=lambda number: spans[number][0]) for index in kept_of[number]]
    findings: tuple[Finding, ...] = ()
    if len(order) < len(segment):
        facts: dict[str, Fact] = {"file": name, "n_dropped": len(segment) - len(order), "n_all": len(segment)}
        findings = (Finding("overlapping-tracks", "warning", facts),)
    ordered = Points()
    for index in order:
        ordered.take(points, index)
    return ordered, findings


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
