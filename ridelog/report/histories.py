"""The rides of a bike over time as a drawing: what each gave back, and since when something stands out."""

import math
from collections.abc import Iterator, Sequence
from datetime import datetime, timedelta

import numpy as np

from ridelog.fleet.record import BikeAudit
from ridelog.lazy import dataclass
from ridelog.report.sheet import text
from ridelog.tell.kinds import PERCENTAGE, Kind, Unit
from ridelog.tell.numbers import Style, measured, plain, unit_of
from ridelog.tell.times import day
from ridelog.uncertain.quantity import Quantity

HEIGHT = 150
LEFT, RIGHT, TOP, BOTTOM = 46, 8, 10, 22  # margins, of the scale and of the dates
WITHIN = 6  # between the ends of the scale and the first and last ride
FEWEST = 3  # rides that make a history


@dataclass(frozen=True)
class Point:
    """One ride in a history: what it is called, when it was, and what it gave, where that is known."""

    name: str
    start: datetime
    value: Quantity | None


@dataclass(frozen=True)
class Told:
    """What a history is called, what of, in words, and in which kind of number."""

    title: str
    of: str
    kind: Kind = PERCENTAGE
    mean: Quantity | None = None


def history(bike: BikeAudit, style: Style) -> str:
    """The history of one bike as HTML with an SVG.

    Parameters
    ----------
    bike : with its rides
    style : units, digits and separators

    Returns
    -------
    Empty where fewer than three rides know when they were and what they gave back.
    """
    points = [Point(one.name, one.start, one.recovered_pct) for one in bike.history if one.start is not None]
    told = Told(f"{bike.bike}: what each ride gave back", "Recovered share", mean=bike.recovered_pct)
    return history_of(told, points, [one.since for one in bike.stands_out if one.since is not None], style)


def history_of(told: Told, points: Sequence[Point], since: Sequence[datetime], style: Style) -> str:
    """Rides over time, each with its interval, as HTML with an SVG.

    Parameters
    ----------
    told : what it shows
    points : by their start
    since : days to be marked
    style : units, digits and separators

    Returns
    -------
    Empty where fewer than three points have a value.
    """
    if sum(one.value is not None for one in points) < FEWEST:
        return ""
    drawing = _Drawing(points, since, unit_of(told.kind, style))
    body = "".join([*drawing.grid(style), *drawing.since(), *drawing.rides(told.kind, style)])
    label = text(_in_words(told, points, style))
    drawn = f'<svg width="100%" height="{HEIGHT}" role="img" aria-label="{label}">{body}</svg>'
    return f'<section class="history"><h3>{text(told.title)}</h3>{drawn}</section>'


def _in_words(told: Told, points: Sequence[Point], style: Style) -> str:
    span = f"{day(points[0].start)} to {day(points[-1].start)}"
    mean = "" if told.mean is None else f"; mean {measured(told.mean, told.kind, style)}"
    unknown = sum(one.value is None for one in points)
    aside = f", not known of {unknown} of them" if unknown else ""
    return f"{told.of} of {len(points)} rides{aside}, {span}{mean}"


def _at(place: float) -> float:
    """A place of the drawing, to a tenth of its unit."""
    return round(place, 1)


class _Drawing:
    """Places of the drawing: time from left to right, the value from the bottom up.

    It is as wide as there is room, and its letters keep their size: a place is a share of all the width, moved by what
    that share has of the margins.
    """

    def __init__(self, points: Sequence[Point], since: Sequence[datetime], unit: Unit) -> None:
        self._points, self._since, self._unit = points, since, unit
        self._first, self._last = min(one.start for one in points), max(one.start for one in points)
        highest = unit.factor * max(each.value if each.high95 is None else each.high95 for each in self._values())
        self._step = _step(highest)
        self._most: float = self._step * max(math.ceil(highest / self._step), 1)

    def _values(self) -> list[Quantity]:
        return [one.value for one in self._points if one.value is not None]

    def _x(self, when: datetime, moved: float = 0.0) -> tuple[str, str]:
        """A place, and how what stands there is moved."""
        share = (when - self._first).total_seconds() / max((self._last - self._first).total_seconds(), 1.0)
        first, last = LEFT + WITHIN, RIGHT + WITHIN
        return f"{round(100 * share, 2)}%", f"translate({_at(first - share * (first + last) + moved)})"

    def _y(self, shown: float) -> float:
        return HEIGHT - BOTTOM - (HEIGHT - TOP - BOTTOM) * min(shown, self._most) / self._most

    def grid(self, style: Style) -> Iterator[str]:
        """Lines of the scale, and the first and the last day."""
        for shown in np.arange(0.0, self._most + self._step / 2, self._step):
            y = self._y(float(shown))
            said = f"{plain(float(shown), 3, style)}&#8239;{text(self._unit.symbol)}"
            yield f'<line class="grid" x1="{LEFT}" x2="100%" y1="{_at(y)}" y2="{_at(y)}"/>'
            yield f'<text x="{LEFT - 5}" y="{_at(y + 4)}" text-anchor="end">{said}</text>'
        yield f'<text x="{LEFT}" y="{HEIGHT - 5}">{day(self._first)}</text>'
        yield f'<text x="100%" y="{HEIGHT - 5}" text-anchor="end">{day(self._last)}</text>'

    def since(self) -> Iterator[str]:
        """A line for each day since which something stands out."""
        for when in sorted(set(self._since)):
            if self._first <= when <= self._last + timedelta(days=1):
                (x, moved), ends = self._x(when, -3), f'y1="{TOP}" y2="{HEIGHT - BOTTOM}"'
                yield f'<line class="since" x1="{x}" x2="{x}" {ends} transform="{moved}"/>'

    def rides(self, kind: Kind, style: Style) -> Iterator[str]:
        """A dot for each ride, its interval as a line through it, or a cross; each says what it is under a pointer."""
        factor = self._unit.factor
        for one in self._points:
            value, (x, moved) = one.value, self._x(one.start)
            told = "not known" if value is None else measured(value, kind, style)
            title = text(f"{one.name}, {day(one.start)}: {told}")
            if value is None:
                yield f'<g transform="{moved}"><title>{title}</title>{_cross(x, self._y(0.0))}</g>'
                continue
            whisker = ""
            if value.low95 is not None and value.high95 is not None:
                low, high = self._y(max(value.low95 * factor, 0.0)), self._y(value.high95 * factor)
                whisker = f'<line class="whisker" x1="{x}" x2="{x}" y1="{_at(low)}" y2="{_at(high)}"/>'
            dot = f'<circle class="dot" cx="{x}" cy="{_at(self._y(value.value * factor))}" r="3.2"/>'
            yield f'<g transform="{moved}"><title>{title}</title>{whisker}{dot}</g>'


def _cross(x: str, y: float) -> str:
    """The mark of a ride of which nothing is known, on the line of 0."""
    lines = '<path class="unknown" d="M-3.2-3.2L3.2 3.2M-3.2 3.2L3.2-3.2"/>'
    return f'<svg x="{x}" y="{_at(y)}" width="1" height="1">{lines}</svg>'


def _step(highest: float) -> float:
    """A round step of the scale, of which two to five make it up."""
    for step in (0.1, 0.2, 0.5, 1.0, 2.0, 5.0, 10.0, 20.0):
        if highest <= 4 * step:
            return step
    return 50.0
