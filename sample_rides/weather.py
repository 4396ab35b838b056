"""Wind that blows from one side of the sky with gusts and turns, and riding in the shelter of others.

A ride's own `Machine.wind_mps` blows along the way at every turn of the road, as no wind does; this one is beside it.
"""

import math
from dataclasses import dataclass

import numpy as np

from sample_rides.route import Floats


@dataclass(frozen=True)
class Weather:
    """What the air does on a ride, beside a steady head wind.

    Attributes
    ----------
    mean_mps, from_deg : mean wind at the rider's height, and where it comes from, clockwise from north [m/s], [°]
    gust_ratio, gust_s : standard deviation of its gusts over its mean, and the time over which they last [1], [s]
    turn_deg, turn_s : standard deviation of its direction, and the time over which it turns [°], [s]
    sheltered_share, sheltered_s, shelter_ratio : share of the time behind somebody, how long each time, and what is
        left of the drag area there [1], [s], [1]
    seed : of its chance
    """

    mean_mps: float = 0.0
    from_deg: float = 0.0
    gust_ratio: float = 0.3
    gust_s: float = 12.0
    turn_deg: float = 15.0
    turn_s: float = 120.0
    sheltered_share: float = 0.0
    sheltered_s: float = 40.0
    shelter_ratio: float = 0.7
    seed: int = 1

    def course(self, longest_s: float, *, step_s: float = 1.0) -> "Course":
        """The weather of one ride, in steps between which it changes in straight lines."""
        rng = np.random.default_rng(self.seed)
        n = math.ceil(longest_s / step_s) + 2
        speed = self.mean_mps * (1 + self.gust_ratio * _wander(rng, n, step_s / self.gust_s))
        bearing = np.radians(self.from_deg + self.turn_deg * _wander(rng, n, step_s / self.turn_s))
        share = min(max(self.sheltered_share, 0.0), 0.999)
        sheltered = np.zeros(n, dtype=bool)
        if share > 0:
            leaves, comes = step_s / self.sheltered_s, step_s / self.sheltered_s * share / (1 - share)
            inside = bool(rng.random() < share)
            for k, chance in enumerate(rng.random(n)):
                inside = chance >= leaves if inside else chance < comes
                sheltered[k] = inside
        ratio = np.where(sheltered, self.shelter_ratio, 1.0)
        return Course(step_s, speed * np.cos(bearing), speed * np.sin(bearing), ratio)


@dataclass(frozen=True)
class Course:
    """The wind's parts from north and from east, and what shelter leaves of the drag area, shape (n,) each."""

    step_s: float
    north_mps: Floats
    east_mps: Floats
    shelter_ratio: Floats

    def at(self, time_s: float, heading_rad: float) -> tuple[float, float]:
        """Head wind [m/s], and share of the drag area that is left [1]."""
        place = time_s / self.step_s
        index = min(int(place), len(self.north_mps) - 2)
        share = place - index
        north = self.north_mps[index] + share * (self.north_mps[index + 1] - self.north_mps[index])
        east = self.east_mps[index] + share * (self.east_mps[index + 1] - self.east_mps[index])
        ahead = float(north) * math.cos(heading_rad) + float(east) * math.sin(heading_rad)
        return ahead, float(self.shelter_ratio[index])


def _wander(rng: np.random.Generator, n: int, forgets: float) -> Floats:
    """A first-order autoregressive series of standard deviation 1 that forgets itself by this much a step."""
    keep = math.exp(-forgets)
    values = rng.standard_normal(n)
    for k in range(1, n):
        values[k] = keep * values[k - 1] + math.sqrt(1 - keep * keep) * values[k]
    result: Floats = values
    return result
