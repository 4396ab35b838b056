"""Satellite fixes, geodesics between them, and which of a log's rows hold a new reading."""

from functools import cached_property
from typing import Any

import numpy as np

from ridelog.lazy import dataclass

STANDING_MPS = 0.5  # slower than a walk, faster than a fix wanders
STANDING_OVER_S = 6.0  # over which the way made good is taken


@dataclass(frozen=True, eq=False)
class Fixes:
    """Satellite fixes of one recording, each array of shape (n,), NaN where not known [s], [°]."""

    time_s: np.ndarray
    latitude_deg: np.ndarray
    longitude_deg: np.ndarray

    @cached_property
    def known(self) -> "Fixes":
        """Those with a position."""
        return self.at(self.known_at)

    @cached_property
    def known_at(self) -> np.ndarray:
        """Indices of those with a position."""
        return np.flatnonzero(np.isfinite(self.latitude_deg + self.longitude_deg))

    def at(self, which: np.ndarray) -> "Fixes":
        """Those at the indices, which increase."""
        if len(which) == len(self.time_s):
            return self  # whose legs may be known
        return Fixes(self.time_s[which], self.latitude_deg[which], self.longitude_deg[which])

    def without(self, mask: np.ndarray) -> "Fixes":
        """All, the positions of those in the mask not known."""
        if not mask.any():
            return self
        return Fixes(self.time_s, np.where(mask, np.nan, self.latitude_deg), np.where(mask, np.nan, self.longitude_deg))

    def between(self, first: np.ndarray, last: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """Length [m] and starting azimuth [°] of the geodesics from fixes to fixes, both as indices."""
        return geodesic_m(
            self.latitude_deg[first], self.longitude_deg[first], self.latitude_deg[last], self.longitude_deg[last]
        )

    @cached_property
    def legs(self) -> tuple[np.ndarray, np.ndarray]:
        """Length [m] and starting azimuth [°] of the geodesic from each fix to the next, shape (n - 1,) each."""
        order = np.arange(len(self.time_s))
        return self.between(order[:-1], order[1:])

    def legs_m(self, apart: int = 1) -> np.ndarray:
        """Length of the geodesic from each fix to that ``apart`` fixes later, shape (n - apart,) [m]."""
        order = np.arange(len(self.time_s))
        return self.legs[0] if apart == 1 else self.between(order[:-apart], order[apart:])[0]

    @cached_property
    def riding(self) -> "Fixes":
        """Those, all known, not within a stretch of standing: its ends, and the first and the last of all, stay.

        Where the way made good over `STANDING_OVER_S` stays below `STANDING_MPS`, the bike stands.
        """
        at_s, n = self.time_s, len(self.time_s)
        before = np.maximum(np.searchsorted(at_s, at_s - STANDING_OVER_S / 2, side="right") - 1, 0)
        after = np.minimum(np.searchsorted(at_s, at_s + STANDING_OVER_S / 2, side="left"), n - 1)
        made_good_m, _ = self.between(before, after)
        standing_mask = made_good_m < STANDING_MPS * np.maximum(at_s[after] - at_s[before], 1e-9)
        kept_mask = ~standing_mask
        kept_mask[1:] |= ~standing_mask[:-1]
        kept_mask[:-1] |= ~standing_mask[1:]
        kept_mask[[0, -1]] = True
        return self.at(np.flatnonzero(kept_mask))


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
