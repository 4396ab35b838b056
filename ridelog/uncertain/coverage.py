"""The coverage interval of a number's trials: one rule for every interval of ridelog.

References
----------
JCGM 101:2008, Evaluation of measurement data: Supplement 1 to the Guide, propagation of distributions by Monte Carlo.
"""

import math
from functools import lru_cache

import numpy as np
from numpy.typing import ArrayLike

from ridelog.arrays import Floats

P_COVERAGE = 0.95  # every interval of ridelog
N_SAMPLED = 256  # values that show where the ends of all lie


def all_finite(values: Floats) -> bool:
    """Whether every one is a number: where the sum of their squares is, which is quicker, or by looking at each."""
    return math.isfinite(np.vdot(values, values)) or bool(np.isfinite(values).all())


def coverage_interval(trials: ArrayLike, *, p: float = P_COVERAGE) -> tuple[float, float]:
    """Bounds that hold the share ``p`` of the trials, with as many of them below as above (JCGM 101, 7.7).

    Parameters
    ----------
    trials : shape (m,), more than 1/(1 − p) of them
    p : coverage probability

    Returns
    -------
    low, high : of the interval, in the unit of the trials

    Raises
    ------
    ValueError : too few trials, or one that is not finite

    References
    ----------
    JCGM 101:2008, 7.7.
    """
    values = np.asarray(trials, dtype=float)
    if values.ndim != 1:
        raise ValueError(f"the trials of one number have one dimension, not shape {values.shape}")
    if not all_finite(values):
        raise ValueError(f"{np.count_nonzero(~np.isfinite(values))} of {len(values)} trials are not finite")
    return interval_of_finite(values, p)


def interval_of_finite(values: Floats, p: float = P_COVERAGE) -> tuple[float, float]:
    """As `coverage_interval`, of trials, shape (m,), that have been found to be finite."""
    return _in_order(values, *_bounds(len(values), p))


@lru_cache
def _bounds(m: int, p: float) -> tuple[int, int]:
    """The places of the bounds among ``m`` trials in their order, the upper one counted from the end."""
    if not 0 < p < 1:
        raise ValueError(f"a coverage probability lies between 0 and 1, not at {p}")
    held = round(p * m) if math.isclose(p * m, round(p * m)) else math.floor(p * m + 0.5)
    if not 0 < held < m:
        raise ValueError(f"{m} trials are too few for a coverage interval of {100 * p} %")
    first = (m - held + 1) // 2 - 1  # the standard counts from 1
    return first, first + held - m


def _in_order(values: Floats, low: int, high: int) -> tuple[float, float]:
    """The values at two places of their order, ``high`` counted from the end; the same as by sorting all.

    Those that lie beyond what a sample of them shows at three times these distances from the ends hold both places,
    but by rare chance, and are few: to pick and sort them takes a quarter of the time.
    """
    beyond = 3 * max(low + 1, -high) * N_SAMPLED // len(values) + 1
    if len(values) >= 4 * N_SAMPLED and beyond < N_SAMPLED // 4:
        sampled = np.sort(values[:N_SAMPLED])
        least, most = sampled[beyond], sampled[-beyond - 1]
        ends = values.compress((values <= least) | (values >= most))
        ends.sort()
        if len(ends) >= max(low + 1, -high) and ends[low] <= least and ends[high] >= most:
            return float(ends[low]), float(ends[high])
    ordered = np.partition(values, (low, len(values) + high))
    return float(ordered[low]), float(ordered[high])
