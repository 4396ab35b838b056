"""What errors that all values share do to a mean or a difference of them: equally likely values of their sum.

Limits are rectangular distributions (JCGM 100:2008, 4.3.7); their sum is taken point by point (JCGM 101:2008).
"""

from collections.abc import Sequence
from functools import lru_cache

import numpy as np

from ridelog.arrays import Floats

POINTS = 64


def rectangular_sum(standard_u: Sequence[float], points: int = POINTS) -> Floats:
    """Equally likely values of a sum of independent rectangular errors.

    Parameters
    ----------
    standard_u : of each error its standard uncertainty; the sign does not matter
    points : how many values at most

    Returns
    -------
    values, shape (points,), or (1,) where there is no error: 0
    """
    return _rectangular_sum(tuple(float(u) for u in standard_u), points)


@lru_cache(maxsize=64)
def _rectangular_sum(standard_u: tuple[float, ...], points: int) -> Floats:
    """The same errors are asked for again and again; not to be written to."""
    steps = middles(points)
    total = np.zeros(1)
    for u in standard_u:
        total = added(total, u * np.sqrt(3) * (2 * steps - 1), points) if u else total
    total.flags.writeable = False
    return total


def added(values: Floats, others: Floats, points: int = POINTS) -> Floats:
    """Equally likely values of the sum of two independent quantities, each given by such values.

    Parameters
    ----------
    values, others : shapes (n,) and (m,)
    points : how many values at most

    Returns
    -------
    values, shape (min(n * m, points),)
    """
    total = (values[:, None] + others[None, :]).ravel()
    return np.quantile(total, middles(points)) if len(total) > points else total


def middles(points: int) -> Floats:
    """The middle of each of so many equal parts of 0 to 1."""
    return np.asarray((np.arange(points) + 0.5) / points)
