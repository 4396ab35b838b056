"""An invented road: grade and curves along the way, hills with an authored foot and top, and what slows a rider.

Distance is measured along the road, as a wheel rolls; heights are exact integrals of the slope.
"""

import bisect
import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

# WGS 84, for the local radii of curvature (NIMA TR8350.2)
_SEMI_MAJOR_M, _ECCENTRICITY_2 = 6_378_137.0, 0.00669437999014


@dataclass(frozen=True)
class Stretch:
    """A piece of road with one grade, bent evenly by ``turn_deg`` (positive to the right).

    ``limit_mps`` caps the speed on it, ``None`` leaves it to the rider.
    """

    length_m: float
    grade_pct: float = 0.0
    turn_deg: float = 0.0
    limit_mps: float | None = None


@dataclass(frozen=True)
class Stop:
    """The rider halts at ``at_m`` and waits; ``decel_mps2`` is how firmly this stop is braked for."""

    at_m: float
    wait_s: float = 8.0
    decel_mps2: float = 1.2


@dataclass(frozen=True)
class Bend:
    """The rider takes the road from ``at_m`` on, for ``length_m``, at no more than ``speed_mps``."""

    at_m: float
    speed_mps: float
    length_m: float = 15.0
    decel_mps2: float = 1.0


@dataclass(frozen=True)
class RoadHill:
    """An authored slope: neighbouring stretches that rise, or fall, without a break."""

    start_m: float
    end_m: float
    direction: Literal["up", "down"]
    height_m: float


@dataclass(frozen=True)
class Route:
    """Stretches in riding order and the halts and bends along them.

    Attributes
    ----------
    start_height_m, start_latitude_deg, start_longitude_deg, start_heading_deg : where the road begins
    smooth_m : the grade changes linearly over this length around each joint between two stretches [m]
    """

    stretches: tuple[Stretch, ...]
    stops: tuple[Stop, ...] = ()
    bends: tuple[Bend, ...] = ()
    start_height_m: float = 4.0
    start_latitude_deg: float = 46.5
    start_longitude_deg: float = -32.0
    start_heading_deg: float = 20.0
    smooth_m: float = 20.0

    @property
    def joints_m(self) -> Floats:
        """Distance of the start of each stretch and of the end of the last, shape (n + 1,) [m]."""
        return np.concatenate(([0.0], np.cumsum([stretch.length_m for stretch in self.stretches])))

    @property
    def length_m(self) -> float:
        """Length along the road [m]."""
        return float(self.joints_m[-1])

    def reversed(self) -> "Route":
        """The same road ridden back, without its stops and bends (they differ by direction)."""
        back = tuple(
            replace(stretch, grade_pct=-stretch.grade_pct, turn_deg=-stretch.turn_deg)
            for stretch in reversed(self.stretches)
        )
        road = Road(self)
        latitude, longitude = road.position_deg(np.array([self.length_m]))
        return replace(
            self,
            stretches=back,
            stops=(),
            bends=(),
            start_height_m=float(road.height_m(np.array([self.length_m]))[0]),
            start_latitude_deg=float(latitude[0]),
            start_longitude_deg=float(longitude[0]),
            start_heading_deg=self.start_heading_deg + sum(s.turn_deg for s in self.stretches) + 180.0,
        )

    def there_and_back(self, stops_back: Sequence[Stop] = (), bends_back: Sequence[Bend] = ()) -> "Route":
        """This road and the same road back; distances of ``stops_back`` and ``bends_back`` count from the turn."""
        turned, length = self.reversed(), self.length_m
        turn = Stretch(1e-9, turn_deg=180.0)  # on the spot, while the bike stands
        return replace(
            self,
            stretches=(*self.stretches, turn, *turned.stretches),
            stops=(*self.stops, *(replace(stop, at_m=stop.at_m + length) for stop in stops_back)),
            bends=(*self.bends, *(replace(bend, at_m=bend.at_m + length) for bend in bends_back)),
        )


