"""The points of any GPX document, from its tree: those that are built alike are read together."""

from collections import Counter
from collections.abc import Iterator, Sequence
from typing import Any
from xml.etree import ElementTree

import numpy as np

from ridelog.importers.points.columns import Alike, Element, Points, points_of
from ridelog.importers.xml_text import local_name
from ridelog.lazy import dataclass


def tree_points(root: ElementTree.Element) -> tuple[Points, Counter[str]]:
    """All points with a position and a time, and counts of what was lost, as `points_of` gives them."""
    segments = [segment for track in _inside(root, "trk") for segment in _inside(track, "trkseg")]
    found = [(number, list(point.iter())) for number, part in enumerate(segments) for point in _inside(part, "trkpt")]
    alike: dict[tuple[tuple[Any, ...], tuple[int, ...]], list[int]] = {}
    for row, (_, elements) in enumerate(found):
        # the names of elements in their order, and how many stand in each, tell how they stand in each other
        alike.setdefault((tuple([each.tag for each in elements]), tuple(map(len, elements))), []).append(row)
    segment = np.fromiter((number for number, _ in found), np.int64, len(found))
    groups = (
        _alike([found[row][1] for row in rows], np.array(rows), _Shape(sizes)) for (_, sizes), rows in alike.items()
    )
    return points_of(segment, groups)


def _inside(element: ElementTree.Element, name: str) -> Iterator[ElementTree.Element]:
    """The elements of this name that stand in another."""
    return (child for child in element if local_name(child) == name)


@dataclass(frozen=True)
class _Shape:
    """How many elements stand in each of a point's, in their order."""

    sizes: tuple[int, ...]

    def children(self) -> Iterator[int]:
        """Places of the elements that stand in the point itself."""
        place = 1
        while place < len(self.sizes):
            yield place
            n_open = 1
            while n_open:  # over all that stands in it
                n_open += self.sizes[place] - 1
                place += 1


def _alike(points: Sequence[Sequence[ElementTree.Element]], rows: np.ndarray, shape: _Shape) -> Alike:
    """Points of one shape, each with all of its elements."""
    columns = list(zip(*points, strict=True))
    names = [local_name(column[0]) for column in columns]
    at = {names[place]: place for place in shape.children()}  # the last of a name counts
    others = [
        Element(place, names[place], [each.text for each in column], [_unit(each) for each in column])
        for place, column in enumerate(columns)
        if not shape.sizes[place] and place not in (0, at.get("time"), at.get("ele"))
    ]
    times, heights = ([each.text for each in columns[at[name]]] if name in at else None for name in ("time", "ele"))
    latitudes, longitudes = ([each.get(name) for each in columns[0]] for name in ("lat", "lon"))
    return Alike(rows, latitudes, longitudes, times, heights, others)


def _unit(element: ElementTree.Element) -> str:
    """The unit that an element states; empty where it states none."""
    return (element.get("unit") or element.get("units") or element.get("uom") or "") if element.keys() else ""
