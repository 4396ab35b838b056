"""Height along the road, each hill filled in, and below it what the hill took going up and gave back going down."""

from collections.abc import Iterator

import numpy as np

from ridelog.answer.hills import Hill
from ridelog.answer.ride import Answer
from ridelog.figures.profile import heights_along
from ridelog.figures.reduce import Floats, reduce_window
from ridelog.lazy import dataclass
from ridelog.report.drawings.frame import Scale, above, along, feet, rows
from ridelog.report.drawings.svg import (
    WIDE,
    Drawing,
    area,
    box,
    curve,
    fits,
    hatch,
    paint,
    path,
    rule,
    width_of,
    words,
)
from ridelog.tell.documents import charts
from ridelog.tell.kinds import ENERGY, HEIGHT, ROAD
from ridelog.tell.numbers import Style, converted, number, unit_of
from ridelog.tell.ride import hill_mark, profile_label
from ridelog.uncertain.quantity import Quantity

LEFT, RIGHT = 48, 24
TOP, ROAD_HEIGHT, ENERGY_HEIGHT, GAP, FOOT = 40, 130, 62, 30, 40


@dataclass(frozen=True)
class _Ground:
    """The road in places of the drawing, and what turns distances and energies into them."""

    x: Scale
    y: Scale
    distance: Floats
    height: Floats

    def line(self, start: float, end: float) -> tuple[Floats, Floats]:
        """Places of the road from one distance to another."""
        inside = (self.distance > start) & (self.distance < end)
        x = np.concatenate(([start], self.distance[inside], [end]))
        y = np.interp(x, self.distance, self.height)
        return self.x.all_at(x), self.y.all_at(y)


def profile_drawing(answer: Answer, style: Style, width: int = WIDE) -> Drawing | None:
    """The profile of a ride with its hills.

    Parameters
    ----------
    answer : of the ride, with its series
    style : units, digits and separators
    width : of the drawing

    Returns
    -------
    The drawing; ``None`` where no height is known.
    """
    known = heights_along(answer)
    if known is None:
        return None
    ground = _ground(known, style, width)
    energies = _energies(answer.hills)
    foot = TOP + ROAD_HEIGHT + (GAP + ENERGY_HEIGHT if energies else 0)
    body = [
        hatch(_pattern(width), "returned"),
        above(charts.height(style), 4, TOP - 26),
        *rows(ground.y, (LEFT, width - RIGHT), style, most=4),
        *_road(ground),
        *(part for hill in answer.hills for part in _hill(hill, ground, style, width)),
        curve(path(*ground.line(ground.x.low, ground.x.high)), "ink", 1.5),
        *_names(answer.hills, ground, style),
        *(_bars(answer.hills, ground, style, width) if energies else ()),
        *feet(ground.x, foot, style, most=10 if width >= WIDE else 5),
        along(charts.distance(style), (LEFT + width - RIGHT) / 2, foot + 34),
    ]
    label = charts.profile_description(profile_label(answer, style), energies=energies)
    return Drawing("profile", charts.PROFILE, label, width, foot + FOOT, tuple(body))


