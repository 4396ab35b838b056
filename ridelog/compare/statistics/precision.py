"""Repeatability and reproducibility: how far do two results of the same lie apart, here and elsewhere?

Words and formulas of ISO 5725-2:2019, 7.4, and ISO 5725-6:1994, 4.1.4: what a standard calls a laboratory is a logger
here, what it calls a level is a route.
"""

import numpy as np
from numpy.typing import NDArray

from ridelog.arrays import Floats
from ridelog.lazy import dataclass

LIMIT = 2.8  # 1.96 root 2: two results differ by more once in 20 times (ISO 5725-6, 4.1.4)


@dataclass(frozen=True)
class Precision:
    """How precise a method is.

    ``repeatability_sd`` : s_r, of results of one laboratory at one level · ``repeatability_limit`` : r = 2.8 s_r, which
    two of them differ by at most, 95 times of 100 · ``reproducibility_sd``, ``reproducibility_limit`` : s_R and R, of
    results of different laboratories; ``None`` where no level has two · ``results``, ``laboratories`` : how many
    """

    repeatability_sd: float
    repeatability_limit: float
    reproducibility_sd: float | None
    reproducibility_limit: float | None
    results: int
    laboratories: int


def precision(values: Floats, level: NDArray[np.object_], laboratory: NDArray[np.object_]) -> Precision | None:
    """Repeatability and reproducibility over levels.

    Parameters
    ----------
    values : results, shape (n,)
    level, laboratory : of each, shape (n,)

    Returns
    -------
    precision : variances of levels are pooled by their degrees of freedom; ``None`` where no cell holds two results
    """
    within, freedom = 0.0, 0
    between, between_freedom = 0.0, 0
    for each in sorted(set(level.tolist()), key=str):
        cells = [values[(level == each) & (laboratory == lab)] for lab in sorted(set(laboratory[level == each]))]
        within += sum(float(np.sum((cell - cell.mean()) ** 2)) for cell in cells)
        freedom += sum(len(cell) - 1 for cell in cells)
        if len(cells) > 1 and sum(len(cell) - 1 for cell in cells) > 0:
            between += _between_variance(cells) * (len(cells) - 1)
            between_freedom += len(cells) - 1
    if not freedom:
        return None
    s_r = float(np.sqrt(within / freedom))
    s_big = float(np.sqrt(s_r**2 + max(between / between_freedom, 0.0))) if between_freedom else None
    limit = None if s_big is None else LIMIT * s_big
    return Precision(s_r, LIMIT * s_r, s_big, limit, len(values), len(set(laboratory.tolist())))


def _between_variance(cells: list[Floats]) -> float:
    """s_L^2 = (s_d^2 - s_r^2) / n of one level (ISO 5725-2, 7.4.5); it may be negative before it is pooled."""
    sizes = np.array([len(cell) for cell in cells], dtype=float)
    means = np.array([cell.mean() for cell in cells])
    within = sum(float(np.sum((cell - cell.mean()) ** 2)) for cell in cells) / (sizes.sum() - len(cells))
    grand = float(np.average(means, weights=sizes))
    of_means = float(np.sum(sizes * (means - grand) ** 2)) / (len(cells) - 1)
    usual = (sizes.sum() - np.sum(sizes**2) / sizes.sum()) / (len(cells) - 1)
    return float((of_means - within) / usual)
