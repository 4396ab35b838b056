"""Which rides of a bike went the same way?

Rides over the same hills in the same directions, about as far and about as far down. A share of what braking offered is
lower by half where a route has many stops and few hills, whatever the bike does: rides are compared along routes.
"""

import numpy as np
import pandas as pd

from ridelog.fleet.history.measured import numbers
from ridelog.lazy import dataclass


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
            down = _as_far(descent_m[at], descent_m[first], alike)
            if near and down and _overlap(hills[at], hills[first]) >= alike.hills:
                routes[at] = first
                break
        else:
            routes[at] = at
            firsts.append(int(at))
    return pd.Series(routes, index=rides.index, name="route")


def both_ways(
    rides: pd.DataFrame, passes: pd.DataFrame, routes: pd.Series, alike: Alike = SAME_ROUTE
) -> list[tuple[int, int]]:
    """Routes that are one another ridden the other way.

    Parameters
    ----------
    rides : as of `same_routes`, with ``ride_ascent_m`` where it is known
    passes : as of `same_routes`
    routes : that it gave
    alike : when two rides went the same way

    Returns
    -------
    pairs : the one that was ridden first, and the one back; none of a route without hills, which looks alike both ways,
        or of one that comes back by the road that it went
    """
    known = passes.dropna(subset=["place"]) if "place" in passes else passes.iloc[:0].assign(key=None, place=None)
    ridden = {key: frozenset(places) for key, places in known.groupby("key")["place"]}
    keys = list(rides["key"])
    firsts = sorted({int(route) for route in routes if route >= 0})
    hills = {first: ridden.get(keys[first], frozenset()) for first in firsts}
    one_way = [
        first for first in firsts if hills[first] and _overlap(hills[first], _mirrored(hills[first])) < alike.hills
    ]
    distance_m, down_m, up_m = (numbers(rides, f"ride_{name}_m") for name in ("distance", "descent", "ascent"))
    pairs: list[tuple[int, int]] = []
    for at, there in enumerate(one_way):
        for back in one_way[at + 1 :]:
            if {there, back} & {each for pair in pairs for each in pair}:
                continue
            near = abs(distance_m[back] - distance_m[there]) <= alike.distance * distance_m[there]
            level = _as_far(down_m[back], up_m[there], alike) and _as_far(up_m[back], down_m[there], alike)
            if near and level and _overlap(hills[back], _mirrored(hills[there])) >= alike.hills:
                pairs.append((there, back))
    return pairs


def _as_far(some_m: float, other_m: float, alike: Alike) -> bool:
    """Whether two climbs or descents are about as high; what is not known agrees."""
    return not abs(some_m - other_m) > max(alike.descent * other_m, alike.descent_m)


_OTHER_WAY = {"up": "down", "down": "up"}


def _mirrored(places: frozenset[str]) -> frozenset[str]:
    """The same hills the other way."""
    parts = (place.rpartition("-") for place in places)
    return frozenset(f"{road}-{_OTHER_WAY.get(way, way)}" for road, _, way in parts)


def _overlap(some: frozenset[str], others: frozenset[str]) -> float:
    """Share of all hills that both have; 1 where neither has any."""
    return len(some & others) / len(some | others) if some or others else 1.0