def _ground(known: tuple[Floats, Floats], style: Style, width: int) -> _Ground:
    road, height = unit_of(ROAD, style), unit_of(HEIGHT, style)
    seen = reduce_window(*known, start=known[0][0], end=known[0][-1], n_columns=(width - LEFT - RIGHT) // 4)
    distance, heights = seen.x * road.factor, seen.y * height.factor
    low, high = float(np.nanmin(heights)), float(np.nanmax(heights))
    room = max(high - low, 10.0 * height.factor)
    x = Scale(float(distance[0]), float(distance[-1]), LEFT, width - RIGHT)
    return _Ground(x, Scale(low - 0.1 * room, high + 0.05 * room, TOP + ROAD_HEIGHT, TOP), distance, heights)


def _pattern(width: int) -> str:
    return f"profile-hatch-{width}"


def _road(ground: _Ground) -> Iterator[str]:
    x, y = ground.line(ground.x.low, ground.x.high)
    yield area(_down_to(x, y, ground.y.start), "ink", 0.06)


def _down_to(x: Floats, y: Floats, floor: float) -> str:
    return path(np.concatenate((x[:1], x, x[-1:])), np.concatenate(([floor], y, [floor])), closed=True)


def _ends(hill: Hill, style: Style) -> tuple[float, float]:
    factor = unit_of(ROAD, style).factor
    return hill.start_m * factor, hill.end_m * factor


def _hill(hill: Hill, ground: _Ground, style: Style, width: int) -> Iterator[str]:
    """A hill under the road: ochre ridden up, hatched blue-green ridden down."""
    d = _down_to(*ground.line(*_ends(hill, style)), ground.y.start)
    if hill.direction == "up":
        yield area(d, "drawn", 0.38)
    else:
        yield f'<path d="{d}" fill="url(#{_pattern(width)})"/>'


def _names(hills: tuple[Hill, ...], ground: _Ground, style: Style) -> Iterator[str]:
    """The number of each hill above it, as far as there is room."""
    named = [(hill, ground.line(*_ends(hill, style))) for hill in hills]
    centres = [float(x[0] + x[-1]) / 2 for _, (x, _) in named]
    room = fits(centres, [width_of(hill_mark(hill)) for hill, _ in named])
    for (hill, (_, y)), centre, free in zip(named, centres, room, strict=True):
        if free:
            yield words((centre, float(y.min()) - 6), hill_mark(hill), color=_color(hill), anchor="middle")


def _color(hill: Hill) -> str:
    return "drawn" if hill.direction == "up" else "returned"


def _energies(hills: tuple[Hill, ...]) -> bool:
    return any(hill.drawn_wh or hill.returned_wh or hill.available_wh for hill in hills)


def _bars(hills: tuple[Hill, ...], ground: _Ground, style: Style, width: int) -> Iterator[str]:
    """Below each hill what it took, or what it had available as an outline around what it gave back."""
    floor = TOP + ROAD_HEIGHT + GAP + ENERGY_HEIGHT
    most = max(
        (each.value for hill in hills for each in _told(hill) if each is not None),
        default=1.0,
    )
    y = Scale(0.0, max(most, 1e-9), floor, floor - ENERGY_HEIGHT + 14)
    yield above(charts.energy(style), 4, floor - ENERGY_HEIGHT - 8)
    spans = [tuple(ground.x.at(each) for each in _ends(hill, style)) for hill in hills]
    said = [_said(hill, style) for hill in hills]
    room = all(fits([(a + b) / 2 for a, b in spans], [width_of(each) for each in said]))  # else the table tells them
    yield from rows(y, (LEFT, width - RIGHT), style, most=2, lines=not room)  # which would run through the numbers
    for hill, (start, end), label in zip(hills, spans, said, strict=True):
        outer, inner = _told(hill)
        top = float(floor)
        for quantity, solid in ((outer, hill.direction == "up"), (inner, False)):
            if quantity is None or quantity.value <= 0:
                continue
            top = min(top, y.at(quantity.value))
            corner, size = (start, y.at(quantity.value)), (max(end - start, 2.0), floor - y.at(quantity.value))
            if solid:
                yield box(corner, size, paint(fill="drawn"))
            elif quantity is outer:
                yield box(corner, size, paint(stroke="returned"))
            else:
                yield box(corner, size, f'fill="url(#{_pattern(width)})"')
                yield box(corner, size, paint(stroke="returned"))
        if room and label:
            yield words(((start + end) / 2, top - 4), label, color=_color(hill), anchor="middle")
    yield rule((LEFT, floor), (width - RIGHT, floor), "soft")


def _told(hill: Hill) -> tuple[Quantity | None, Quantity | None]:
    """What stands as the outer and as the inner bar of a hill."""
    return (hill.drawn_wh, None) if hill.direction == "up" else (hill.available_wh, hill.returned_wh)


def _said(hill: Hill, style: Style) -> str:
    energy = hill.drawn_wh if hill.direction == "up" else hill.returned_wh
    return "" if energy is None else number(converted(energy.value, ENERGY, style), style, digits=2)
