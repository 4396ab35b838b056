"""Where on the earth a point along the ride is, and which hills are one road ridden both ways."""

import numpy as np

from ridelog.analysis.road.hills.slopes import Slope
from ridelog.analysis.road.profile import Profile
from ridelog.answer.hills import Place
from ridelog.arrays import Floats
from ridelog.lazy import dataclass

NEAR_M = 100.0  # a position further away along the road says little about a place; tracks have one every 5 to 50 m


@dataclass(frozen=True)
class Positions:
    """Where the ride was known to be, in order along it; each shape (n,), the longitude without a leap at 180°.

    Attributes
    ----------
    along_m : distance along the ride, never falling [m]
    latitude_deg, longitude_deg : [°]
    """

    along_m: Floats
    latitude_deg: Floats
    longitude_deg: Floats

    @classmethod
    def known(cls, distance_m: Floats, latitude_deg: Floats, longitude_deg: Floats) -> "Positions":
        """Those of a ride.

        Parameters
        ----------
        distance_m, latitude_deg, longitude_deg : shape (n,), NaN where not known; the distance never falls [m], [°]

        Returns
        -------
        Positions where all three are known.
        """
        known = np.isfinite(distance_m) & np.isfinite(latitude_deg) & np.isfinite(longitude_deg)
        along_m, latitude, longitude = (
            values if known.all() else values[known] for values in (distance_m, latitude_deg, longitude_deg)
        )
        if len(longitude) and np.ptp(longitude) > 180.0:  # past the line where east meets west
            longitude = np.unwrap(longitude, period=360.0)
        return cls(along_m, latitude, longitude)

    def place(self, at_m: float, *, near_m: float = NEAR_M) -> Place | None:
        """The place at a distance along the ride, on the straight line between the positions before and after it.

        ``None`` where the nearest position is further away along the road than ``near_m``.
        """
        after = int(np.searchsorted(self.along_m, at_m))
        nearest_m = np.abs(self.along_m[max(after - 1, 0) : after + 1] - at_m)
        if not len(nearest_m) or float(nearest_m.min()) > near_m:
            return None
        latitude, longitude = (
            float(np.interp(at_m, self.along_m, axis)) for axis in (self.latitude_deg, self.longitude_deg)
        )
        return Place(latitude, (longitude + 180.0) % 360.0 - 180.0)


def same_hill_pairs(
    slopes: list[Slope], profile: Profile, east_m: Floats, north_m: Floats, *, tolerance_m: float = 50.0
) -> list[tuple[int, int]]:
    """Indices (up, down) of slopes that are one road ridden both ways.

    Start of one and end of the other, and the points halfway, lie within ``tolerance_m``: twice the usual
    error of a satellite position, and what the smoothing may move a foot or a top.

    Parameters
    ----------
    slopes : in riding order
    profile : the heights
    east_m, north_m : shape (m,), position on the profile's grid [m]
    tolerance_m : see above [m]

    Returns
    -------
    Each slope in one pair at most.
    """
    ups, downs = ([k for k, slope in enumerate(slopes) if slope.direction == way] for way in ("up", "down"))
    climbed, ridden = (_corners(slopes, some, profile, east_m, north_m) for some in (ups, downs))
    pairs: list[tuple[int, int]] = []
    free_mask = np.ones(len(downs), dtype=bool)
    for up, corners in zip(ups, climbed, strict=True):
        if not free_mask.any():
            break
        apart_m = np.hypot(*np.moveaxis(ridden[:, ::-1] - corners, 2, 0)).max(axis=1)
        best = int(np.argmin(np.where(free_mask & np.isfinite(apart_m), apart_m, np.inf)))
        if free_mask[best] and apart_m[best] <= tolerance_m:
            pairs.append((up, downs[best]))
            free_mask[best] = False
    return pairs


def _corners(slopes: list[Slope], some: list[int], profile: Profile, east_m: Floats, north_m: Floats) -> Floats:
    """Where some slopes begin, are halfway, and end, shape (n, 3, 2) [m]."""
    bounds = profile.distance_m[np.array([[slopes[k].start, slopes[k].end] for k in some], dtype=int).reshape(-1, 2)]
    at_m = bounds[:, :1] + np.array([0.0, 0.5, 1.0]) * (bounds[:, 1:] - bounds[:, :1])
    return np.stack([np.interp(at_m, profile.distance_m, axis) for axis in (east_m, north_m)], axis=2)
