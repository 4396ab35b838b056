"""What does a bike usually recover, capture and use, over all of its rides?

The mean over rides of a ride's value, with an interval that holds how much rides differ as well as how well each was
measured: random effects, with the between-ride variance by Paule and Mandel (1982, J. Res. NBS 87:377) and the
interval by Hartung, Knapp, Sidik and Jonkman (IntHout et al. 2014, BMC Med. Res. Methodol. 14:25), by statsmodels.
Spreads of shares are skewed; from 8 rides on the quantiles are those of Hall's transformation of the t statistic
(Hall 1992, J. R. Stat. Soc. B 54:221), which keeps the coverage that the plain t loses there.

Errors that all rides of one logger share do not shrink with their number. They are added to the mean's own
distribution (JCGM 101): the current zero and the gain of charge against discharge as rectangular ones, as their limits
are. Of what was captured and of the consumption the whole measurement error counts as shared: road, mass and drag are
the same on every ride.
"""

from itertools import pairwise

import numpy as np
import pandas as pd

from ridelog.fleet.history.measured import Floats, Measured, column_of, measured, numbers
from ridelog.fleet.history.returned import with_nothing
from ridelog.fleet.history.settings import DEFAULTS, HistorySettings
from ridelog.fleet.history.statistics.shared import POINTS, added, middles, rectangular_sum
from ridelog.lazy import dataclass
from ridelog.tell.numbers import plain
from ridelog.uncertain.quantity import Quantity

FEWEST_FOR_SKEW = 8  # below, three moments of the spread are not known
MOST_SKEWNESS = 1.0  # beyond, one odd ride of ten makes the interval 1.5 times as wide, and it holds no more means
TEMPERATURES_C = (0.0, 10.0, 20.0)  # bounds of the bands of air temperature [°C]
BOUNDS = {"recovered_pct": (0.0, np.inf), "captured_pct": (0.0, 100.0), "net_wh_per_km": (-np.inf, np.inf)}
_T_POINTS = 600  # of the distribution of the mean


@dataclass(frozen=True)
class Part:
    """The mean over some of the rides, such as those of a month; ``None`` where there are too few."""

    name: str
    rides: int
    mean: Quantity | None


@dataclass(frozen=True)
class Figure:
    """A bike's own figure.

    ``mean`` : over its rides · ``ride_to_ride_sd`` : standard deviation of rides, measurement taken out ·
    ``shared_u`` : standard uncertainty of the mean that no number of rides takes away · ``months``, ``air`` :
    the same by month and by band of air temperature, of the rides where these are known
    """

    quantity: str
    rides: int
    mean: Quantity
    ride_to_ride_sd: float
    shared_u: float
    months: tuple[Part, ...] = ()
    air: tuple[Part, ...] = ()


@dataclass(frozen=True)
class Errors:
    """Errors of the rides' values: ``own`` of each ride, and those that all share.

    ``own`` : standard uncertainty, shape (n,) · ``rectangular`` : of each shared error its standard uncertainty on each
    ride · ``low``, ``high`` : of an error of another shape that is shared, to each side
    """

    own: Floats
    rectangular: tuple[Floats, ...] = ()
    low: Floats | None = None
    high: Floats | None = None


def own_figure(rides: pd.DataFrame, quantity: str, settings: HistorySettings = DEFAULTS) -> Figure | None:
    """A bike's own figure over its rides.

    Parameters
    ----------
    rides : of one bike, one row a ride (the frame of answers)
    quantity : "recovered_pct", "captured_pct" or "net_wh_per_km"
    settings : thresholds

    Returns
    -------
    figure : ``None`` under three rides that know the quantity

    Raises
    ------
    ValueError : no such quantity
    """
    column = column_of(rides, quantity)
    told = with_nothing(rides)
    told = told[np.isfinite(numbers(told, column))]
    if len(told) < settings.fewest_rides:
        return None
    mean, sd, shared_u = _mean(told, column, quantity)
    return Figure(
        quantity, len(told), mean, sd, shared_u,
        months=_parts(told, column, quantity, _months(told), settings),
        air=_parts(told, column, quantity, _bands(told), settings),
    )  # fmt: skip


def _months(rides: pd.DataFrame) -> list[str | None]:
    if "month" not in rides:
        return [None] * len(rides)
    return [None if month == "unknown" else str(month) for month in rides["month"]]


def _bands(rides: pd.DataFrame) -> list[str | None]:
    """The band of air temperature of each ride, as "10..20"; the outer ones are open."""
    edges = (None, *TEMPERATURES_C, None)
    ends = ["" if edge is None else plain(edge) for edge in edges]
    names = [f"{low}..{high}" for low, high in pairwise(ends)]
    air_c = numbers(rides, "air_temperature_c")
    return [names[int(np.searchsorted(TEMPERATURES_C, each, "right"))] if np.isfinite(each) else None for each in air_c]


