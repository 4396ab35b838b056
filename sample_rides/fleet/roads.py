"""The roads that the fleet of Quillmoor rides, again and again: one way and the other, over the same hills."""

from dataclasses import dataclass, replace
from functools import cache

import numpy as np

from sample_rides import quillmoor
from sample_rides.route import Bend, Road, Route, Stop, Stretch

_STOP_EVERY_M, _RED = 330.0, 0.6  # a crossing now and then, where six riders of ten have to stop
_APART_M = 60.0  # no bend is so near to a stop


@dataclass(frozen=True)
class Way:
    """A road in one direction, and what is always there: crossings and bends.

    Attributes
    ----------
    name : what the riders call it
    road : worked out, without stops
    crossings_m : where a rider may have to stop [m]
    bends : where everybody slows down
    """

    name: str
    road: Road
    crossings_m: tuple[float, ...]
    bends: tuple[Bend, ...]

    def route(self, rng: np.random.Generator) -> Route:
        """The road as it is met on one ride: some crossings are free."""
        stops = tuple(
            Stop(at_m, float(round(rng.uniform(4, 25))), float(rng.uniform(0.9, 1.5)))
            for at_m in self.crossings_m
            if rng.random() < _RED
        )
        return replace(self.road.route, stops=stops, bends=self.bends)


@cache
def ways() -> tuple[Way, ...]:
    """All ways, the same in every fleet."""
    commute, allotments, errand, winter = (
        scenario().route for scenario in (quillmoor.commute, quillmoor.no_return, quillmoor.errand, quillmoor.winter)
    )
    there = len(commute.stretches) // 2  # then it turns on the spot, and comes back
    school = replace(commute, stretches=commute.stretches[:there], stops=(), bends=())
    ridge = replace(school, stretches=school.stretches[:10])
    down = replace(winter, stretches=(*winter.stretches[:4], Stretch(700, -0.1, 30)), stops=(), bends=())
    up = down.reversed()
    gate = replace(up, stretches=(*up.stretches[:2], Stretch(250, 0.2, -20))).there_and_back()
    quays = replace(errand, stretches=errand.stretches[:8], stops=(), bends=())
    plots = replace(allotments, stops=(), bends=())
    there_and_back = replace(school, stretches=school.stretches[:6]).there_and_back()
    named = (
        ("to the school", school),
        ("home from the school", school.reversed()),
        ("over the Ridge to the allotments", plots),
        ("home from the allotments", plots.reversed()),
        ("up to the Ridge", replace(ridge, stretches=(*ridge.stretches, Stretch(450, -0.3, 35)))),
        ("round the quays", quays),
        ("to Mill flats and back", there_and_back),
        ("to the moor gate and back", gate),
    )
    return tuple(way(name, route, seed) for seed, (name, route) in enumerate(named, start=1))


def way(name: str, route: Route, seed: int) -> Way:
    """A way with bends, and with crossings where it is all but level, by chance but the same every time."""
    rng = np.random.default_rng(seed)
    road = Road(route)
    n = max(2, round(route.length_m / _STOP_EVERY_M))
    places = (np.arange(n) + rng.uniform(0.2, 0.8, n)) * route.length_m / n
    fit = (np.abs(road.sine(places)) < 0.02) & (places > 120) & (places < route.length_m - 120)
    crossings = tuple(float(round(at_m)) for at_m in places[fit])
    bends = tuple(
        Bend(float(round(at_m)), float(rng.uniform(4.0, 5.2)), decel_mps2=float(rng.uniform(0.8, 1.2)))
        for at_m in rng.uniform(150, route.length_m - 150, 4)
        if all(abs(at_m - other) > _APART_M for other in crossings)
    )
    return Way(name, road, crossings, bends)
