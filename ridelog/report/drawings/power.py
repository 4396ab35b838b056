"""Battery power over the ride: drawn above zero, returned below it, every peak kept."""

from collections.abc import Iterator

import numpy as np

from ridelog.answer.hills import Hill
from ridelog.answer.ride import Answer
from ridelog.figures.power import electrical_line, time_ticks
from ridelog.figures.reduce import Floats, known_line, reduce_window, split_at_zero
from ridelog.report.drawings.frame import Scale, above, along, marks, rows
from ridelog.report.drawings.svg import WIDE, Drawing, area, curve, fits, path, rule, width_of, words
from ridelog.tell.documents import charts
from ridelog.tell.numbers import Style
from ridelog.tell.ride import hill_mark, power_label

LEFT, RIGHT, TOP, HEIGHT, FOOT = 48, 24, 50, 200, 40


def power_drawing(answer: Answer, style: Style, width: int = WIDE) -> Drawing | None:
    """Battery power, or current where no voltage is known, over the whole ride.

    Parameters
    ----------
    answer : of the ride, with its series
    style : units, digits and separators
    width : of the drawing

    Returns
    -------
    The drawing; ``None`` where neither is known.
    """
    line = electrical_line(answer.series)
    if line is None or len(answer.series) < 2:
        return None
    _, values, unit, name = line
    time_s = answer.series["elapsed_s"].to_numpy(dtype=float)
    known = values[np.isfinite(values)]
    top, bottom = max(float(known.max()), 0.0), min(float(known.min()), 0.0)
    room = 0.05 * max(top - bottom, 1e-3)
    x = Scale(float(time_s[0]), float(time_s[-1]), LEFT, width - RIGHT)
    y = Scale(bottom - (room if bottom < 0 else 0.0), top + room, TOP + HEIGHT, TOP)
    at, said = time_ticks(x.low, x.high, most=9 if width >= WIDE else 4)
    body = [
        above(charts.with_unit_of(name, unit), 4, TOP - 34),
        *rows(y, (LEFT, width - RIGHT), style, most=6),
        *_sides(time_s, values, x, y),
        rule((LEFT, y.at(0.0)), (width - RIGHT, y.at(0.0)), "ink"),
        *_rails(answer.hills, x),
        *marks([x.at(each) for each in at], said, TOP + HEIGHT),
        along(charts.TIME, (LEFT + width - RIGHT) / 2, TOP + HEIGHT + 34),
    ]
    label = power_label(x.low, x.high, answer, style)
    return Drawing("power", charts.power_title(name), label, width, TOP + HEIGHT + FOOT, tuple(body))


def _sides(time_s: Floats, values: Floats, x: Scale, y: Scale) -> Iterator[str]:
    """What was drawn and what was returned, each an area from zero with its line."""
    columns = int(x.end - x.start) // 2
    time_s, values, gap_mask = known_line(time_s, values)
    seen = reduce_window(time_s, values, start=x.low, end=x.high, n_columns=columns, gap_mask=gap_mask)
    at, *sides = split_at_zero(seen.x, seen.y)
    for side, color, opacity in zip(sides, ("drawn", "returned"), (0.45, 0.85), strict=True):
        d = _from_zero(x.all_at(at), y.all_at(side), y.at(0.0))
        if d:
            yield area(d, color, opacity)
            yield curve(d, color, 0.5)


def _from_zero(x: Floats, y: Floats, zero: float) -> str:
    """The outline of each known stretch, from zero and back to it."""
    known = np.concatenate(([False], np.isfinite(y), [False]))
    starts, ends = np.flatnonzero(known[1:] & ~known[:-1]), np.flatnonzero(known[:-1] & ~known[1:])
    stretches = []
    for first, last in zip(starts.tolist(), ends.tolist(), strict=True):
        inside = slice(first, last)
        if np.ptp(np.append(y[inside], zero)) == 0:
            continue
        xs = np.concatenate((x[first : first + 1], x[inside], x[last - 1 : last]))
        stretches.append((xs, np.concatenate(([zero], y[inside], [zero]))))
    if not stretches:
        return ""
    lift = np.array([np.nan])
    whole = [np.concatenate([part for xs in axis for part in (xs, lift)]) for axis in zip(*stretches, strict=True)]
    return path(whole[0], whole[1], closed=True)


def _rails(hills: tuple[Hill, ...], x: Scale) -> Iterator[str]:
    """When each hill was ridden, as a rail above the chart, and its number where there is room."""
    y = TOP - 10
    centres = [x.at((hill.start_s + hill.end_s) / 2) for hill in hills]
    room = fits(centres, [width_of(hill_mark(hill)) for hill in hills])
    for hill, centre, free in zip(hills, centres, room, strict=True):
        color = "drawn" if hill.direction == "up" else "returned"
        yield rule((x.at(hill.start_s), y), (x.at(hill.end_s), y), color, 'stroke-width="3"')
        if free:
            yield words((centre, y - 6), hill_mark(hill), color=color, anchor="middle")
