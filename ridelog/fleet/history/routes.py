"""Which rides of a bike went the same way?

Rides over the same hills in the same directions, about as far and about as far down. A share of what braking offered is
lower by half where a route has many stops and few hills, whatever the bike does: rides are compared along routes.
"""

from dataclasses import dataclass

import numpy as np
import pandas as pd

from ridelog.fleet.history.measured import numbers


@dataclass(frozen=True)
class Alike:
    """When two rides went the same way.

    ``distance``, ``descent`` : relative difference at most · ``descent_m`` : or that much [m] · ``hills`` : share of
    all hills of both rides that both have
    """

    distance: float = 0.1
    descent: float = 0.25
    descent_m: float = 12.0
    hills: float = 0.6


SAME_ROUTE = Alike()


def same_routes(rides: pd.DataFrame, passes: pd.DataFrame, alike: Alike = SAME_ROUTE) -> pd.Series:
    """The route of each ride: the number of the earliest ride that went that way.

    Parameters
    ----------
    rides : of one bike in the order ridden: ``key``, ``ride_distance_m``, ``ride_descent_m``
    passes : of its hills, either way: ``key``, ``place``
    alike : when two rides went the same way

    Returns
    -------
    route : by the frame's index, -1 where the distance is not known
    """
    ridden: dict[object, frozenset[str]] = {}
    if "place" in passes:
        known = passes.dropna(subset=["place"])
        ridden = {key: frozenset(places) for key, places in known.groupby("key")["place"]}
    hills = [ridden.get(key, frozenset()) for key in rides["key"]]
    distance_m, descent_m = numbers(rides, "ride_distance_m"), numbers(rides, "ride_descent_m")
    routes = np.full(len(rides), -1)
    firsts: list[int] = []
    for at in np.flatnonzero(np.isfinite(distance_m)):
        for first in firsts:
            near = abs(distance_m[at] - distance_m[first]) <= alike.distance * distance_m[first]
            apart_m = abs(descent_m[at] - descent_m[first])
            down = not apart_m > max(alike.descent * descent_m[first], alike.descent_m)  # not known agrees
            if near and down and _overlap(hills[at], hills[first]) >= alike.hills:
                routes[at] = first
                break
        else:
            routes[at] = at
            firsts.append(int(at))
    return pd.Series(routes, index=rides.index, name="route")


def _overlap(some: frozenset[str], others: frozenset[str]) -> float:
    """Share of all hills that both have; 1 where neither has any."""
    return len(some & others) / len(some | others) if some or others else 1.0
