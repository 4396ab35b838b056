"""Positions on a plane, and the way that the bike goes on it."""

import math
from bisect import bisect_left
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from ridelog.arrays import Floats, column
from ridelog.lazy import dataclass

if TYPE_CHECKING:
    from pyproj import Proj

KNOT = 32  # positions of a fast log that are projected by one
NEAR_DEG = 2e-4  # 22 m
MOST_TRIED = 1_400  # places that are each held against all others: less than a million pairs
TRIED_AT_ONCE = 128


@dataclass(frozen=True)
class Plane:
    """Positions east and north of the first known one, shape (n,) each, NaN where not known [m]."""

    east_m: Floats
    north_m: Floats


def plane_of(series: pd.DataFrame) -> Plane | None:
    """The positions of a ride's common series on a plane; ``None`` without any.

    Azimuthal equidistant on WGS 84 about the first known position: distances and directions from there are true, and
    within a day's ride of it wrong by less than 1 in 10 000.

    References
    ----------
    Snyder, Map projections: a working manual, US Geological Survey Professional Paper 1395 (1987), pp. 191-202.
    """
    if "latitude_deg" not in series or "longitude_deg" not in series:
        return None
    latitude, longitude = column(series, "latitude_deg"), column(series, "longitude_deg")
    known = np.isfinite(latitude) & np.isfinite(longitude)
    if not known.any():
        return None
    from pyproj import Proj

    first = int(np.argmax(known))
    plane = Proj(proj="aeqd", lat_0=latitude[first], lon_0=longitude[first], ellps="WGS84")
    east, north = np.full(len(series), np.nan), np.full(len(series), np.nan)
    east[known], north[known] = _on_plane(plane, longitude[known], latitude[known])
    return Plane(east, north)


def _on_plane(plane: "Proj", longitude: Floats, latitude: Floats) -> tuple[Floats, Floats]:
    """Positions on a plane, shape (n,) each [m]; of many only each `KNOT`th by the projection itself.

    Those after it, as far as `NEAR_DEG`, follow straight from how the projection changes there: the earth bends away by
    no more than a tenth of a millimetre.
    """
    if len(longitude) < 100 * KNOT:
        east, north = plane(longitude, latitude)
        return east, north
    knots = slice(None, None, KNOT)
    step = 1e-5
    here, eastward, northward = (
        np.repeat(plane(longitude[knots] + more_east, latitude[knots] + more_north), KNOT, axis=1)[:, : len(longitude)]
        for more_east, more_north in ((0.0, 0.0), (step, 0.0), (0.0, step))
    )
    by_lon = longitude - np.repeat(longitude[knots], KNOT)[: len(longitude)]
    by_lat = latitude - np.repeat(latitude[knots], KNOT)[: len(longitude)]
    places = here + ((eastward - here) * by_lon + (northward - here) * by_lat) / step
    far = (np.abs(by_lon) > NEAR_DEG) | (np.abs(by_lat) > NEAR_DEG)
    places[:, far] = plane(longitude[far], latitude[far])
    return places[0], places[1]


def heading_rad(east_m: Floats, north_m: Floats, *, least_m: float = 10.0) -> Floats:
    """The way that the bike goes, clockwise from north, from positions that lie at least ``least_m`` apart.

    Parameters
    ----------
    east_m, north_m : positions on a plane, shape (n,), NaN where not known [m]
    least_m : closer positions show their own errors [m]

    Returns
    -------
    Shape (n,); held where the bike stands; all 0 where it never moves [rad]
    """
    known = np.flatnonzero(np.isfinite(east_m) & np.isfinite(north_m))
    result = np.zeros(len(east_m))
    if len(known) < 2:
        return result
    kept = known[_apart(east_m[known], north_m[known], least_m)]
    if len(kept) < 2:
        return result
    legs = np.arctan2(np.diff(east_m[kept]), np.diff(north_m[kept]))
    result[:] = legs[np.clip(np.searchsorted(kept, np.arange(len(east_m)), side="right") - 1, 0, len(legs) - 1)]
    return result


def _apart(east_m: Floats, north_m: Floats, least_m: float) -> list[int]:
    """The first position, the next that lies ``least_m`` from it, and so on.

    One after the other, as each hangs on the one before. What lies within ``least_m`` along the way is no further off
    in a straight line, and is passed over.
    """
    way_m = np.concatenate(([0.0], np.cumsum(np.hypot(np.diff(east_m), np.diff(north_m)))))
    least_way_m = least_m - 1e-9 * (least_m + float(way_m[-1]))  # for the rounding of the sum
    kept, n, way = [0], len(way_m), way_m.data  # which give plain numbers, quicker one by one
    east, north = (np.ascontiguousarray(axis).data for axis in (east_m, north_m))
    while (at := kept[-1]) < n:
        here, nearest = (east[at], north[at]), bisect_left(way, way[at] + least_way_m, at + 1)
        apart = (k for k in range(nearest, n) if math.hypot(east[k] - here[0], north[k] - here[1]) >= least_m)
        kept.append(next(apart, n))
    return kept[:-1]


def passes_of_one_road(
    place_m: Floats, along_m: Floats, *, near_m: float, apart_m: float, most_pairs: int = 1_000_000
) -> tuple[NDArray[np.intp], NDArray[np.intp], Floats]:
    """Places passed twice, and how much further along the road the second of each pair lies.

    Parameters
    ----------
    place_m : east and north, shape (m, 2) [m]
    along_m : distance along the ride, shape (m,) [m]
    near_m : so near two places are one of the road [m]
    apart_m : so far apart along the ride they are two passes [m]
    most_pairs : of a bike whose positions stay while its distance grows there are m² near each other; where there are
        more than this, and more than `MOST_TRIED` places, every second, third or further place is looked at [1]

    Returns
    -------
    Indices of both places of each pair, by the first, and the way between them [m].
    """
    here, there = _near_each_other(place_m, near_m, most_pairs)
    apart = np.abs(along_m[here] - along_m[there]) > apart_m
    here, there = here[apart], there[apart]
    way = np.gradient(place_m, along_m, axis=0)
    way = way / np.maximum(np.hypot(way[:, 0], way[:, 1]), 1e-9)[:, None]
    parallel = np.abs((way[here] * way[there]).sum(axis=1)) > 0.9  # a crossing may be a bridge
    here, there = here[parallel], there[parallel]
    order = np.lexsort((there, here))
    here, there = here[order], there[order]
    return here, there, ((place_m[there] - place_m[here]) * way[here]).sum(axis=1)


def _near_each_other(place_m: Floats, near_m: float, most_pairs: int) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """Indices of places no further than ``near_m`` from each other; of few places without a tree, slow to load."""
    if len(place_m) <= MOST_TRIED:
        at_m = place_m[:, 0] + 1j * place_m[:, 1]
        blocks = range(0, len(at_m), TRIED_AT_ONCE)
        near = [np.argwhere(np.abs(at_m[k : k + TRIED_AT_ONCE, None] - at_m[k:]) <= near_m) + k for k in blocks]
        here, there = np.concatenate(near).T
        return here[here < there], there[here < there]
    from scipy.spatial import cKDTree

    tree = cKDTree(place_m)
    n_pairs = (tree.count_neighbors(tree, near_m) - len(place_m)) // 2
    chosen = np.arange(0, len(place_m), math.ceil(math.sqrt(max(n_pairs / most_pairs, 1.0))))
    here, there = chosen[cKDTree(place_m[chosen]).query_pairs(near_m, output_type="ndarray").T]
    return here, there
