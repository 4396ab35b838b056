"""Series of a bike's rides that can be compared with one another: hill, route and weather taken into account.

What is captured depends on the way more than on the bike: a route with many stops and few hills may have half of it. So
it is taken from descents, as the ride's part of a line on rides and hills by the logarithm of what each descent
captured; and from whole rides, with their routes as conditions, or how much of them went down where routes are not
ridden again. Descents differ less from ride to ride, whole rides are more: which of the two shows a change sooner hangs
on the bike's roads, so that both are looked at. The air's temperature is a condition in either case, and the current's
zero where it has moved, because that alone makes less or more seem to come back. When less began to be captured, what
motor and controller limit tells more closely than either: each ride's largest charge current, or largest force.
"""

from collections.abc import Sequence

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from ridelog.fleet.history.measured import Floats, column_of, measured, numbers
from ridelog.lazy import dataclass

FEWEST_ALIKE = 3  # rides on a route, or passes of a hill, that say what is usual there
SHARE_ON_ROUTES = 0.6  # of the rides; where fewer are on routes ridden again, all rides are taken as they are
RIDES_PER_CONDITION = 6  # a condition takes a degree of freedom, and is left out where there are fewer rides
LIMITED = ("pack_highest_charge_a", "highest_charge_force_n")  # what a motor or its controller limits: either
NOTHING = 20  # a share below the usual one over this counts as that, as a logarithm needs


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


def captured_series(
    rides: pd.DataFrame, descents: pd.DataFrame, conditions: Sequence[str] = ("air_temperature_c",)
) -> list[Series]:
    """The logarithm of what was captured, by whole rides and, where hills are ridden again, by their descents.

    Parameters
    ----------
    rides : of one bike, in the order ridden; with ``route`` where `routes.same_routes` was asked
    descents : its passes downhill with ``key``, ``place`` and ``captured_pct``
    conditions : columns of rides that move it

    Returns
    -------
    series : one or two, logarithms of percent
    """
    whole, by_hill = _whole_rides(rides, conditions), _on_hills(rides, descents, conditions)
    return [whole] if by_hill is None else [whole, by_hill]


def charge_series(
    rides: pd.DataFrame, conditions: Sequence[str] = ("air_temperature_c",), limited: str = LIMITED[0]
) -> Series:
    """The logarithm of each ride's largest charge current, or of the largest force that it stands for.

    Parameters
    ----------
    rides : of one bike, in the order ridden; with ``route`` where `routes.same_routes` was asked
    conditions : columns of rides that move it
    limited : which, one of `LIMITED`

    Returns
    -------
    series : logarithms of amperes or newtons, of the rides that know it
    """
    return _of_rides(rides, limited, conditions)


def _whole_rides(rides: pd.DataFrame, conditions: Sequence[str]) -> Series:
    """What was captured on whole rides; what was recovered, where few know what braking had available."""
    column = "braking_captured_pct"
    if np.isfinite(numbers(rides, column)).sum() < 0.5 * len(rides):
        column = column_of(rides, "recovered_pct")
    return _of_rides(rides, column, conditions)


def _of_rides(rides: pd.DataFrame, column: str, conditions: Sequence[str]) -> Series:
    """The logarithm of a column, with routes, speed and more as conditions."""
    told = numbers(rides, column)
    rows, dummies = _routes(rides, np.isfinite(told))
    distance_m = numbers(rides, "ride_distance_m")
    beside = [numbers(rides, name) for name in conditions]
    beside += [numbers(rides, "ride_descent_m") / distance_m] if not dummies.shape[1] else []
    beside += [distance_m / numbers(rides, "ride_moving_s")]
    most = max(len(rows) - RIDES_PER_CONDITION * dummies.shape[1], 0) // RIDES_PER_CONDITION
    design = np.column_stack([dummies, conditions_of([each[rows] for each in beside], len(rows), most)])
    return Series([int(row) for row in rows], logarithms(told[rows]), np.zeros(len(rows)), design, column)


