"""How many rides does it take to tell a difference, and how often would so many tell it?

Power of Student's t for pairs and for two groups of one size, by the noncentral t, as statsmodels has it (whose own
function gives no number for some large differences). Where an error does not cancel between the groups, the power is
the mean over its equally likely values, against the bounds that the verdict would have; beyond some number of rides it
rises no more.
"""

from dataclasses import field
from typing import Literal

import numpy as np

from ridelog.arrays import Floats
from ridelog.compare.statistics.combined import Combined
from ridelog.lazy import dataclass

MANY, SURE = 30, 8.0  # degrees of freedom from which so many standard deviations leave 1e-8
MOST_RIDES = 1000  # of each group; who needs more will not ride them


@dataclass(frozen=True, eq=False)
class Trial:
    """How rides are compared.

    ``sd`` : of the differences of pairs, or of the values of each group · ``by`` : "pairs" or "groups" ·
    ``false_alarms`` : two-sided · ``shared`` : equally likely values of what does not cancel
    """

    sd: float
    by: Literal["pairs", "groups"] = "pairs"
    false_alarms: float = 0.05
    shared: Floats = field(default_factory=lambda: np.zeros(1))


def power(trial: Trial, difference: float, rides: float) -> float:
    """How often a difference is told.

    Parameters
    ----------
    trial : how rides are compared
    difference : that there is
    rides : of each group, two at least

    Returns
    -------
    probability : of a verdict, of either sign
    """
    freedom = rides - 1 if trial.by == "pairs" else 2 * rides - 2
    se = trial.sd / np.sqrt(rides) * (1 if trial.by == "pairs" else np.sqrt(2))
    reach = Combined(0.0, se, freedom, np.sort(trial.shared)).interval(1 - trial.false_alarms)[1]
    seen = difference + trial.shared
    if se == 0:
        return float(np.mean(np.abs(seen) > reach))
    bound, centres = float(reach / se), np.asarray(seen / se)
    return float(np.mean(_above(bound, freedom, centres) + _above(bound, freedom, -centres)))


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
    rides : ``None`` where no number up to `MOST_RIDES` does
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
