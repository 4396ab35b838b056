"""The rides of a bike over time as a drawing: what each gave back, and since when something stands out."""

import math
from collections.abc import Iterator, Sequence
from datetime import datetime, timedelta

import numpy as np

from ridelog.fleet.record import BikeAudit, RidePoint
from ridelog.report.sheet import text
from ridelog.tell.kinds import PERCENTAGE
from ridelog.tell.numbers import Style, measured, plain
from ridelog.tell.times import day

WIDTH, HEIGHT = 736, 150
LEFT, RIGHT, TOP, BOTTOM = 38, 8, 10, 22  # margins, of the scale and of the dates
FEWEST = 3  # rides that make a history


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
    points = [one for one in bike.history if one.start is not None and one.recovered_pct is not None]
    if len(points) < FEWEST:
        return ""
    drawing = _Drawing(points, [one.since for one in bike.stands_out if one.since is not None])
    body = "".join([*drawing.grid(), *drawing.since(), *drawing.rides(style)])
    title = f"{bike.bike}: what each ride gave back"
    label = text(_in_words(bike, points, style))
    drawn = f'<svg viewBox="0 0 {WIDTH} {HEIGHT}" role="img" aria-label="{label}">{body}</svg>'
    return f'<section class="history"><h3>{text(title)}</h3>{drawn}</section>'


def _in_words(bike: BikeAudit, points: Sequence[RidePoint], style: Style) -> str:
    first, last = points[0].start, points[-1].start
    span = f"{day(first)} to {day(last)}" if first is not None and last is not None else ""
    mean = measured(bike.recovered_pct, PERCENTAGE, style)
    return f"Recovered share of {len(points)} rides, {span}; mean {mean}"


def _at(place: float) -> float:
    """A place of the drawing, to a tenth of its unit."""
    return round(place, 1)


class _Drawing:
    """Places of the drawing: time from left to right, recovered share from the bottom up."""

    def __init__(self, points: Sequence[RidePoint], since: Sequence[datetime]) -> None:
        self._points, self._since = points, since
        starts = [one.start for one in points if one.start is not None]
        self._first, self._last = min(starts), max(starts)
        shares = [one.recovered_pct for one in points if one.recovered_pct is not None]
        highest = max(share.value if share.high95 is None else share.high95 for share in shares)
        self._step = _step(highest)
        self._most: float = self._step * max(math.ceil(highest / self._step), 1)

    def _x(self, when: datetime) -> float:
        span_s = max((self._last - self._first).total_seconds(), 1.0)
        return LEFT + 6 + (WIDTH - LEFT - RIGHT - 12) * (when - self._first).total_seconds() / span_s

    def _y(self, share_pct: float) -> float:
        return HEIGHT - BOTTOM - (HEIGHT - TOP - BOTTOM) * min(share_pct, self._most) / self._most

    def grid(self) -> Iterator[str]:
        """Lines of the scale, and the first and the last day."""
        for share in np.arange(0.0, self._most + self._step / 2, self._step):
            y = self._y(float(share))
            yield f'<line class="grid" x1="{LEFT}" x2="{WIDTH - RIGHT}" y1="{_at(y)}" y2="{_at(y)}"/>'
            yield f'<text x="{LEFT - 5}" y="{_at(y + 4)}" text-anchor="end">{plain(float(share), 3)}&#8239;%</text>'
        yield f'<text x="{LEFT}" y="{HEIGHT - 5}">{day(self._first)}</text>'
        yield f'<text x="{WIDTH - RIGHT}" y="{HEIGHT - 5}" text-anchor="end">{day(self._last)}</text>'

    def since(self) -> Iterator[str]:
        """A line for each day since which something stands out."""
        for when in sorted(set(self._since)):
            if self._first <= when <= self._last + timedelta(days=1):
                x = self._x(when) - 3
                yield f'<line class="since" x1="{_at(x)}" x2="{_at(x)}" y1="{TOP}" y2="{HEIGHT - BOTTOM}"/>'

    def rides(self, style: Style) -> Iterator[str]:
        """A dot for each ride, its interval as a line through it; both say what they are where a pointer rests."""
        for one in self._points:
            share = one.recovered_pct
            if one.start is None or share is None:
                continue
            x, title = self._x(one.start), text(f"{one.name}, {day(one.start)}: {measured(share, PERCENTAGE, style)}")
            whisker = ""
            if share.low95 is not None and share.high95 is not None:
                low, high = self._y(max(share.low95, 0.0)), self._y(share.high95)
                whisker = f'<line class="whisker" x1="{_at(x)}" x2="{_at(x)}" y1="{_at(low)}" y2="{_at(high)}"/>'
            dot = f'<circle class="dot" cx="{_at(x)}" cy="{_at(self._y(share.value))}" r="3.2"/>'
            yield f"<g><title>{title}</title>{whisker}{dot}</g>"


def _step(highest: float) -> float:
    """A round step of the scale, of which two to five make it up."""
    for step in (0.1, 0.2, 0.5, 1.0, 2.0, 5.0, 10.0, 20.0):
        if highest <= 4 * step:
            return step
    return 50.0
