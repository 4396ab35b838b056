"""The frame of a chart: what turns values into places, the lines of its scales, and their numbers."""

import math
from collections.abc import Iterator, Sequence

import numpy as np

from ridelog.figures.reduce import Floats
from ridelog.lazy import dataclass
from ridelog.report.drawings.svg import rule, words
from ridelog.tell.numbers import Style, fixed


@dataclass(frozen=True)
class Scale:
    """Values from ``low`` to ``high`` along places from ``start`` to ``end``."""

    low: float
    high: float
    start: float
    end: float

    def at(self, value: float) -> float:
        """The place of a value."""
        return self.start + (value - self.low) / ((self.high - self.low) or 1.0) * (self.end - self.start)

    def all_at(self, values: Floats) -> Floats:
        """The places of many values."""
        places: Floats = self.start + (values - self.low) / ((self.high - self.low) or 1.0) * (self.end - self.start)
        return places


def ticks(low: float, high: float, most: int = 6) -> list[float]:
    """Round values within a range, at a step of 1, 2 or 5 times a power of ten.

    Parameters
    ----------
    low, high : the range
    most : of them

    Returns
    -------
    In order.
    """
    span = high - low
    if not span > 0:
        return [low]
    size = 10.0 ** math.floor(math.log10(span / most))
    step = next(size * each for each in (1, 2, 5, 10, 20) if span / (size * each) <= most)
    first = math.ceil(low / step - 1e-9)
    return [float(each) * step for each in np.arange(first, math.floor(high / step + 1e-9) + 1)]


def labels(values: Sequence[float], style: Style) -> list[str]:
    """Numbers of a scale, all with the decimals that its step needs."""
    step = min(np.diff(values), default=1.0)
    decimals = max(0, -math.floor(math.log10(step) + 1e-9)) if step > 0 else 0
    return [fixed(value, decimals, style) for value in values]


def rows(scale: Scale, span: tuple[float, float], style: Style, *, most: int = 5, lines: bool = True) -> Iterator[str]:
    """The lines of a scale that runs upward, with their numbers on the left.

    Parameters
    ----------
    scale : of y
    span : least and greatest x of the lines
    style : how numbers are written
    most : of the lines
    lines : whether they are drawn; else their numbers alone

    Returns
    -------
    SVG, mark by mark.
    """
    values = ticks(scale.low, scale.high, most)
    for value, said in zip(values, labels(values, style), strict=True):
        y = scale.at(value)
        if lines:
            yield rule((span[0], y), (span[1], y), "line")
        yield words((span[0] - 6, y + 4), said, anchor="end")


def feet(scale: Scale, y: float, style: Style, *, most: int = 10) -> Iterator[str]:
    """The numbers of a scale that runs to the right, below it.

    Parameters
    ----------
    scale : of x
    y : of the axis
    style : how numbers are written
    most : of the numbers

    Returns
    -------
    SVG, mark by mark.
    """
    values = ticks(scale.low, scale.high, most)
    yield from marks([scale.at(value) for value in values], labels(values, style), y)


def marks(places: Sequence[float], said: Sequence[str], y: float) -> Iterator[str]:
    """Short strokes below an axis, and what each says.

    Parameters
    ----------
    places : x of each
    said : words of each
    y : of the axis

    Returns
    -------
    SVG, mark by mark.
    """
    for x, label in zip(places, said, strict=True):
        yield rule((x, y), (x, y + 4), "soft")
        yield words((x, y + 17), label, anchor="middle")


def along(said: str, middle: float, y: float) -> str:
    """What a scale that runs to the right shows.

    Parameters
    ----------
    said : the words
    middle : their middle
    y : of the line that they stand on

    Returns
    -------
    SVG.
    """
    return words((middle, y), said, anchor="middle")


def above(said: str, x: float, y: float) -> str:
    """What a scale that runs upward shows, over its upper end.

    Parameters
    ----------
    said : the words
    x : where they begin
    y : of the line that they stand on

    Returns
    -------
    SVG.
    """
    return words((x, y), said)