class Road:
    """A route worked out: slope, height and position at any distance along it.

    The sine of the slope is piecewise linear in distance, so that height is its exact integral.
    """

    def __init__(self, route: Route) -> None:
        self.route = route
        joints = route.joints_m
        sines = np.array([math.sin(math.atan(stretch.grade_pct / 100)) for stretch in route.stretches])
        knots, values = [0.0], [float(sines[0])]
        for index, joint in enumerate(joints[1:-1]):
            shorter = min(route.stretches[index].length_m, route.stretches[index + 1].length_m)
            half = min(route.smooth_m / 2, shorter / 2)
            knots += [float(joint - half), float(joint + half)]
            values += [float(sines[index]), float(sines[index + 1])]
        self.knots_m = np.array([*knots, float(joints[-1])])
        self.sines = np.array([*values, float(sines[-1])])
        rises = np.diff(self.knots_m) * (self.sines[1:] + self.sines[:-1]) / 2
        self._heights_m = route.start_height_m + np.concatenate(([0.0], np.cumsum(rises)))
        self._plan()

    def _plan(self, *, step_m: float = 1.0) -> None:
        """East and north along the road, by midpoint steps of at most ``step_m``."""
        route = self.route
        joints = route.joints_m
        headings = route.start_heading_deg + np.concatenate(([0.0], np.cumsum([s.turn_deg for s in route.stretches])))
        grid = np.unique(np.concatenate([np.arange(0.0, joints[-1], step_m), joints]))
        middles, steps = (grid[1:] + grid[:-1]) / 2, np.diff(grid)
        heading = np.radians(np.interp(middles, joints, headings))
        level = steps * np.sqrt(1 - self.sine(middles) ** 2)
        self._grid_m = grid
        self._marks_m: list[float] = grid.tolist()
        self._headings: list[float] = heading.tolist()
        self._east_m = np.concatenate(([0.0], np.cumsum(level * np.sin(heading))))
        self._north_m = np.concatenate(([0.0], np.cumsum(level * np.cos(heading))))

    def sine(self, distance_m: Floats) -> Floats:
        """Sine of the slope, positive uphill [1]."""
        sine: Floats = np.interp(distance_m, self.knots_m, self.sines)
        return sine

    def height_m(self, distance_m: Floats) -> Floats:
        """Height above the sea [m]."""
        along = np.clip(distance_m, 0.0, self.knots_m[-1])
        index = np.clip(np.searchsorted(self.knots_m, along, side="right") - 1, 0, len(self.knots_m) - 2)
        into = along - self.knots_m[index]
        width = np.maximum(self.knots_m[index + 1] - self.knots_m[index], 1e-12)
        change = (self.sines[index + 1] - self.sines[index]) / width
        height_m: Floats = self._heights_m[index] + into * (self.sines[index] + change * into / 2)
        return height_m

    def heading_rad(self, distance_m: float) -> float:
        """Direction of travel, clockwise from north [rad]."""
        piece = min(max(bisect.bisect_right(self._marks_m, distance_m) - 1, 0), len(self._headings) - 1)
        return self._headings[piece]

    def plan_m(self, distance_m: Floats) -> tuple[Floats, Floats]:
        """East and north of the road's start [m]."""
        east_m, north_m = (np.interp(distance_m, self._grid_m, axis) for axis in (self._east_m, self._north_m))
        return east_m, north_m

    def position_deg(self, distance_m: Floats) -> tuple[Floats, Floats]:
        """Latitude and longitude [°]."""
        return degrees_at(*self.plan_m(distance_m), self.route.start_latitude_deg, self.route.start_longitude_deg)

    def hills(self, *, least_grade_pct: float = 2.0) -> tuple[RoadHill, ...]:
        """Slopes in riding order; a joint of two stretches that are both steep enough is no break."""
        joints = self.route.joints_m

        def way(index: int) -> int:
            grade = self.route.stretches[index].grade_pct
            return int(math.copysign(1, grade)) if abs(grade) >= least_grade_pct else 0

        hills = []
        for direction, group in itertools.groupby(range(len(self.route.stretches)), key=way):
            indices = list(group)
            if direction:
                start, end = float(joints[indices[0]]), float(joints[indices[-1] + 1])
                low, high = self.height_m(np.array([start, end]))
                hills.append(RoadHill(start, end, "up" if direction > 0 else "down", abs(float(high - low))))
        return tuple(hills)


def degrees_at(east_m: Floats, north_m: Floats, latitude_deg: float, longitude_deg: float) -> tuple[Floats, Floats]:
    """Latitude and longitude of points near a place, by the radii of curvature of WGS 84 there [°]."""
    bend = 1 - _ECCENTRICITY_2 * math.sin(math.radians(latitude_deg)) ** 2
    meridian_m = _SEMI_MAJOR_M * (1 - _ECCENTRICITY_2) / bend**1.5
    normal_m = _SEMI_MAJOR_M / math.sqrt(bend)
    latitude = latitude_deg + np.degrees(north_m / meridian_m)
    longitude = longitude_deg + np.degrees(east_m / (normal_m * math.cos(math.radians(latitude_deg))))
    return latitude, longitude
