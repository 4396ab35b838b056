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
    length_m, azimuth_deg = fixes.legs
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


def position_distance_m(fixes: Fixes) -> np.ndarray:
    """Distance along the positions that does not count how they wander while the bike stands.

    Of a stretch of standing only the way between its ends counts, see `Fixes.riding`. A gap counts with the straight
    way across it; a leap that no bicycle rides does not count.

    Parameters
    ----------
    fixes : shape (n,)

    Returns
    -------
    Cumulative distance, shape (n,), 0 at the first known sample, NaN where the position is not known [m].
    """
    distance_m = np.full(len(fixes.time_s), np.nan)
    known = fixes.known
    if not len(known.time_s):
        return distance_m
    counted = known.riding
    lengths_m = counted.legs_m()
    lengths_m = np.where(leap_mask(lengths_m, np.diff(counted.time_s)), 0.0, lengths_m)
    along_m = np.concatenate(([0.0], np.cumsum(lengths_m)))
    distance_m[fixes.known_at] = np.interp(known.time_s, counted.time_s, along_m)
    return distance_m


def position_spacing(fixes: Fixes) -> Spacing:
    """How far apart the fixes are that a distance along them counts.

    Parameters
    ----------
    fixes : shape (n,)

    Returns
    -------
    Spacing, with what bends between the fixes took off the way.
    """
    return spacing(fixes.known.riding) if len(fixes.known_at) else Spacing()
