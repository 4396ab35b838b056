"""Does a bike capture less than other bikes on the same hills under the same conditions?

Each descent's captured share, as a logit because it ends at 0 and at 100 %, is compared with what is usual on its hill
and at its speed and air temperature: a line on hills and conditions by least squares, with each bike's mean beside
them. A bike's effect is then judged against the spread of the others' effects, as an outlier among them (the externally
studentised deviate of Grubbs 1969, Technometrics 11:1; with the uncertainty of each bike's own mean as in a random-
effects model). Bikes differ by nature, and every one of them has its own errors of mass and sensor: both are in that
spread, so the lowest of many ordinary bikes does not stand out. Where the others' spread reaches further down than up,
as shares that end at 100 % do, the probability is that of Pearson's type III with their skewness: Student's t alone
would tell one bike in 20 to 40 of 100 sets whose spread is log-normal downwards (0.3), not in 5; with it, in up to 10,
and in 2 where the spread is normal.
"""

from dataclasses import dataclass

import numpy as np
import pandas as pd

from ridelog.fleet.history.measured import Floats, in_order, numbers
from ridelog.fleet.history.settings import DEFAULTS, HistorySettings

SKEWNESS_MARGIN = 0.5  # standard errors by which the spread is taken to reach further down than it shows
MOST_SKEWNESS = 2.0
SHARES = (0.02, 0.98)  # captured shares as logits: what lies beyond counts as these
FEWEST_PASSES = 4  # of a bike, on rides of their own: below, its mean is a chance one


@dataclass(frozen=True)
class Below:
    """How far a bike lies below the others, in percentage points of the captured share where that is the mean.

    ``p_value`` : probability that a bike like the others lies as low
    """

    bike: str
    difference_points: float
    others: int
    hills: int
    rides: int
    p_value: float


def below_others(descents: pd.DataFrame, settings: HistorySettings = DEFAULTS) -> tuple[Below, ...]:
    """Every bike that shares hills with others, against them.

    Parameters
    ----------
    descents : one row a pass: ``bike``, ``key``, ``place``, ``captured_pct``, and where known ``length_m``,
        ``start_s``, ``end_s``, ``air_temperature_c``
    settings : how many others it takes

    Returns
    -------
    judged : one a bike that could be judged; a difference is negative where it captures less
    """
    told = _shared_hills(descents, settings.fewest_peers)
    if told["bike"].nunique() <= settings.fewest_peers:
        return ()
    bikes = _bike_effects(told)
    bikes = bikes[bikes["rides"] >= FEWEST_PASSES]
    if len(bikes) <= settings.fewest_peers:
        return ()
    effects, own = bikes["effect"].to_numpy(), bikes["u"].to_numpy()
    usual = float(np.clip(told["captured"].mean() / 100, *SHARES))
    judged = []
    for at, (bike, row) in enumerate(bikes.iterrows()):
        difference, p_value = _against(effects[at], own[at], np.delete(effects, at), np.delete(own, at))
        points = 100 * (1 / (1 + (1 / usual - 1) * np.exp(-difference)) - usual)
        judged.append(Below(str(bike), points, len(bikes) - 1, int(row["hills"]), int(row["rides"]), p_value))
    return tuple(judged)


def _shared_hills(descents: pd.DataFrame, fewest_peers: int) -> pd.DataFrame:
    """Descents with a captured share, on hills that enough bikes rode."""
    told = in_order(descents.assign(captured=numbers(descents, "captured_pct")).dropna(subset=["captured", "place"]))
    bikes_there = told.groupby("place")["bike"].transform("nunique")
    return told[bikes_there > fewest_peers].reset_index(drop=True)


def _bike_effects(told: pd.DataFrame) -> pd.DataFrame:
    """Each bike's mean beside hill and conditions, with its standard uncertainty from ride to ride."""
    hills = pd.get_dummies(told["place"], dtype=float).to_numpy()
    bikes = pd.get_dummies(told["bike"], dtype=float)
    design = np.column_stack([hills, bikes.to_numpy()[:, 1:], _conditions(told)])
    shares = np.clip(told["captured"].to_numpy() / 100, *SHARES)
    captured = np.log(shares / (1 - shares))
    coefficients = np.linalg.lstsq(design, captured, rcond=None)[0]
    n_hills, n_bikes = hills.shape[1], bikes.shape[1]
    effects = np.concatenate([[0.0], coefficients[n_hills : n_hills + n_bikes - 1]])
    left = pd.DataFrame({"bike": told["bike"], "key": told["key"], "left": captured - design @ coefficients})
    by_ride = left.groupby(["bike", "key"])["left"].mean().groupby("bike").agg(["count", "std"])
    pooled = float(np.sqrt(np.nanmean(by_ride["std"].to_numpy() ** 2)))
    return pd.DataFrame(
        {
            "effect": effects - effects.mean(),
            "u": pooled / np.sqrt(by_ride["count"].reindex(bikes.columns).to_numpy()),
            "rides": by_ride["count"].reindex(bikes.columns).to_numpy(),
            "hills": told.groupby("bike")["place"].nunique().reindex(bikes.columns).to_numpy(),
        },
        index=bikes.columns,
    )


def _conditions(told: pd.DataFrame) -> Floats:
    """Speed and air temperature of each pass about their means; what is not known counts as the mean."""
    speed = numbers(told, "length_m") / (numbers(told, "end_s") - numbers(told, "start_s"))
    columns = [speed, numbers(told, "air_temperature_c")]
    centred = []
    for column in columns:
        known = np.isfinite(column)
        if known.any() and np.ptp(column[known]) > 0:
            centred.append(np.where(known, column - column[known].mean(), 0.0))
    return np.column_stack(centred) if centred else np.empty((len(told), 0))


def _against(effect: float, own_u: float, others: Floats, others_u: Floats) -> tuple[float, float]:
    """Difference from the others' mean, and the probability of one as low (Student's t)."""
    from scipy import stats

    n, spread = len(others), float(others.var(ddof=1))
    # The spread holds the others' own uncertainty; of this bike's only what goes beyond that is added.
    beyond = max(own_u**2 - float(np.mean(others_u**2)), 0.0)
    variance = spread * (1 + 1 / n) + beyond
    difference = float(effect - others.mean())
    if variance <= 0:
        return difference, 1.0
    p_value = float(stats.t.cdf(difference / np.sqrt(variance), n - 1))
    skewness = float(stats.skew(others, bias=False)) - SKEWNESS_MARGIN * np.sqrt(6 / n)
    if skewness >= 0:
        return difference, p_value
    normal = stats.norm.ppf(max(p_value, 1e-15))
    return difference, float(stats.pearson3.cdf(normal, max(skewness, -MOST_SKEWNESS)))