def _parts(
    rides: pd.DataFrame, column: str, quantity: str, names: list[str | None], settings: HistorySettings
) -> tuple[Part, ...]:
    """One part a name; none where all rides are of the same one."""
    groups = rides.assign(part=np.asarray(names, dtype=object)).groupby("part", sort=True)
    if groups.ngroups < 2:
        return ()
    return tuple(
        Part(str(name), len(group), _mean(group, column, quantity)[0] if len(group) >= settings.fewest_rides else None)
        for name, group in groups
    )


def _mean(rides: pd.DataFrame, column: str, quantity: str) -> tuple[Quantity, float, float]:
    values = measured(rides, column)
    mean, sd, shared_u = mean_of_rides(values.value, errors_of(rides, values, quantity))
    return within(mean, *BOUNDS[quantity]), sd, shared_u


def within(mean: Quantity, low: float, high: float) -> Quantity:
    """A mean whose interval ends where the quantity does.

    Parameters
    ----------
    mean : with its interval
    low, high : bounds of the quantity

    Returns
    -------
    mean : the same value
    """
    low95 = None if mean.low95 is None else max(mean.low95, low)
    high95 = None if mean.high95 is None else min(mean.high95, high)
    return Quantity(mean.value, low95, high95)


def errors_of(rides: pd.DataFrame, values: Measured, quantity: str) -> Errors:
    """Which errors of the rides' values are each ride's own, and which they share.

    Parameters
    ----------
    rides : frame of answers, with ``u_zero_pct`` and ``u_charge_gain_pct``
    values : the quantity of each ride
    quantity : what it is

    Returns
    -------
    errors : of the recovered share by its budget; of all else every error counts as shared
    """
    if quantity != "recovered_pct":
        return Errors(np.zeros_like(values.value), low=values.u_low, high=values.u_high)
    shared = tuple(np.nan_to_num(numbers(rides, name)) for name in ("u_zero_pct", "u_charge_gain_pct"))
    left = values.u**2 - sum(each**2 for each in shared)
    return Errors(np.sqrt(np.maximum(left, 0.0)), rectangular=shared)


def mean_of_rides(values: Floats, errors: Errors) -> tuple[Quantity, float, float]:
    """The mean over rides with its 95 % interval.

    Parameters
    ----------
    values : one a ride, shape (n,), n >= 2
    errors : of the values

    Returns
    -------
    mean : with its interval
    sd : standard deviation between rides, their own measurement errors taken out
    shared_u : standard uncertainty of what the rides share
    """
    weights, mean, tau, se = random_effects(values, errors.own)
    skewness = _skewness(values - mean) if len(values) >= FEWEST_FOR_SKEW else 0.0
    shared = _shared(weights, errors)
    if len(shared) == 1:
        low95, high95 = mean - se * _pivot(len(values), skewness, np.array([0.975, 0.025]))
    else:
        own = mean - se * _pivot(len(values), skewness, middles(_T_POINTS))
        low95, high95 = np.quantile((own[:, None] + shared[None, :]).ravel(), [0.025, 0.975])
    return Quantity(mean, min(float(low95), mean), max(float(high95), mean)), tau, float(shared.std())


def random_effects(values: Floats, own_u: Floats) -> tuple[Floats, float, float, float]:
    """Weights (sum 1), mean, standard deviation between rides, and standard error of the mean by Hartung and Knapp."""
    n, sd = len(values), float(values.std(ddof=1))
    if sd == 0 or not own_u.any():
        return np.full(n, 1 / n), float(values.mean()), sd, sd / np.sqrt(n)
    from statsmodels.stats.meta_analysis import combine_effects

    variance = np.maximum(own_u, 1e-6 * sd) ** 2
    combined = combine_effects(values, variance, method_re="iterated", use_t=True)
    weights = np.asarray(combined.weights_re, dtype=float)
    weights = weights / weights.sum()
    return (
        weights, float(combined.mean_effect_re), float(np.sqrt(max(combined.tau2, 0.0))),
        float(combined.sd_eff_w_re_hksj),
    )  # fmt: skip


def _skewness(residuals: Floats) -> float:
    from scipy import stats

    told = float(stats.skew(residuals, bias=False)) if residuals.any() else 0.0
    return min(max(told, -MOST_SKEWNESS), MOST_SKEWNESS)


def _pivot(n: int, skewness: float, probabilities: Floats) -> Floats:
    """Quantiles of (mean of rides - population mean) / standard error."""
    from scipy import stats

    t = stats.t.ppf(probabilities, n - 1)
    if abs(skewness) < 1e-9:
        return np.asarray(t)
    root = np.sqrt(n)
    moved = t / root - skewness / (6 * n)
    return np.asarray(3 / skewness * (np.cbrt(1 + skewness * moved) - 1) * root)


def _shared(weights: Floats, errors: Errors) -> Floats:
    """Equally likely values of what the shared errors do to the mean."""
    effects = rectangular_sum([float(weights @ each) for each in errors.rectangular])
    if errors.low is None or errors.high is None:
        return effects
    from scipy import stats

    z = stats.norm.ppf(middles(POINTS))
    u_low, u_high = float(weights @ errors.low), float(weights @ errors.high)
    return added(effects, np.where(z < 0, u_low, u_high) * z) if u_low + u_high else effects
