"""Errors of heights for tests: one that wanders, and what is known of one by hand."""

import math
from typing import Any

import numpy as np

from ridelog.analysis.road.height_noise import HeightNoise
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