def _routes(rides: pd.DataFrame, known: NDArray[np.bool_]) -> tuple[NDArray[np.int_], Floats]:
    """Rides on routes that are ridden again, and a column for each route but the first; all rides where few are."""
    everything = np.flatnonzero(known)
    if "route" not in rides:
        return everything, np.empty((len(everything), 0))
    routes = rides["route"].to_numpy()
    counts = rides["route"][known].value_counts()
    often = [route for route in sorted(counts.index) if counts[route] >= FEWEST_ALIKE and route >= 0]
    rows = np.flatnonzero(known & np.isin(routes, often))
    if len(rows) < SHARE_ON_ROUTES * len(everything):
        return everything, np.empty((len(everything), 0))
    return rows, np.column_stack(
        [np.empty((len(rows), 0)), *((routes[rows] == each).astype(float) for each in often[1:])]
    )


def logarithms(shares: Floats) -> Floats:
    """Logarithms of shares; next to nothing counts as a small part of the usual one."""
    usual = float(np.median(shares)) if len(shares) else 0.0
    return np.log(np.maximum(shares, usual / NOTHING)) if usual > 0 else np.zeros(len(shares))


def conditions_of(columns: list[Floats], n: int, most: int | None = None) -> Floats:
    """Conditions that are known and vary, as many as the rides bear; a missing value counts as the middle one.

    Parameters
    ----------
    columns : the most telling first, shape (n,) each
    n : rides
    most : conditions; by default one for every six rides

    Returns
    -------
    conditions : about their medians, shape (n, c)
    """
    kept: list[Floats] = []
    room = n // RIDES_PER_CONDITION if most is None else most
    for column in columns:
        known = np.isfinite(column)
        if known.sum() < max(0.7 * n, 1) or np.ptp(column[known]) == 0 or len(kept) >= room:
            continue
        kept.append(np.where(known, column - np.median(column[known]), 0.0))
    return np.column_stack(kept) if kept else np.empty((n, 0))


def _on_hills(rides: pd.DataFrame, descents: pd.DataFrame, conditions: Sequence[str]) -> Series | None:
    """Each ride's part of what its descents captured; ``None`` where too few rides share hills."""
    if not len(descents) or not len(rides):
        return None
    own = descents.assign(captured=numbers(descents, "captured_pct")).dropna(subset=["captured", "place"])
    own = own[own["key"].isin(set(rides["key"])) & (own.groupby("place")["key"].transform("nunique") >= FEWEST_ALIKE)]
    own = _connected(own)
    if own["key"].nunique() < 2 * FEWEST_ALIKE:
        return None
    by_ride = pd.get_dummies(own["key"], dtype=float)
    by_hill = pd.get_dummies(own["place"], dtype=float).to_numpy()
    design = np.column_stack([by_ride.to_numpy(), by_hill[:, 1:] - by_hill[:, :1]])  # the mean over hills is 0
    parts = np.linalg.lstsq(design, logarithms(own["captured"].to_numpy()), rcond=None)[0]
    part_of = dict(zip(by_ride.columns, parts, strict=False))
    rows = [row for row, key in enumerate(rides["key"]) if key in part_of]
    values = np.array([part_of[rides["key"].iloc[row]] for row in rows])
    beside = conditions_of([numbers(rides, name)[rows] for name in conditions], len(rows))
    return Series(rows, values, np.zeros(len(rows)), beside, "hills")


def _connected(own: pd.DataFrame) -> pd.DataFrame:
    """The passes of the largest set of hills that rides link: others cannot be told from the rides on them."""
    places = sorted(set(own["place"]))
    group = {place: at for at, place in enumerate(places)}
    for _, ridden in own.groupby("key")["place"]:
        joined = {group[place] for place in ridden}
        least = min(joined)
        group = {place: least if each in joined else each for place, each in group.items()}
    groups = own["place"].map(group)
    return own[groups == groups.value_counts().idxmax()] if len(own) else own
