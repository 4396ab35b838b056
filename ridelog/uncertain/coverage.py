"""The coverage interval of a number's trials: one rule for every interval of ridelog.

References
----------
JCGM 101:2008, Evaluation of measurement data: Supplement 1 to the Guide, propagation of distributions by Monte Carlo.
"""

import math

import numpy as np
from numpy.typing import ArrayLike

from ridelog.arrays import Floats

P_COVERAGE = 0.95  # every interval of ridelog


def all_finite(values: Floats) -> bool:
    """Whether every one is a number; asked of each interval, so the sum is looked at first."""
    with np.errstate(over="ignore", invalid="ignore"):
        total = np.add.reduce(values)
    return math.isfinite(total) or bool(np.isfinite(values).all())


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
    if not 0 < p < 1:
        raise ValueError(f"a coverage probability lies between 0 and 1, not at {p}")
    m = len(values)
    held = round(p * m) if math.isclose(p * m, round(p * m)) else math.floor(p * m + 0.5)
    if not 0 < held < m:
        raise ValueError(f"{m} trials are too few for a coverage interval of {100 * p} %")
    first = (m - held + 1) // 2 - 1  # the standard counts from 1
    low, high = np.partition(values, (first, first + held))[[first, first + held]].tolist()
    return low, high
