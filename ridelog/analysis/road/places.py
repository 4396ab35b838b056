"""Where on the earth a point along the ride is."""

import numpy as np

from ridelog.answer.hills import Place
from ridelog.arrays import Floats

NEAR_M = 100.0  # a position further away along the road says little about a place; tracks have one every 5 to 50 m


def place_along(
    at_m: float, distance_m: Floats, latitude_deg: Floats, longitude_deg: Floats, *, near_m: float = NEAR_M
) -> Place | None:
    """The place at a distance along the ride, on the straight line between the positions before and after it.

    Parameters
    ----------
    at_m : distance along the ride [m]
    distance_m, latitude_deg, longitude_deg : shape (n,), NaN where not known; the distance never falls [m], [°], [°]
    near_m : the nearest known position must lie within this along the road [m]

    Returns
    -------
    place : ``None`` where no position is near enough
    """
    known = np.isfinite(distance_m) & np.isfinite(latitude_deg) & np.isfinite(longitude_deg)
    along_m = distance_m[known]
    if not len(along_m) or float(np.abs(along_m - at_m).min()) > near_m:
        return None
    latitude = float(np.interp(at_m, along_m, latitude_deg[known]))
    longitude = float(np.interp(at_m, along_m, np.unwrap(longitude_deg[known], period=360.0)))
    return Place(latitude, (longitude + 180.0) % 360.0 - 180.0)
