"""Lengths, speed and distance from satellite fixes: on the ellipsoid, without delay, without standing jitter."""

from typing import Any

import numpy as np

from ridelog.arrays import default_gap_limit_s
from ridelog.channels import CHANNELS


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


def position_speed_mps(
    time_s: np.ndarray,
    latitude_deg: np.ndarray,
    longitude_deg: np.ndarray,
    bridged_mask: np.ndarray,
    *,
    one_sided: bool = False,
) -> np.ndarray:
    """Speed from positions without delay.

    The velocity at a sample is the slope there of the parabola through it and both its neighbours (for equal
    steps the central difference), so that a join by speed is not shifted by half a step. A sample
    that has a neighbour on one side only has no speed, unless ``one_sided``: then the pace on that side.

    Parameters
    ----------
    time_s, latitude_deg, longitude_deg : shape (n,) [s], [°], [°]
    bridged_mask : shape (n - 1,), ``False`` for steps that are gaps

    Returns
    -------
    Speed, shape (n,), NaN where not known [m/s].
    """
    speed_mps = np.full(len(time_s), np.nan)
    if len(time_s) < 3:
        return speed_mps
    length_m, azimuth_deg = geodesic_m(latitude_deg[:-1], longitude_deg[:-1], latitude_deg[1:], longitude_deg[1:])
    step_s = np.diff(time_s)
    pace_mps = np.where(bridged_mask, length_m, np.nan) / step_s
    velocity = pace_mps * np.exp(1j * np.radians(azimuth_deg))  # complex: north + i east
    before_s, after_s = step_s[:-1], step_s[1:]
    speed_mps[1:-1] = np.abs((after_s * velocity[:-1] + before_s * velocity[1:]) / (before_s + after_s))
    if one_sided:
        pace_before, pace_after = np.append(np.nan, pace_mps), np.append(pace_mps, np.nan)
        speed_mps = np.where(np.isnan(speed_mps), np.fmin(pace_before, pace_after), speed_mps)
    return speed_mps


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


def position_distance_m(
    time_s: np.ndarray,
    latitude_deg: np.ndarray,
    longitude_deg: np.ndarray,
    *,
    standing_mps: float = 0.5,
    window_s: float = 6.0,
) -> np.ndarray:
    """Distance along the positions that does not count how they wander while the bike stands.

    Where the way made good over ``window_s`` stays below ``standing_mps``, the bike stands: of such a
    stretch only the way between its ends counts. A gap counts with the straight way across it; a leap that no
    bicycle rides does not count.

    Parameters
    ----------
    time_s, latitude_deg, longitude_deg : shape (n,), NaN where not known [s], [°], [°]
    standing_mps : slower than a walk, faster than a fix wanders [m/s]
    window_s : time over which the way made good is taken [s]

    Returns
    -------
    Cumulative distance, shape (n,), 0 at the first known sample, NaN where the position is not known [m].
    """
    distance_m = np.full(len(time_s), np.nan)
    known = np.flatnonzero(np.isfinite(latitude_deg + longitude_deg))
    if not len(known):
        return distance_m
    at_s, lat, lon = time_s[known], latitude_deg[known], longitude_deg[known]
    before = np.maximum(np.searchsorted(at_s, at_s - window_s / 2, side="right") - 1, 0)
    after = np.minimum(np.searchsorted(at_s, at_s + window_s / 2, side="left"), len(at_s) - 1)
    made_good_m, _ = geodesic_m(lat[before], lon[before], lat[after], lon[after])
    standing_mask = made_good_m < standing_mps * np.maximum(at_s[after] - at_s[before], 1e-9)
    inner_mask = standing_mask.copy()  # within a stretch, not at its ends
    inner_mask[1:] &= standing_mask[:-1]
    inner_mask[:-1] &= standing_mask[1:]
    kept = np.flatnonzero(~inner_mask | (np.arange(len(known)) % max(len(known) - 1, 1) == 0))
    lengths_m, _ = geodesic_m(lat[kept[:-1]], lon[kept[:-1]], lat[kept[1:]], lon[kept[1:]])
    lengths_m[_leaps(lengths_m, np.diff(at_s[kept]))] = 0.0
    distance_m[known] = np.interp(at_s, at_s[kept], np.concatenate(([0.0], np.cumsum(lengths_m))))
    return distance_m


