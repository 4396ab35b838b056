"""How full may the battery be at the start of a route, so that what comes back fits?

Each ride of the route needed some headroom: the largest rise of the charge above its start. An upper tolerance bound
holds the headroom of 95 % of such rides with 95 % confidence (exact factor of the noncentral t distribution, as in ISO
16269-6 and NIST's handbook, 7.2.6.3), of the headroom or of its logarithm, whichever is larger, because it is skewed.
Rides with a full pack returned less than they could have: the bound rests on what was logged, and says nothing of
another route, load or weather, nor of a pack whose capacity has fallen.
"""

import numpy as np
import pandas as pd

from ridelog.fleet.history.measured import measured
from ridelog.lazy import dataclass

COVERED = 0.95  # of rides, and confidence
FEWEST = 5  # rides; below, the factor is beyond 4


@dataclass(frozen=True)
class StartCharge:
    """Headroom for a route [Ah] and the state of charge to start at or below [%].

    ``most_seen_ah`` : the largest headroom that a ride needed
    """

    headroom_ah: float
    start_pct: float
    most_seen_ah: float
    rides: int
    capacity_ah: float


def tolerance_factor(n: int, covered: float = COVERED, confidence: float = COVERED) -> float:
    """Factor k of an upper tolerance bound mean + k s of a normal distribution.

    Parameters
    ----------
    n : values
    covered : share of the distribution below the bound
    confidence : that it is

    Returns
    -------
    k : 2.911 for ten values, 95 % and 95 %
    """
    from scipy import stats

    root = np.sqrt(n)
    return float(stats.nct.ppf(confidence, n - 1, stats.norm.ppf(covered) * root) / root)


def start_charge(rides: pd.DataFrame, capacity_ah: float) -> StartCharge | None:
    """The state of charge to start a route at or below.

    Parameters
    ----------
    rides : of one route and bike, frame of answers
    capacity_ah : of the pack [Ah]

    Returns
    -------
    start : ``None`` under five rides that know their headroom
    """
    told = measured(rides, "pack_start_charge_headroom_ah")
    known = np.isfinite(told.value)
    if known.sum() < FEWEST:
        return None
    most = told.value[known] + 1.96 * told.u_high[known]  # measurement may hide as much on every ride
    factor = tolerance_factor(len(most))
    bound = float(most.mean() + factor * most.std(ddof=1))
    if (most > 0).all():
        logs = np.log(most)
        bound = max(bound, float(np.exp(min(logs.mean() + factor * logs.std(ddof=1), np.log(capacity_ah)))))
    bound = min(max(bound, float(most.max())), capacity_ah)
    share = 100 * (1 - bound / capacity_ah)
    return StartCharge(bound, share, float(told.value[known].max()), int(known.sum()), capacity_ah)
