"""Errors of heights for tests: one that wanders, and what is known of one by hand."""

import math
from typing import Any

import numpy as np

from ridelog.analysis.road.height_noise import HeightNoise, Track
from ridelog.arrays import Floats

GRID_M: Floats = np.arange(0.0, 2000.1, 5.0, dtype=np.float64)


def noise_of(**changes: Any) -> HeightNoise:
    """Heights passed at 5 m/s on a grid of 5 m, known to err by 0.4 m over 300 s."""
    known: dict[str, Any] = {
        "kind": "barometric",
        "slow_m": 0.4,
        "dof": math.inf,
        "memory_s": 300.0,
        "fast_m": 0.0,
        "scale_ratio": 0.0,
        "passed_s": GRID_M / 5,
        "distance_m": GRID_M,
        "rounding_m": np.zeros_like(GRID_M),
    }
    return HeightNoise(**(known | changes))


def wander(rng: np.random.Generator, n: int, step_s: float, sigma_m: float, memory_s: float) -> Floats:
    """A first-order autoregressive error; closed form of its recursion."""
    keep = math.exp(-step_s / memory_s)
    result: Floats = np.empty(n)
    result[0] = rng.standard_normal()
    for k, push in enumerate(rng.standard_normal(n - 1), start=1):
        result[k] = keep * result[k - 1] + math.sqrt(1 - keep**2) * push
    return sigma_m * result


def road_ridden(rng: np.random.Generator, sigma_m: float, *, n_stops: int = 40, digit_m: float = 0.02) -> Track:
    """A rolling road at 6 m/s in steps of 1 s, with stops of 30 s, and what a wandering height made of it."""
    leg_s, stop_s = 90, 30
    speed = np.tile(np.concatenate([np.full(leg_s, 6.0), np.zeros(stop_s)]), n_stops)
    time_s = np.arange(len(speed), dtype=float)
    distance = np.concatenate(([0.0], np.cumsum(speed[:-1])))
    true = 20 + 15 * np.sin(distance / 400)
    altitude = np.round((true + wander(rng, len(time_s), 1.0, sigma_m, 300.0)) / digit_m) * digit_m
    return Track(time_s, distance, altitude, speed)