def _leaps(length_m: np.ndarray, step_s: np.ndarray, *, scatter_m: float = 30.0) -> np.ndarray:
    """Which legs no bicycle rides, even if both ends are off by the ordinary scatter of satellite fixes."""
    mask: np.ndarray = length_m > CHANNELS["speed_mps"].high * step_s + scatter_m
    return mask


def leaps_m(time_s: np.ndarray, latitude_deg: np.ndarray, longitude_deg: np.ndarray) -> dict[float, float]:
    """Legs between known positions that no bicycle rides: time of arrival [s] and length [m]."""
    known = np.flatnonzero(np.isfinite(latitude_deg + longitude_deg))
    at_s, lat, lon = time_s[known], latitude_deg[known], longitude_deg[known]
    length_m, _ = geodesic_m(lat[:-1], lon[:-1], lat[1:], lon[1:])
    found = np.flatnonzero(_leaps(length_m, np.diff(at_s)))
    return {float(at_s[k + 1]): float(length_m[k]) for k in found}


def stray_mask(
    time_s: np.ndarray,
    latitude_deg: np.ndarray,
    longitude_deg: np.ndarray,
    *,
    leg_m: float = 30.0,
    pace_mps: float = 20.0,
) -> np.ndarray:
    """Single fixes far off the way: out and back again in two legs that no bicycle rides at that pace.

    Parameters
    ----------
    time_s, latitude_deg, longitude_deg : shape (n,), NaN where not known [s], [°], [°]
    leg_m : shorter excursions are ordinary scatter of satellite fixes [m]
    pace_mps : both legs must be faster [m/s]

    Returns
    -------
    Mask, shape (n,).
    """
    mask = np.zeros(len(time_s), dtype=bool)
    known = np.flatnonzero(np.isfinite(latitude_deg + longitude_deg))
    if len(known) < 3:
        return mask
    lat, lon = latitude_deg[known], longitude_deg[known]
    legs_m, _ = geodesic_m(lat[:-1], lon[:-1], lat[1:], lon[1:])
    around_m, _ = geodesic_m(lat[:-2], lon[:-2], lat[2:], lon[2:])
    far_mask = (legs_m > leg_m) & (legs_m > pace_mps * np.diff(time_s[known]))
    found_mask = far_mask[:-1] & far_mask[1:] & (legs_m[:-1] + legs_m[1:] > 3 * around_m)
    mask[known[1:-1][found_mask]] = True
    return mask


def speed_from_fixes_mps(
    time_s: np.ndarray, latitude_deg: np.ndarray, longitude_deg: np.ndarray, broken_mask: np.ndarray
) -> np.ndarray:
    """Speed at the log's own samples from the fixes that are new; none where they jump faster than any bicycle."""
    fresh = np.flatnonzero(fresh_mask(latitude_deg, longitude_deg) & np.isfinite(latitude_deg + longitude_deg))
    if len(fresh) < 3:
        return np.full(len(time_s), np.nan)
    breaks = np.concatenate(([0], np.cumsum(broken_mask)))[fresh]
    at_s = time_s[fresh]
    bridged_mask = (np.diff(breaks) == 0) & (np.diff(at_s) <= default_gap_limit_s(at_s))
    lat, lon = latitude_deg[fresh], longitude_deg[fresh]
    legs_m, _ = geodesic_m(lat[:-1], lon[:-1], lat[1:], lon[1:])
    bridged_mask &= legs_m <= CHANNELS["speed_mps"].high * np.diff(at_s)
    fix_mps = position_speed_mps(at_s, lat, lon, bridged_mask)
    if len(fresh) == len(time_s):
        return fix_mps
    speed_mps: np.ndarray = np.interp(time_s, at_s, fix_mps)  # NaN at a fix spreads to both its sides, as it should
    speed_mps[(time_s < at_s[0]) | (time_s > at_s[-1])] = np.nan
    return speed_mps
