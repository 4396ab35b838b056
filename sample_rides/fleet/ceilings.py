"""How fast each of many riders may be at each metre of his road, and how steep it is there: tables for `lockstep`.

The rule is that of `sample_rides.driver`: the square of the speed falls evenly along each braking distance.
"""

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from sample_rides.driver import halts_of
from sample_rides.route import Floats, Road
from sample_rides.simulation import Scenario


class SpeedCeilings:
    """Tables by whole metres, one row a ride, laid end to end; rides have halts and bends, but no limits by stretch."""

    def __init__(self, scenarios: Sequence[Scenario], roads: Sequence[Road]) -> None:
        lengths = [math.ceil(scenario.route.length_m) + 2 for scenario in scenarios]
        self._first = np.concatenate(([0], np.cumsum(lengths)[:-1]))
        self._last = np.array(lengths) - 2
        tables = [_ceiling(scenario, n) for scenario, n in zip(scenarios, lengths, strict=True)]
        self._ceiling2, self._decel = (np.concatenate(parts) for parts in zip(*tables, strict=True))
        longest = dict(zip(map(id, roads), zip(roads, lengths, strict=True), strict=True))
        known = {name: road.sine(np.arange(float(n))) for name, (road, n) in longest.items()}
        self._sines = np.concatenate([known[id(road)] for road in roads])
        halts = [halts_of(scenario.route, scenario.tail_s) for scenario in scenarios]
        self.n_halts = np.array([len(row) for row in halts])
        most = int(self.n_halts.max())
        padded = [[*row, *[row[-1]] * (most + 1 - len(row))] for row in halts]  # after the last, still the last
        self._halts_m, self._waits_s, _ = np.moveaxis(np.array(padded), 2, 0)
        self._rows = np.arange(len(scenarios))

    def halt(self, number: NDArray[np.int_]) -> tuple[Floats, Floats]:
        """Where the halt of that number of each ride is, and how long it waits there [m], [s]."""
        return self._halts_m[self._rows, number], self._waits_s[self._rows, number]

    def at(self, distance_m: Floats) -> tuple[Floats, Floats]:
        """Square of the ceiling, and the deceleration where it falls (0 elsewhere), at a distance on each ride."""
        index, share = self._place(distance_m)
        low = self._ceiling2[index]
        return low + share * (self._ceiling2[index + 1] - low), self._decel[index]

    def sine(self, distance_m: Floats) -> Floats:
        """Sine of the slope at a distance on each ride [1]."""
        index, share = self._place(distance_m)
        low = self._sines[index]
        sine: Floats = low + share * (self._sines[index + 1] - low)
        return sine

    def _place(self, distance_m: Floats) -> tuple[NDArray[np.int_], Floats]:
        metre = np.minimum(distance_m.astype(int), self._last)  # nobody rides back behind his start
        return self._first + metre, distance_m - metre


def _ceiling(scenario: Scenario, n: int) -> tuple[Floats, Floats]:
    """Square of the highest speed at each metre, and the deceleration where it falls."""
    route, fastest = scenario.route, scenario.rider.descent_mps
    ceiling2, decel = np.full(n, fastest * fastest), np.zeros(n)
    limits = [(at_m, at_m, 0.0, hard) for at_m, _, hard in halts_of(route, scenario.tail_s)]
    limits += [(bend.at_m, bend.at_m + bend.length_m, bend.speed_mps, bend.decel_mps2) for bend in route.bends]
    for from_m, to_m, speed, hard in limits:
        begin = round(from_m)
        reach = min(begin, math.ceil((fastest * fastest - speed * speed) / (2 * hard)))
        falling = speed * speed + 2 * hard * np.arange(reach, -1.0, -1.0)
        span = slice(begin - reach, begin + 1)
        lower = falling < ceiling2[span]
        decel[span] = np.where(lower, hard, decel[span])
        ceiling2[span] = np.minimum(ceiling2[span], falling)
        inside = slice(begin + 1, math.floor(to_m) + 1)
        slower = ceiling2[inside] > speed * speed
        decel[inside] = np.where(slower, 0.0, decel[inside])
        ceiling2[inside] = np.where(slower, speed * speed, ceiling2[inside])
        if speed:
            decel[begin] = 0.0 if ceiling2[begin] == speed * speed else decel[begin]
    return ceiling2, decel
