"""Lag and drift between two signals that are known to fit, and how exactly they are known.

With lag and drift d, a grid point of the other recording at u belongs to the reference time t = lag + u / (1 + d), so
that t is ahead of u by L(t) = lag (1 + d) - d t. Fits work on L at the middle of what the signals tell, and on d.
"""

import numpy as np

from ridelog.lazy import dataclass
from ridelog.uncertain.gum import student_factor

NORMAL_FACTOR = 1.96  # of a normal distribution, 95 %, as it is usually rounded


@dataclass(frozen=True)
class LagFit:
    """Lag (at the reference's first sample) and drift with their standard uncertainties [s], [1e-6]."""

    lag_s: float
    lag_u_s: float
    drift_ppm: float | None = None
    drift_u_ppm: float | None = None


def resampled_onto(other: np.ndarray, n: int, step_s: float, lag_s: float, drift: float) -> np.ndarray:
    """The other's grid seen at the reference's first ``n`` grid points.

    Parameters
    ----------
    other : shape (m,), on its own grid, NaN where not known
    n : grid points of the reference
    step_s : of both grids [s]
    lag_s, drift : of the other [s], [1]

    Returns
    -------
    Shape (n,), on the straight line between grid points; NaN next to anything unknown.
    """
    at = (np.arange(n) * step_s - lag_s) * (1 + drift) / step_s
    result: np.ndarray = np.interp(at, np.arange(len(other)), other, left=np.nan, right=np.nan)
    return result


def student_ratio(dof: float) -> float:
    """By how much a standard uncertainty from ``dof`` degrees of freedom is widened.

    Student's 95 % factor over the normal one, so that 1.96 times the result covers 95 % (JCGM 100:2008, G.3).
    """
    return student_factor(dof) / NORMAL_FACTOR
