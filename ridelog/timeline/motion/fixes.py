"""Satellite fixes, geodesics between them, and which of a log's rows hold a new reading."""

from dataclasses import dataclass
from typing import Any

import numpy as np


@dataclass(frozen=True)
class Fixes:
    """Satellite fixes of one recording, each array of shape (n,), NaN where not known [s], [°]."""

    time_s: np.ndarray
    latitude_deg: np.ndarray
    longitude_deg: np.ndarray

    @property
    def known(self) -> "Fixes":
        """Those with a position."""
        return self.at(self.known_at)

    @property
    def known_at(self) -> np.ndarray:
        """Indices of those with a position."""
        return np.flatnonzero(np.isfinite(self.latitude_deg + self.longitude_deg))

    def at(self, which: np.ndarray) -> "Fixes":
        """Those at the indices."""
        return Fixes(self.time_s[which], self.latitude_deg[which], self.longitude_deg[which])

    def without(self, mask: np.ndarray) -> "Fixes":
        """All, the positions of those in the mask not known."""
        return Fixes(self.time_s, np.where(mask, np.nan, self.latitude_deg), np.where(mask, np.nan, self.longitude_deg))

    def between(self, first: np.ndarray, last: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """Length [m] and starting azimuth [°] of the geodesics from fixes to fixes, both as indices."""
        return geodesic_m(
            self.latitude_deg[first], self.longitude_deg[first], self.latitude_deg[last], self.longitude_deg[last]
        )

    def legs_m(self, apart: int = 1) -> np.ndarray:
        """Length of the geodesic from each fix to that ``apart`` fixes later, shape (n - apart,) [m]."""
        order = np.arange(len(self.time_s))
        return self.between(order[:-apart], order[apart:])[0]


def _geod() -> Any:
    from pyproj import Geod

    return Geod(ellps="WGS84")


def geodesic_m(
    start_latitude_deg: np.ndarray,
    start_longitude_deg: np.ndarray,
    end_latitude_deg: np.ndarray,
    end_longitude_deg: np.ndarray,
) -> tuple[np.ndarray, np.ndarray]:
    """Length and starting azimuth of the geodesic on the WGS 84 ellipsoid.

    Parameters
    ----------
    start_latitude_deg, start_longitude_deg, end_latitude_deg, end_longitude_deg : shape (n,), NaN allowed [°]

    Returns
    -------
    length_m : shape (n,), NaN where an end is not known [m]
    azimuth_deg : clockwise from north at the start, likewise [°]

    References
    ----------
    C. F. F. Karney, "Algorithms for geodesics", Journal of Geodesy 87, 43-55 (2013),
    doi 10.1007/s00190-012-0578-z, as pyproj computes it.
    """
    ends = [
        np.atleast_1d(np.asarray(value, dtype=float))
        for value in (start_longitude_deg, start_latitude_deg, end_longitude_deg, end_latitude_deg)
    ]
    known_mask = np.isfinite(np.sum(ends, axis=0))
    length_m, azimuth_deg = np.full(len(known_mask), np.nan), np.full(len(known_mask), np.nan)
    azimuth_deg[known_mask], _, length_m[known_mask] = _geod().inv(*(end[known_mask] for end in ends))
    return length_m, azimuth_deg


def fresh_mask(*columns: np.ndarray, regular: float = 0.9) -> np.ndarray:
    """Mask of samples that hold a new reading, for a log that repeats each until the next one comes.

    Repeated readings come late by half the time between readings, on average, and their differences jump. A log is
    taken to repeat its readings where nearly all changes lie a multiple of the same number of samples apart; a
    sample then counts as a new reading at every such multiple after the last change.

    Parameters
    ----------
    columns : readings that change together, each shape (n,)
    regular : share of the changes that must keep the rhythm, else every sample is new [1]

    Returns
    -------
    Mask, shape (n,).
    """
    order = np.arange(len(columns[0]))
    changed_mask = np.ones(len(order), dtype=bool)
    changed_mask[1:] = np.any([np.diff(column) != 0 for column in columns], axis=0)
    apart = np.diff(order[changed_mask])
    usual = int(np.median(apart)) if len(apart) > 2 else 1
    slack = 1 if usual >= 5 else 0
    if usual < 2 or np.mean(np.abs(apart - usual * np.rint(apart / usual)) <= slack) < regular:
        return np.ones(len(order), dtype=bool)
    since = order - np.maximum.accumulate(np.where(changed_mask, order, 0))
    mask: np.ndarray = since % usual == 0
    return mask
