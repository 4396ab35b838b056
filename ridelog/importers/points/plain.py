"""A plainly written GPX document, taken apart without a tree: its tags and texts as lists.

Most documents are written by a program, one point like the next, so that lists of tags repeat themselves. Where
anything is not plain, the document is left to the reader of the tree, which knows all of XML.
"""

from collections import Counter
from collections.abc import Sequence
from xml.parsers import expat

import numpy as np

from ridelog.importers.points.columns import Alike, Element, Points, points_of

_HEAD, _END = "trkpt ", "/trkpt"
_FREE_RUNS, _LEAST_POINTS_A_RUN = 50, 20  # shorter runs of points that are built alike are no gain


class _NotPlainError(Exception):
    """The tree must tell."""


def plain_points(document: str) -> tuple[Points, Counter[str]] | None:
    """The points of a document and counts of what was lost, as `points_of` gives them; ``None`` if it is not plain.

    Parameters
    ----------
    document : without the declaration of its encoding
    """
    if any(mark in document for mark in ("<!", "<?", "&")) or document.count("<") != document.count(">"):
        return None  # document types, comments, references; a bracket in a text or in an attribute
    try:
        expat.ParserCreate("utf-8", "}").Parse(document, True)
    except expat.ExpatError:
        return None
    parts = document.replace(">", "<").split("<")
    tags, texts = parts[1::2], parts[2::2]
    del parts
    try:
        return _read(tags, texts)
    except (_NotPlainError, ValueError):  # ValueError: a point without an end of its own
        return None


def _read(tags: Sequence[str], texts: Sequence[str]) -> tuple[Points, Counter[str]]:
    """The points of a document that is well formed: its tags, and the text behind each."""
    around = _Around()
    groups: list[Alike] = []
    segments: list[tuple[int, int]] = []  # number, how many points follow each other there
    n_points, place = 0, around.passed_over(tags, 0)
    while place < len(tags):
        size = tags.index(_END, place) + 1 - place
        n = _n_alike(tags, place, size)
        end = place + n * size
        columns = [slice(place + k, end, size) for k in range(size)]
        groups.append(_alike(tags, texts, columns, np.arange(n_points, n_points + n)))
        segments.append((around.segment(), n))
        n_points += n
        if len(groups) > _FREE_RUNS + n_points // _LEAST_POINTS_A_RUN:
            raise _NotPlainError
        place = around.passed_over(tags, end)
    return points_of(np.repeat(*np.array(segments, dtype=np.int64).reshape(-1, 2).T), groups)


def _n_alike(tags: Sequence[str], place: int, size: int) -> int:
    """How many points of as many tags follow each other, by their ends."""
    n = step = 1
    while step:
        ends = tags[place + size * (n + 1) - 1 : place + size * (n + step) : size]
        if len(ends) == step and ends.count(_END) == step:
            n, step = n + step, 2 * step
        else:
            step //= 2
    return n


class _Around:
    """What is open around the points, and the number of the segment."""

    def __init__(self) -> None:
        self._open: list[str] = []
        self._n_segments = 0

    def passed_over(self, tags: Sequence[str], place: int) -> int:
        """Follow the tags to the next point, or to the end; its place."""
        for at in range(place, len(tags)):
            tag = tags[at]
            if tag.startswith(_HEAD):
                return at
            if tag.startswith("/"):
                self._open.pop()
                continue
            name = _name(tag)
            if name == "trkpt":
                raise _NotPlainError
            self._open.append(name)
            self._n_segments += self._is_segment()
            if tag.endswith("/"):
                self._open.pop()
        return len(tags)

    def _is_segment(self) -> bool:
        return self._open[1:] == ["trk", "trkseg"]

    def segment(self) -> int:
        """Number of the segment in which a point stands here, from 0."""
        if not self._is_segment():
            raise _NotPlainError
        return self._n_segments - 1


def _name(tag: str) -> str:
    """Name of an opening tag, without namespace and attributes."""
    return tag.rstrip("/").split(None, 1)[0].rpartition(":")[2]


def _alike(tags: Sequence[str], texts: Sequence[str], columns: Sequence[slice], rows: np.ndarray) -> Alike:
    """Points that follow each other, from the same tag of each of them."""
    built = [tags[columns[0]][0]]
    for column in columns[1:]:
        same = tags[column]
        if same.count(same[0]) != len(same):
            raise _NotPlainError
        built.append(same[0])
    at: dict[str, int] = {}  # of the elements that stand in the point itself, the last of a name counts
    leaves, depth = [], 0
    for place, tag in enumerate(built[1:-1], start=1):
        if tag.startswith("/"):
            depth -= 1
            continue
        if (name := _name(tag)) == "trkpt":
            raise _NotPlainError
        if depth == 0:
            at[name] = place
        depth += not tag.endswith("/")
        if tag.endswith("/") or built[place + 1].startswith("/"):
            leaves.append(place)
    others = []
    for place in leaves:
        if place in (at.get("time"), at.get("ele")) or built[place].endswith("/"):
            continue
        if len(built[place].split(None, 1)) > 1:  # attributes may state a unit
            raise _NotPlainError
        others.append(Element(place, _name(built[place]), texts[columns[place]]))
    latitudes, longitudes = _positions(tags[columns[0]])
    times, heights = (
        None if name not in at else [""] * len(rows) if built[at[name]].endswith("/") else texts[columns[at[name]]]
        for name in ("time", "ele")
    )
    return Alike(rows, latitudes, longitudes, times, heights, others)


def _positions(heads: Sequence[str]) -> tuple[Sequence[str], Sequence[str]]:
    """Latitudes and longitudes: the two attributes that the opening tags of points have."""
    parts = "\n".join(heads).split('"')
    names = [parts[0].removeprefix(_HEAD).strip(), parts[2].strip() if len(parts) > 2 else ""]
    between, behind = parts[2::4], parts[4:-1:4]
    is_plain = (
        len(parts) == 4 * len(heads) + 1
        and set(names) == {"lat=", "lon="}
        and between.count(between[0]) == len(between)
        and behind.count("\n" + parts[0]) == len(behind)
        and not parts[-1]
    )
    if not is_plain:
        raise _NotPlainError
    values = dict(zip(names, (parts[1::4], parts[3::4]), strict=True))
    return values["lat="], values["lon="]
