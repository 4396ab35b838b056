"""Points that are built alike, read an element of all of them at a time."""

import math
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import field, replace

import numpy as np

from ridelog.importers.points.times import stamps_of
from ridelog.lazy import dataclass
from ridelog.vocabulary.words import SWITCH_WORDS

Key = tuple[str, str]  # name of an element and the unit that it states
Texts = Sequence[str | None]


@dataclass(frozen=True)
class Element:
    """One element of points that are built alike.

    Attributes
    ----------
    place : among the elements of its point
    name : without namespace
    texts : what stands in it, one for each point
    units : that it states, one for each point; ``None`` where it states none
    """

    place: int
    name: str
    texts: Texts
    units: Sequence[str] | None = None


@dataclass(frozen=True)
class Alike:
    """Points that are built alike.

    Attributes
    ----------
    rows : which points of the document they are, shape (m,)
    latitudes, longitudes : texts, one for each point [°]
    times, heights : the same of the elements that tell these; ``None`` where the points have none [, m]
    others : the elements that makers add, in their order
    """

    rows: np.ndarray
    latitudes: Texts
    longitudes: Texts
    times: Texts | None
    heights: Texts | None
    others: Sequence[Element]


@dataclass(frozen=True)
class _Part:
    """Numbers of one element: its place in the points, and the points that have one."""

    place: int
    rows: np.ndarray
    values: np.ndarray


@dataclass
class Extras:
    """The numbers of the elements that makers add to ``n`` points, by name and unit."""

    n: int
    parts: dict[Key, list[_Part]] = field(default_factory=dict)

    def take(self, element: Element, rows: np.ndarray) -> None:
        """Take the numbers of an element of some points; a switch that is on or off is 1 or 0."""
        texts = [(text or "").strip() for text in element.texts]
        if not any(texts):
            return
        values = numbers_of([SWITCH_WORDS.get(text.lower(), text) for text in texts])
        units = element.units or [""] * len(texts)
        for unit in dict.fromkeys(units):
            mask = ~np.isnan(values) & np.fromiter((each == unit for each in units), bool, len(units))
            self.parts.setdefault((element.name, unit), []).append(_Part(element.place, rows[mask], values[mask]))

    def columns(self, rows: np.ndarray) -> dict[Key, np.ndarray]:
        """The values of some points, NaN where there is none, for the keys that have any, in the order of the file.

        Of two elements of one key in a point, the first that holds a number counts.
        """
        met = []
        for key, parts in self.parts.items():
            values, places = np.full(self.n, np.nan), np.zeros(self.n, dtype=np.int64)
            for part in sorted(parts, key=lambda part: part.place):
                new_mask = np.isnan(values[part.rows])
                new = part.rows[new_mask]
                values[new], places[new] = part.values[new_mask], part.place
            known_mask = ~np.isnan(values[rows])
            if known_mask.any():
                first = int(known_mask.argmax())
                met.append((first, int(places[rows[first]]), key, values[rows]))
        return {key: values for _, _, key, values in sorted(met, key=lambda each: each[:2])}


@dataclass(frozen=True)
class Points:
    """Points of a document, arrays of shape (n,) each.

    Attributes
    ----------
    time_us : from 1970 [1e-6 s]
    zoned : whether the time names a zone
    segment : number of the segment
    values : latitude, longitude and altitude, shape (n, 3) [°, °, m]
    rows : which of all points of the document they are, to find them in ``extras``
    extras : what makers add
    """

    time_us: np.ndarray
    zoned: np.ndarray
    segment: np.ndarray
    values: np.ndarray
    rows: np.ndarray
    extras: Extras

    def taken(self, order: np.ndarray) -> "Points":
        """Some of the points, by a mask or by their numbers."""
        names = ("time_us", "zoned", "segment", "values", "rows")
        return replace(self, **{name: getattr(self, name)[order] for name in names})


def points_of(segment: np.ndarray, groups: Iterable[Alike]) -> tuple[Points, Counter[str]]:
    """All points with a position and a time, and counts of what was lost, by kind.

    Parameters
    ----------
    segment : number of the segment of each point of the document, shape (n,)
    groups : all of the points, by how they are built
    """
    n = len(segment)
    values = np.full((n, 3), np.nan)
    points = Points(np.zeros(n, np.int64), np.zeros(n, bool), segment, values, np.arange(n), Extras(n))
    kept_mask = np.zeros(n, dtype=bool)
    lost: Counter[str] = Counter()
    for group in groups:
        kept_mask[group.rows] = _take(group, points, lost)
    return points.taken(kept_mask), lost


def _take(group: Alike, points: Points, lost: Counter[str]) -> np.ndarray:
    """Put points into their rows; which of them can be used."""
    rows = group.rows
    latitude, longitude = numbers_of(group.latitudes), numbers_of(group.longitudes)
    texts = [(text or "").strip() for text in group.times or [""] * len(rows)]
    timed_mask = np.fromiter(map(bool, texts), bool, len(texts))
    placed_mask = ~(np.isnan(latitude) | np.isnan(longitude))
    time_us, zoned_mask, readable_mask = stamps_of(texts)
    kept_mask: np.ndarray = timed_mask & placed_mask & readable_mask
    heights = np.full(len(rows), np.nan) if group.heights is None else numbers_of(group.heights)
    lost["no-time"] += int((~timed_mask).sum())
    lost["no-position"] += int((timed_mask & ~placed_mask).sum())
    lost["bad-time"] += int((timed_mask & placed_mask & ~readable_mask).sum())
    lost["no-number"] += 0 if group.heights is None else int((kept_mask & np.isnan(heights)).sum())
    points.time_us[rows], points.zoned[rows] = time_us, zoned_mask
    points.values[rows] = np.column_stack([latitude, longitude, heights])
    for element in group.others:
        points.extras.take(element, rows)
    return kept_mask


def numbers_of(texts: Texts) -> np.ndarray:
    """The numbers, shape (n,), NaN where there is none."""
    values: np.ndarray
    try:
        values = np.array([float(text or "") for text in texts])
    except ValueError:
        values = np.array([_number(text) for text in texts])
    values[~np.isfinite(values)] = np.nan
    return values


def _number(text: str | None) -> float:
    try:
        return float(text or "")
    except ValueError:
        return math.nan
