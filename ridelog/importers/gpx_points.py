"""The track points of a GPX document: in the order of time, each with what stands in it, and what cannot be used.

A plainly written document is taken apart without its tree (`points.plain`), any other is parsed by a parser that
refuses document types and entities. Of gpxpy only the reading of unusual times is used: it would read the rest wrongly
or not at all (other encodings than UTF-8, prefixed names, one bad number), and it drops unreadable times in silence.
"""

import re
from bisect import bisect_left, bisect_right
from collections import Counter
from xml.etree.ElementTree import Element

import numpy as np

from ridelog.errors import InputError
from ridelog.findings import Fact, Finding
from ridelog.importers.points.columns import Points
from ridelog.importers.points.plain import plain_points
from ridelog.importers.points.tree import tree_points
from ridelog.importers.sample_times import increasing_mask
from ridelog.importers.xml_text import decoded, local_name, parsed, undeclared
from ridelog.lazy import dataclass
from ridelog.tell.refusals import tracks

_POINT_END = re.compile(rb"</(?P<prefix>[\w.-]+:)?trkpt\s*>|<(?P<single>[\w.-]+:)?trkpt\b[^<>]*/>")


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
    text = decoded(content)
    found, damage = plain_points(undeclared(text)), None
    if found is None or not len(found[0].time_us):
        root, damage = parsed(text, name, _cut)
        found = tree_points(root)
        if not len(found[0].time_us):
            raise _nothing(root, found[1], name)
    points, lost = found
    zoned = 2 * int(points.zoned.sum()) >= len(points.zoned)
    lost["other-zone"] = int((points.zoned != zoned).sum())
    ordered, findings = _without_overlap(points.taken(points.zoned == zoned), name)
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


def _nothing(root: Element, lost: Counter[str], name: str) -> InputError:
    """The error for a document without a point that can be used."""
    n_points = lost["no-time"] + lost["no-position"] + lost["bad-time"]
    if n_points:
        return tracks.no_usable_point(name, n_points, with_position=not lost["no-position"])
    return tracks.no_track(name, {local_name(child) for child in root})


def _without_overlap(points: Points, name: str) -> tuple[Points, tuple[Finding, ...]]:
    """Points in the order of time where segments are not; of two that cover one time, the fuller is kept."""
    times_us, segment = points.time_us, points.segment
    if (np.diff(times_us) > 0).all():
        return points, ()
    groups = np.split(np.arange(len(segment)), np.flatnonzero(np.diff(segment)) + 1)
    spans = [times_us[group][increasing_mask(times_us[group])][[0, -1]].tolist() for group in groups]
    times = times_us.tolist()
    kept_of: dict[int, list[int]] = {}
    covered = _Covered()
    for number in sorted(range(len(groups)), key=lambda number: len(groups[number]), reverse=True):
        kept_of[number] = [index for index in groups[number].tolist() if not covered.holds(times[index])]
        covered.add(*spans[number])
    # whole segments are put in order, never single points: a clock that goes back must show
    order = [index for number in sorted(kept_of, key=lambda number: spans[number][0]) for index in kept_of[number]]
    findings: tuple[Finding, ...] = ()
    if len(order) < len(segment):
        facts: dict[str, Fact] = {"file": name, "n_dropped": len(segment) - len(order), "n_all": len(segment)}
        findings = (Finding("overlapping-tracks", "warning", facts),)
    return points.taken(np.array(order)), findings


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
