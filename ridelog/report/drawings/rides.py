"""Every ride of a comparison in the order of time: its number with its interval, and the mark of its group."""

from collections.abc import Iterator, Sequence

from ridelog.lazy import dataclass
from ridelog.report.drawings.frame import Scale, above, rows
from ridelog.report.drawings.svg import Drawing, paint, place, rule, shortened, width_of, words
from ridelog.tell.numbers import Style
from ridelog.uncertain.quantity import Quantity

LEFT, RIGHT, TOP, HEIGHT, FOOT = 48, 16, 56, 150, 30
COLORS = ("drawn", "returned", "ink", "soft")
MARKS = 4  # shapes: circle, square, triangle, diamond; groups beyond begin anew


@dataclass(frozen=True)
class Dot:
    """One ride: the number of its group among the groups, what stands below it, and its number."""

    group: int
    label: str
    quantity: Quantity


def rides_drawing(
    key: str, told: tuple[str, str], scale: str, dots: Sequence[Dot], groups: Sequence[str], how: tuple[Style, int]
) -> Drawing:
    """A mark for each ride, with its interval as a line through it.

    Parameters
    ----------
    key : of the drawing
    told : its title and description
    scale : what the scale shows, with its unit
    dots : in the order in which they were ridden
    groups : names, in the order of their numbers
    how : how numbers are written, and how wide the drawing is

    Returns
    -------
    The drawing.
    """
    style, width = how
    ends = [
        end for dot in dots for end in (dot.quantity.value, dot.quantity.low95, dot.quantity.high95) if end is not None
    ]
    room = 0.06 * ((max(ends) - min(ends)) or 1.0)
    y = Scale(min(ends) - room, max(ends) + room, TOP + HEIGHT, TOP)
    step = (width - LEFT - RIGHT) / len(dots)
    body = [
        *_legend(groups, width),
        above(scale, 4, TOP - 14),
        *rows(y, (LEFT, width - RIGHT), style),
        *(part for n, dot in enumerate(dots) for part in _dot(dot, LEFT + step * (n + 0.5), y)),
    ]
    wide = max(width_of(dot.label) for dot in dots) + 4
    every = max(1, -int(-wide // step))
    body += [
        words((LEFT + step * (n + 0.5), TOP + HEIGHT + 18), dot.label, anchor="middle")
        for n, dot in enumerate(dots)
        if n % every == 0
    ]
    return Drawing(key, *told, width, TOP + HEIGHT + FOOT, tuple(body))


def _legend(groups: Sequence[str], width: int) -> Iterator[str]:
    x, whole = 10.0, sum(34 + width_of(name) for name in groups)
    room = max(width_of(name) for name in groups) if whole <= width - x else (width - x) / len(groups) - 34
    for n, name in enumerate(groups):
        called = shortened(name, room)
        yield _mark(n, x, 12)
        yield words((x + 10, 16), called, color="ink")
        x += 34 + width_of(called)


def _dot(dot: Dot, x: float, y: Scale) -> Iterator[str]:
    low, high = dot.quantity.low95, dot.quantity.high95
    if low is not None and high is not None:
        yield rule((x, y.at(low)), (x, y.at(high)), COLORS[dot.group % len(COLORS)], 'stroke-width="1.5"')
    yield _mark(dot.group, x, y.at(dot.quantity.value))


def _mark(group: int, x: float, y: float) -> str:
    """The mark of a group: its shape tells it where a print has no colour."""
    painted = paint(fill=COLORS[group % len(COLORS)])
    shape = group % MARKS
    if shape == 0:
        return f'<circle cx="{place(x)}" cy="{place(y)}" r="4.5" {painted}/>'
    corners = {
        1: ((-4, -4), (4, -4), (4, 4), (-4, 4)),
        2: ((0, -5.5), (5, 4), (-5, 4)),
        3: ((0, -6), (6, 0), (0, 6), (-6, 0)),
    }[shape]
    places = " ".join(f"{place(x + dx)},{place(y + dy)}" for dx, dy in corners)
    if shape == 1:  # hollow, so that two groups differ by more than their outline
        return (
            f'<polygon points="{places}" {paint(fill="sheet", stroke=COLORS[group % len(COLORS)])} stroke-width="2"/>'
        )
    return f'<polygon points="{places}" {painted}/>'
