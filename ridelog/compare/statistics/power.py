"""How many rides does it take to tell a difference, and how often would so many tell it?

Power of Student's t, for pairs and for two groups with one spread in common, by the noncentral t, as statsmodels has it
(whose own function gives no number for some large differences); and of Welch's t, by which groups that are not paired
are judged. His degrees of freedom hang on how the variances of the two groups come out. Of groups that spread alike,
the share u of the first in both sums of squares is a beta variable, and whatever it is, the difference over the spread
of all rides is a noncentral t with n1 + n2 - 2 degrees of freedom: the power is the mean over u of that beyond the
bound that u makes. So a small group tells less beside a large one than by one common spread.

Where an error does not cancel between the groups, the power is the mean over its equally likely values, against the
bounds that the verdict would have; beyond some number of rides it rises no more.
"""

import math
from dataclasses import field
from typing import Literal

import numpy as np

from ridelog.arrays import Floats
from ridelog.compare.statistics.combined import Combined
from ridelog.lazy import dataclass

MANY, SURE = 30, 8.0  # degrees of freedom from which so many standard deviations leave 1e-8
MOST_RIDES = 1000  # of each group; who needs more will not ride them
SPREADS = 16  # equally likely ways for the variances of two groups to come out: power is within 0.002


@dataclass(frozen=True, eq=False)
class Trial:
    """How rides are compared.

    ``sd`` : of the differences of pairs, or of the values of each group · ``by`` : "pairs", "groups" that each show
    a spread of their own, or "pooled" to one that they have in common · ``false_alarms`` : two-sided · ``shared`` :
    equally likely values of what does not cancel · ``ahead`` : rides that one group has more than the other
    """

    sd: float
    by: Literal["pairs", "groups", "pooled"] = "pairs"
    false_alarms: float = 0.05
    shared: Floats = field(default_factory=lambda: np.zeros(1))
    ahead: int = 0


def power(trial: Trial, difference: float, rides: float) -> float:
    """How often a difference is told.

    Parameters
    ----------
    trial : how rides are compared
    difference : that there is
    rides : of each group, two at least; of the smaller one where the other is ahead

    Returns
    -------
    probability : of a verdict, of either sign
    """
    if trial.by == "pairs":
        se = trial.sd / math.sqrt(rides)
        return _told(trial, difference, (se, rides - 1), (se, rides - 1))
    sizes: Floats = np.array([rides, rides + trial.ahead], dtype=float)
    true = trial.sd * math.sqrt(1 / rides + 1 / (rides + trial.ahead)), float(sizes.sum() - 2)
    if trial.by == "pooled":
        return _told(trial, difference, true, true)
    ways = zip(*_spreads(sizes), strict=True)
    return float(np.mean([_told(trial, difference, (trial.sd * se, freedom), true) for se, freedom in ways]))


def _spreads(sizes: Floats) -> tuple[Floats, Floats]:
    """Standard errors by Welch of two groups of spread 1, and their degrees of freedom, in equally likely ways."""
    from scipy import special

    free = sizes - 1
    first = special.betaincinv(free[0] / 2, free[1] / 2, (np.arange(SPREADS) + 0.5) / SPREADS)
    variances = free.sum() * np.array([first, 1 - first]) / (free * sizes)[:, None]
    total = variances.sum(axis=0)
    return np.sqrt(total), total**2 / np.sum(variances**2 / free[:, None], axis=0)


def _told(trial: Trial, difference: float, judged: tuple[float, float], true: tuple[float, float]) -> float:
    """How often a difference is told that is judged by one standard error and its degrees of freedom, and has others.

    The bound goes with the spread of all rides as it comes out, of which ``true`` has the degrees of freedom.
    """
    (se, freedom), (true_se, true_freedom) = judged, true
    reach = Combined(0.0, se, freedom, np.sort(trial.shared)).interval(1 - trial.false_alarms)[1]
    seen = difference + trial.shared
    if se == 0:
        return float(np.mean(np.abs(seen) > reach))
    bound, centres = float(reach / true_se), np.asarray(seen / true_se)
    return float(np.mean(_above(bound, true_freedom, centres) + _above(bound, true_freedom, -centres)))


def _above(bound: float, freedom: float, centres: Floats) -> Floats:
    """Probability of a noncentral t beyond a bound; its series does not converge where that is all but sure."""
    from scipy import stats

    away = (centres - bound) / np.sqrt(1 + bound**2 / (2 * freedom))
    asked = (freedom < MANY) | (np.abs(away) < SURE)
    result: Floats = (away > 0).astype(float)
    result[asked] = np.nan_to_num(stats.nct.sf(bound, freedom, centres[asked]))
    return result


def rides_needed(trial: Trial, difference: float, *, wanted: float = 0.8) -> int | None:
    """The fewest rides of each group that tell a difference as often as wanted.

    Parameters
    ----------
    trial : how rides are compared
    difference : to be told, not 0
    wanted : power

    Returns
    -------
    rides : of the smaller group where one is ahead; ``None`` where no number up to `MOST_RIDES` does
    """
    low, high = 1, 2
    while power(trial, difference, high) < wanted:
        low, high = high, 2 * high
        if low >= MOST_RIDES:
            return None
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (low, middle) if power(trial, difference, middle) >= wanted else (middle, high)
    return high if high <= MOST_RIDES else None
