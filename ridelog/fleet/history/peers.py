"""Does a bike capture less than other bikes on the same hills under the same conditions?

Each descent's captured share, as a logit because it ends at 0 and at 100 %, is compared with what is usual on its hill,
at its speed, its air temperature and the power that was there to be captured: a line on hills and conditions by least
squares, with each bike's mean beside them. Motor, controller and battery take so much power and no more: of what a
heavy bike or a fast descent has to give, a smaller share, so that without it a heavy rider's bike seems weak. The
share falls with the power from some power on, hence a broken line (linear splines, knots at its deciles).

A bike's effect is then judged against the spread of the others' effects, as an outlier among them, with the uncertainty
of each bike's own mean as in a random-effects model. Several weak bikes would hide one another in that spread, so the
lowest are taken away one after the other, and each is judged at the best of what is left when it and those below it are
taken away: the generalised extreme studentised deviate (Rosner 1983, Technometrics 25:165), downwards only. Bikes
differ by nature, and every one of them has its own errors of mass and sensor: both are in that spread, so the lowest of
many ordinary bikes does not stand out. Whether the others' spread reaches further down than up, as shares that end at
100 % do, and how far, a few dozen bikes hardly tell; the probability holds that too (`statistics.outlying`).
"""

import numpy as np
import pandas as pd

from ridelog.fleet.history.measured import Floats, in_order, numbers
from ridelog.fleet.history.settings import DEFAULTS, HistorySettings
from ridelog.fleet.history.statistics.outlying import as_low
from ridelog.lazy import dataclass

SHARES = (0.02, 0.98)  # captured shares as logits: what lies beyond counts as these
FEWEST_PASSES = 4  # of a bike, on rides of their own: below, its mean is a chance one
MOST_AWAY = 6  # of so many bikes one may be taken away to judge the next
MOST_PIECES = 10  # of the broken line on power: it bends where the weakest of the motors takes no more
PASSES_PER_PIECE = 20  # at least; where there are fewer passes, it is straight


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
        ``start_s``, ``end_s``, ``available_wh``, ``air_temperature_c``
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
    for at, (difference, p_value) in enumerate(_each_against(effects, own, settings.fewest_peers)):
        row = bikes.iloc[at]
        points = 100 * (1 / (1 + (1 / usual - 1) * np.exp(-difference)) - usual)
        bike, hills, rides = str(bikes.index[at]), int(row["hills"]), int(row["rides"])
        judged.append(Below(bike, points, len(bikes) - 1, hills, rides, p_value))
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
    """Speed, air temperature and power of each pass about their means; what is not known counts as the mean."""
    taken_s = numbers(told, "end_s") - numbers(told, "start_s")
    power_w = 3600 * numbers(told, "available_wh") / taken_s
    power = np.log(np.where(power_w > 0, power_w, np.nan))
    known = power[np.isfinite(power)]
    pieces = max(min(len(known) // PASSES_PER_PIECE, MOST_PIECES), 1)
    bends = np.quantile(known, np.arange(1, pieces) / pieces) if pieces > 1 else ()
    columns = [numbers(told, "length_m") / taken_s, numbers(told, "air_temperature_c"), power]
    columns += [np.maximum(power - bend, 0.0) for bend in bends]
    centred = []
    for column in columns:
        known_mask = np.isfinite(column)
        if known_mask.any() and np.ptp(column[known_mask]) > 0:
            centred.append(np.where(known_mask, column - column[known_mask].mean(), 0.0))
    return np.column_stack(centred) if centred else np.empty((len(told), 0))


def _each_against(effects: Floats, own_u: Floats, fewest_others: int) -> list[tuple[float, float]]:
    """Each bike's difference from the others' mean and its p-value, the lowest taken away one after the other."""
    order = np.argsort(effects, kind="stable")
    most = min(max(len(effects) // MOST_AWAY, 1), len(effects) - fewest_others)
    judged: list[tuple[float, float]] = [(0.0, 1.0)] * len(effects)
    for n_away, at in enumerate(order):
        others = np.delete(order, range(n_away + 1)) if n_away < most else np.setdiff1d(order, at)
        judged[at] = _against(effects[at], own_u[at], effects[others], own_u[others])
    for lower, higher in zip(order[: most - 1][::-1], order[1:most][::-1], strict=True):
        if judged[higher][1] < judged[lower][1]:  # whoever lies lower still is at least as far out
            judged[lower] = judged[lower][0], judged[higher][1]
    return judged


def _against(effect: float, own_u: float, others: Floats, others_u: Floats) -> tuple[float, float]:
    """Difference from the others' mean, and the probability of one as low."""
    # The spread holds the others' own uncertainty; of this bike's only what goes beyond that is added.
    beyond = max(own_u**2 - float(np.mean(others_u**2)), 0.0)
    return float(effect - others.mean()), as_low(effect, others, beyond)
