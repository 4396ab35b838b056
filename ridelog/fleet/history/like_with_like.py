"""Series of a bike's rides that can be compared with one another: hill, route and weather taken into account.

What is captured falls where a rider takes another way or rides in another season. So the captured share is taken from
descents, each against what is usual on that very hill, or from whole rides, beside how much of each ride went down and
how fast it was: whichever tells the mean of the bike's rides more closely, by how much one ride differs from the next.
The temperature is a condition in either case.
"""

from dataclasses import dataclass

import numpy as np
import pandas as pd

from ridelog.arrays import robust_scale
from ridelog.fleet.history.measured import Floats, column_of, measured, numbers

FEWEST_ON_HILL = 4  # passes of a hill that say what is usual there
RIDES_PER_CONDITION = 6  # a condition takes a degree of freedom, and is left out where there are fewer rides


@dataclass(frozen=True)
class Series:
    """One value a ride, in the order ridden.

    ``rows`` : of each value its ride's place in the frame · ``basis`` : what it was taken from ·
    ``conditions`` : shape (n, c)
    """

    rows: list[int]
    values: Floats
    u: Floats
    conditions: Floats
    basis: str


def plain_series(rides: pd.DataFrame, column: str, conditions: tuple[str, ...] = ()) -> Series:
    """A column of rides as it is, with columns that move it.

    Parameters
    ----------
    rides : of one bike, in the order ridden
    column : measured column
    conditions : columns that move the values; one that is constant or not known on many rides is left out

    Returns
    -------
    series : of the rides that know the column
    """
    told = measured(rides, column)
    rows = np.flatnonzero(np.isfinite(told.value))
    beside = conditions_of([numbers(rides, name)[rows] for name in conditions], len(rows))
    return Series([int(row) for row in rows], told.value[rows], told.u[rows], beside, column)


def captured_series(rides: pd.DataFrame, descents: pd.DataFrame) -> Series:
    """What was captured, by descents of the same hills or by whole rides.

    Parameters
    ----------
    rides : of one bike, in the order ridden
    descents : its passes downhill with ``key``, ``place`` and ``captured_pct``

    Returns
    -------
    series : in percent; of descents about the bike's own mean over hills
    """
    whole, by_hill = _whole_rides(rides), _on_hills(rides, descents)
    return whole if by_hill is None or _closeness(whole) < _closeness(by_hill) else by_hill


def _closeness(series: Series) -> float:
    """Relative standard error of the mean, by the differences from ride to ride, which a change moves once."""
    if len(series.values) < FEWEST_ON_HILL or not np.median(series.values) > 0:
        return np.inf
    between = robust_scale(np.diff(series.values), centre=0.0)
    return float(between / np.median(series.values) / np.sqrt(len(series.values)))


def _whole_rides(rides: pd.DataFrame) -> Series:
    """What was captured on whole rides; what was recovered, where few know what braking had available."""
    column = "braking_captured_pct"
    if np.isfinite(numbers(rides, column)).sum() < 0.5 * len(rides):
        column = column_of(rides, "recovered_pct")
    told = measured(rides, column)
    rows = np.flatnonzero(np.isfinite(told.value))
    distance_m = numbers(rides, "ride_distance_m")
    columns = [
        numbers(rides, "air_temperature_c"),
        numbers(rides, "ride_descent_m") / distance_m,
        distance_m / numbers(rides, "ride_moving_s"),
    ]
    beside = conditions_of([each[rows] for each in columns], len(rows))
    return Series([int(row) for row in rows], told.value[rows], np.zeros(len(rows)), beside, column)


def conditions_of(columns: list[Floats], n: int) -> Floats:
    """Conditions that are known and vary, as many as the rides bear; a missing value counts as the middle one.

    Parameters
    ----------
    columns : the most telling first, shape (n,) each
    n : rides

    Returns
    -------
    conditions : about their medians, shape (n, c)
    """
    kept: list[Floats] = []
    for column in columns:
        known = np.isfinite(column)
        if known.sum() < max(0.7 * n, 1) or np.ptp(column[known]) == 0 or len(kept) >= n // RIDES_PER_CONDITION:
            continue
        kept.append(np.where(known, column - np.median(column[known]), 0.0))
    return np.column_stack(kept) if kept else np.empty((n, 0))


def _on_hills(rides: pd.DataFrame, descents: pd.DataFrame) -> Series | None:
    """Each ride's descents against the bike's usual on the same hill; ``None`` where few rides have one."""
    if not len(descents) or not len(rides):
        return None
    own = descents.assign(captured=numbers(descents, "captured_pct")).dropna(subset=["captured", "place"])
    own = own[own.groupby("place")["key"].transform("nunique") >= FEWEST_ON_HILL]
    if own["key"].nunique() < FEWEST_ON_HILL:
        return None
    usual = own.groupby("place")["captured"].median()
    ratio = own["captured"] / own["place"].map(usual).where(lambda each: each > 0)
    by_ride = ratio.groupby(own["key"]).mean().dropna() * float(usual.mean())
    rows = [row for row, key in enumerate(rides["key"]) if key in by_ride.index]
    values = np.array([by_ride[rides["key"].iloc[row]] for row in rows])
    beside = conditions_of([numbers(rides, "air_temperature_c")[rows]], len(rows))
    return Series(rows, values, np.zeros(len(rows)), beside, "hills")
