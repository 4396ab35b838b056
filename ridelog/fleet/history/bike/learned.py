"""What do a bike's rides teach about the bike itself, for its bike file?

The wheel's circumference, the current's zero and the draw at standstill do not change from ride to ride, or slowly;
each ride measures them anew. The mean over rides by random effects, along the trend where there is one, gives the
value; the interval in which the next ride will measure it (Higgins, Thompson and Spiegelhalter 2009, J. R. Stat. Soc. A
172:137, with a usual ride's own error beside) gives the limit. Without that error it would hold the next true value in
88 of 100 cases only, where rides differ no more than they are measured well. A limit in a bike file is the half-width
of a rectangular distribution, of which 95 % lie within 0.95 of it.
"""

import numpy as np
import pandas as pd

from ridelog.fleet.history.figure import random_effects
from ridelog.fleet.history.measured import Floats, in_order, measured
from ridelog.fleet.history.statistics.trend import trend
from ridelog.lazy import dataclass
from ridelog.uncertain.quantity import Quantity

FEWEST = 4  # rides; below, a spread says next to nothing of the next ride
TREND_FROM = 0.01  # p-value of a trend from which on it is followed


@dataclass(frozen=True)
class Learned:
    """One value of the bike as its rides have it.

    ``name`` : as in a bike file or a column · ``value`` : with the interval in which the next ride will measure it ·
    ``limit`` : half-width for a bike file · ``per_year`` : how it moves, ``None`` where no trend is told
    """

    name: str
    value: Quantity
    limit: float
    rides: int
    per_year: float | None


def learned(rides: pd.DataFrame, *, wheel_circumference_m: float | None = None) -> tuple[Learned, ...]:
    """What the rides of one bike teach.

    Parameters
    ----------
    rides : frame of answers of one bike
    wheel_circumference_m : as the bike file has it; what its wheel measured is scaled by the positions [m]

    Returns
    -------
    learned : of what at least four rides measured
    """
    scales = {"wheel_circumference_m": ("wheel_scale_ratio", wheel_circumference_m)} if wheel_circumference_m else {}
    scales |= {
        "current_zero_a": ("current_zero_a", 1.0),
        "standby_draw_a": ("standby_draw_a", 1.0),
        "resistance_ohm": ("pack_resistance_ohm", 1.0),
    }
    ordered = in_order(rides)
    days = (ordered["ride_start"] - ordered["ride_start"].iloc[0]).dt.total_seconds().to_numpy() / 86400
    told = [_learned(name, ordered, column, factor, days) for name, (column, factor) in scales.items() if factor]
    return tuple(each for each in told if each is not None)


def _learned(name: str, rides: pd.DataFrame, column: str, factor: float, days: Floats) -> Learned | None:
    column_values = measured(rides, column)
    known = np.isfinite(column_values.value)
    if known.sum() < FEWEST:
        return None
    values, u = column_values.value[known] * factor, column_values.u[known] * factor
    moved = trend(days[known], values) if np.isfinite(days[known]).all() else None
    slope = moved.per_day if moved is not None and moved.p_value <= TREND_FROM else 0.0
    level = values - slope * (days[known] - days[known][-1]) if slope else values
    low, value, high = next_ride(level, u)
    limit = max(high - value, value - low) / 0.95
    return Learned(name, Quantity(value, low, high), limit, int(known.sum()), 365.25 * slope if slope else None)


def next_ride(values: Floats, u: Floats) -> tuple[float, float, float]:
    """Lower bound, mean and upper bound of what another ride will measure (95 %).

    Parameters
    ----------
    values : one a ride, shape (n,), n >= 3
    u : standard uncertainty of each

    Returns
    -------
    low, mean, high
    """
    from scipy import stats

    _, mean, sd, se = random_effects(values, u)
    half = float(stats.t.ppf(0.975, len(values) - 2) * np.sqrt(sd**2 + se**2 + np.median(u**2)))
    return mean - half, mean, mean + half
