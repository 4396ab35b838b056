"""The way seen from above, in metres from its start, where charge came back drawn thick; or those of several rides."""

from collections.abc import Iterator, Sequence

import numpy as np

from ridelog.answer.ride import Answer
from ridelog.figures.reduce import Floats
from ridelog.figures.track import way_from_above
from ridelog.report.drawings.frame import Scale, above, along, feet, rows
from ridelog.report.drawings.svg import WIDE, Drawing, curve, paint, path, place, words
from ridelog.tell.documents import charts
from ridelog.tell.kinds import LENGTH
from ridelog.tell.numbers import Style, unit_of
from ridelog.tell.ride import track_label

LEFT, RIGHT, TOP, FOOT = 58, 24, 30, 40
HIGHEST, LOWEST, HIGHEST_OF_SEVERAL = 340, 150, 250  # of the map
N_STEPS = 700  # places of a way, besides those where the return begins and ends
Marked = tuple[str, Floats, Floats]  # a mark, and east and north of a stretch of road [m]
SAME = 0.04  # of the extent: start and end nearer than that are one mark


def track_drawing(answer: Answer, style: Style, width: int = WIDE) -> Drawing | None:
    """The track of a ride, north up, both ways to one scale.

    Parameters
    ----------
    answer : of the ride, with its series
    style : units, digits and separators
    width : of the drawing

    Returns
    -------
    The drawing; ``None`` without positions.
    """
    way = way_from_above(answer, n_steps=N_STEPS if width >= WIDE else N_STEPS // 2)
    if way is None:
        return None
    factor = unit_of(LENGTH, style).factor
    east, north, on = way[0] * factor, way[1] * factor, way[2]
    x, y = _scales(east, north, width)
    height = int(y.start)
    px, py = x.all_at(east), y.all_at(north)
    thick = path(np.where(on, px, np.nan), np.where(on, py, np.nan))
    body = [
        above(charts.north(style), 4, TOP - 14),
        *rows(y, (LEFT, width - RIGHT), style, most=6),
        curve(path(px, py), "ink", 1.1),
        *([curve(thick, "returned", 5, 'stroke-linecap="round" stroke-opacity="0.85"')] if thick else []),
        *_ends(px, py),
        *feet(x, height, style, most=7 if width >= WIDE else 3),
        along(charts.east(style), (LEFT + width - RIGHT) / 2, height + 34),
    ]
    return Drawing("map", charts.MAP, track_label(answer, style), width, height + FOOT, tuple(body))


def ways_drawing(
    ways: Sequence[tuple[Floats, Floats]], style: Style, said: str, hills: Sequence[Marked] = (), width: int = WIDE
) -> Drawing:
    """The ways of several rides over each other, north up, both ways to one scale.

    Parameters
    ----------
    ways : east and north of where the first of them starts, shape (n,) each [m]
    style : units, digits and separators
    said : what it shows, for who does not see it
    hills : that are drawn thick, each with its mark
    width : of the drawing

    Returns
    -------
    The drawing, the ends of the first way marked.
    """
    factor = unit_of(LENGTH, style).factor
    scaled = [(east * factor, north * factor) for east, north in ways]
    every = [np.concatenate(each) for each in zip(*scaled, strict=True)]
    x, y = _scales(every[0], every[1], width, HIGHEST_OF_SEVERAL)
    places = [(x.all_at(east), y.all_at(north)) for east, north in scaled]
    body = [
        above(charts.north(style), 4, TOP - 14),
        *rows(y, (LEFT, width - RIGHT), style, most=6),
        *(part for hill in hills for part in _marked(hill, x, y, factor)),
        *(curve(path(px, py), "ink", 1.1) for px, py in places),
        *_ends(*places[0]),
        *feet(x, int(y.start), style, most=7 if width >= WIDE else 3),
        along(charts.east(style), (LEFT + width - RIGHT) / 2, int(y.start) + 34),
    ]
    return Drawing("map", charts.MAP, said, width, int(y.start) + FOOT, tuple(body))


def _marked(hill: Marked, x: Scale, y: Scale, factor: float) -> Iterator[str]:
    """A hill as a thick line under the ways, its mark beside its middle."""
    px, py = x.all_at(hill[1] * factor), y.all_at(hill[2] * factor)
    yield curve(path(px, py), "returned", 6, 'stroke-linecap="round" stroke-opacity="0.6"')
    middle = len(px) // 2
    yield words((float(px[middle]) + 9, float(py[middle]) + 4), hill[0], color="ink")


def _scales(east: Floats, north: Floats, width: int, highest: int = HIGHEST) -> tuple[Scale, Scale]:
    """Both axes to one scale, the way in the middle."""
    spans = [max(float(np.nanmax(each) - np.nanmin(each)), 1.0) * 1.08 for each in (east, north)]
    middles = [float(np.nanmax(each) + np.nanmin(each)) / 2 for each in (east, north)]
    room = width - LEFT - RIGHT
    height = min(max(room * spans[1] / spans[0], LOWEST), highest)
    per_place = max(spans[0] / room, spans[1] / height)
    half_x, half_y = per_place * room / 2, per_place * height / 2
    return (
        Scale(middles[0] - half_x, middles[0] + half_x, LEFT, width - RIGHT),
        Scale(middles[1] - half_y, middles[1] + half_y, TOP + height, TOP),
    )


def _ends(x: Floats, y: Floats) -> Iterator[str]:
    """Where the ride starts and ends."""
    known = np.flatnonzero(np.isfinite(x))
    first, last = int(known[0]), int(known[-1])
    extent = max(float(np.ptp(x[known])), float(np.ptp(y[known])))
    same = bool(np.hypot(x[first] - x[last], y[first] - y[last]) < SAME * extent)
    for index, said in ((first, charts.BOTH_ENDS),) if same else ((first, charts.START), (last, charts.END)):
        at = f'cx="{place(float(x[index]))}" cy="{place(float(y[index]))}" r="4.5"'
        yield f'<circle {at} {paint(fill="sheet", stroke="ink")} stroke-width="2"/>'
        left = x[index] > (LEFT + WIDE) / 2 if len(x) else False
        offset, anchor = (-9, "end") if left else (9, "start")
        yield words((float(x[index]) + offset, float(y[index]) - 8), said, color="ink", anchor=anchor)
