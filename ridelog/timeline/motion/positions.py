"""Speed and distance from satellite fixes: on the ellipsoid, without delay, without standing jitter."""

import numpy as np

from ridelog.arrays import default_gap_limit_s
from ridelog.channels import CHANNELS
from ridelog.timeline.motion.fixes import Fixes, fresh_mask
from ridelog.timeline.motion.spacing import Spacing, spacing
from ridelog.timeline.motion.strays import leap_mask


def position_speed_mps(fixes: Fixes, bridged_mask: np.ndarray, *, one_sided: bool = False) -> np.ndarray:
    """Speed from positions without delay.

    The velocity at a sample is the slope there of the parabola through it and both its neighbours (for equal
    steps the central difference), so that a join by speed is not shifted by half a step.

    Parameters
    ----------
    fixes : shape (n,)
    bridged_mask : shape (n - 1,), ``False`` for steps that are gaps
    one_sided : a sample that has a neighbour on one side only takes the pace on that side; else it has no speed

    Returns
    -------
    Speed, shape (n,), NaN where not known [m/s].
    """
    speed_mps = np.full(len(fixes.time_s), np.nan)
    if len(fixes.time_s) < 3:
        return speed_mps
    order = np.arange(len(fixes.time_s))
    length_m, azimuth_deg = fixes.between(order[:-1], order[1:])
    step_s = np.diff(fixes.time_s)
    pace_mps = np.where(bridged_mask, length_m, np.nan) / step_s
    velocity = pace_mps * np.exp(1j * np.radians(azimuth_deg))  # complex: north + i east
    before_s, after_s = step_s[:-1], step_s[1:]
    speed_mps[1:-1] = np.abs((after_s * velocity[:-1] + before_s * velocity[1:]) / (before_s + after_s))
    if one_sided:
        pace_before, pace_after = np.append(np.nan, pace_mps), np.append(pace_mps, np.nan)
        speed_mps = np.where(np.isnan(speed_mps), np.fmin(pace_before, pace_after), speed_mps)
    return speed_mps


def speed_from_fixes_mps(fixes: Fixes, broken_mask: np.ndarray) -> np.ndarray:
    """Speed at the log's own samples from the fixes that are new; none where they jump faster than any bicycle.

    Parameters
    ----------
    fixes : shape (n,)
    broken_mask : shape (n - 1,), ``True`` for steps that are pauses or gaps

    Returns
    -------
    Speed, shape (n,), NaN where not known [m/s].
    """
    time_s = fixes.time_s
    known_mask = np.isfinite(fixes.latitude_deg + fixes.longitude_deg)
    fresh = np.flatnonzero(fresh_mask(fixes.latitude_deg, fixes.longitude_deg) & known_mask)
    if len(fresh) < 3:
        return np.full(len(time_s), np.nan)
    breaks = np.concatenate(([0], np.cumsum(broken_mask)))[fresh]
    new = fixes.at(fresh)
    steps_s = np.diff(new.time_s)
    bridged_mask = (np.diff(breaks) == 0) & (steps_s <= default_gap_limit_s(new.time_s))
    bridged_mask &= new.legs_m() <= CHANNELS["speed_mps"].high * steps_s
    fix_mps = position_speed_mps(new, bridged_mask)
    if len(fresh) == len(time_s):
        return fix_mps
    # NaN at a fix spreads to both its sides, as it should
    speed_mps: np.ndarray = np.interp(time_s, new.time_s, fix_mps, left=np.nan, right=np.nan)
    return speed_mps


def position_distance_m(fixes: Fixes, *, standing_mps: float = 0.5, window_s: float = 6.0) -> np.ndarray:
    """Distance along the positions that does not count how they wander while the bike stands.

    Where the way made good over ``window_s`` stays below ``standing_mps``, the bike stands: of such a
    stretch only the way between its ends counts. A gap counts with the straight way across it; a leap that no
    bicycle rides does not count.

    Parameters
    ----------
    fixes : shape (n,)
    standing_mps : slower than a walk, faster than a fix wanders [m/s]
    window_s : time over which the way made good is taken [s]

    Returns
    -------
    Cumulative distance, shape (n,), 0 at the first known sample, NaN where the position is not known [m].
    """
    distance_m = np.full(len(fixes.time_s), np.nan)
    known = fixes.known
    if not len(known.time_s):
        return distance_m
    counted = known.at(np.flatnonzero(~_within_standing(known, standing_mps, window_s)))
    lengths_m = counted.legs_m()
    lengths_m[leap_mask(lengths_m, np.diff(counted.time_s))] = 0.0
    along_m = np.concatenate(([0.0], np.cumsum(lengths_m)))
    distance_m[fixes.known_at] = np.interp(known.time_s, counted.time_s, along_m)
    return distance_m


def position_spacing(fixes: Fixes, *, standing_mps: float = 0.5, window_s: float = 6.0) -> Spacing:
    """How far apart the fixes are that a distance along them counts.

    Parameters
    ----------
    fixes : shape (n,)
    standing_mps, window_s : as for `position_distance_m` [m/s], [s]

    Returns
    -------
    Spacing, with what bends between the fixes took off the way.
    """
    known = fixes.known
    if not len(known.time_s):
        return Spacing()
    return spacing(known.at(np.flatnonzero(~_within_standing(known, standing_mps, window_s))))


def _within_standing(fixes: Fixes, standing_mps: float, window_s: float) -> np.ndarray:
    """Mask of fixes within a stretch of standing, neither at its ends nor first or last of all."""
    at_s, n = fixes.time_s, len(fixes.time_s)
    before = np.maximum(np.searchsorted(at_s, at_s - window_s / 2, side="right") - 1, 0)
    after = np.minimum(np.searchsorted(at_s, at_s + window_s / 2, side="left"), n - 1)
    made_good_m, _ = fixes.between(before, after)
    standing_mask = made_good_m < standing_mps * np.maximum(at_s[after] - at_s[before], 1e-9)
    inner_mask: np.ndarray = standing_mask.copy()
    inner_mask[1:] &= standing_mask[:-1]
    inner_mask[:-1] &= standing_mask[1:]
    inner_mask[[0, -1]] = False
    return inner_mask
