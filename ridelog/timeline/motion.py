"""How fast and how far one recording went: from wheel, device or positions, and which of them is best."""

from dataclasses import dataclass, field
from typing import Any, Literal

import numpy as np
import pandas as pd

from ridelog.bike import Bike
from ridelog.findings import Finding
from ridelog.recording import Recording
from ridelog.timeline.gaps import default_gap_limit_s, pause_steps, time_gaps

SpeedSource = Literal["wheel", "device", "positions", "distance"]
DistanceSource = Literal["device", "positions", "wheel", "speed"]

NOMINAL_CIRCUMFERENCE_M = 2.1  # only ever used where the scale does not matter


@dataclass(frozen=True)
class Motion:
    """Speed and distance of one recording at its own samples, by source, best source first.

    Attributes
    ----------
    speeds_mps : each shape (n,), NaN where not known; impossible samples taken out [m/s]
    distances_m : each shape (n,), cumulative from the first known sample, NaN where not known [m]
    wheel_scale_known : ``False`` where the wheel's speed rests on a nominal circumference; such a speed is
        listed last and no distance comes from it
    """

    speeds_mps: dict[SpeedSource, np.ndarray] = field(default_factory=dict)
    distances_m: dict[DistanceSource, np.ndarray] = field(default_factory=dict)
    wheel_scale_known: bool = True
    findings: tuple[Finding, ...] = ()


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


def _fresh(*columns: np.ndarray) -> np.ndarray:
    """Mask of samples that hold a new fix, for a log that repeats each fix until the next one comes.

    A fix that stays the same for longer than the usual time between fixes is a bike that stands: there, a
    sample counts as a new fix at every such time.
    """
    changed_mask = np.ones(len(columns[0]), dtype=bool)
    changed_mask[1:] = np.any([np.diff(column) != 0 for column in columns], axis=0)
    order = np.arange(len(changed_mask))
    at = order[changed_mask]
    usual = max(int(np.median(np.diff(at))), 1) if len(at) > 2 else 1
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
    stretch only the way between its ends counts. A gap counts with the straight way across it.

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
    distance_m[known] = np.interp(at_s, at_s[kept], np.concatenate(([0.0], np.cumsum(lengths_m))))
    return distance_m


def integral_m(time_s: np.ndarray, speed_mps: np.ndarray, bridged_mask: np.ndarray) -> np.ndarray:
    """Distance as the integral of speed (trapezoid); a gap adds nothing, for nothing is known of it.

    Parameters
    ----------
    time_s, speed_mps : shape (n,), NaN where not known [s], [m/s]
    bridged_mask : shape (n - 1,), ``False`` for steps that are gaps

    Returns
    -------
    Cumulative distance, shape (n,), from 0, NaN where the speed is not known [m].
    """
    steps_m = np.diff(time_s) * (speed_mps[:-1] + speed_mps[1:]) / 2
    counted_m = np.where(bridged_mask & np.isfinite(steps_m), steps_m, 0.0)
    return np.where(np.isfinite(speed_mps), np.concatenate(([0.0], np.cumsum(counted_m))), np.nan)


def spike_mask(
    time_s: np.ndarray,
    speed_mps: np.ndarray,
    *,
    limit_mps2: float = 8.0,
    least_mps: float = 2.0,
    longest: int = 2,
) -> np.ndarray:
    """Samples that leave the course of the speed, and return to it, faster than any bicycle could.

    Parameters
    ----------
    time_s, speed_mps : shape (n,) [s], [m/s]
    limit_mps2 : a change of speed beyond this, one way and straight back the other way, is impossible: 0.8 g
        is about where a bicycle tips over its front wheel, and no drive regains speed at 0.8 g [m/s²]
    least_mps : smaller excursions are coarse resolution, not spikes [m/s]
    longest : most samples that an excursion may last [1]

    Returns
    -------
    Mask, shape (n,).
    """
    mask = np.zeros(len(time_s), dtype=bool)
    known = np.flatnonzero(np.isfinite(speed_mps))
    value, at_s = speed_mps[known], time_s[known]
    for width in range(1, longest + 1):
        if len(known) < width + 2:
            break
        first, last = value[1 : len(value) - width], value[width : len(value) - 1]
        rise = first - value[: len(first)]
        fall = last - value[width + 1 :]
        rise_s = at_s[1 : len(at_s) - width] - at_s[: len(first)]
        fall_s = at_s[width + 1 :] - at_s[width : len(at_s) - 1]
        found = (np.minimum(np.abs(rise), np.abs(fall)) > least_mps) & (rise * fall > 0)
        found &= (np.abs(rise) > limit_mps2 * rise_s) & (np.abs(fall) > limit_mps2 * fall_s)
        for k in range(width):
            mask[known[np.flatnonzero(found) + 1 + k]] = True
    return mask


def resume_mask(
    time_s: np.ndarray,
    speed_mps: np.ndarray,
    position_mps: np.ndarray,
    broken_mask: np.ndarray,
    *,
    near_s: float = 10.0,
    excess_mps: float = 3.0,
) -> np.ndarray:
    """Samples close to a pause or gap whose speed the positions contradict.

    Parameters
    ----------
    time_s, speed_mps, position_mps : shape (n,), speed to check and speed from positions [s], [m/s], [m/s]
    broken_mask : shape (n - 1,), ``True`` for steps that are pauses or gaps
    near_s : how close to the pause; devices catch up on what they missed within seconds [s]
    excess_mps : the speed is contradicted above twice the positions' speed and this [m/s]

    Returns
    -------
    Mask, shape (n,).
    """
    edges_s = np.sort(np.concatenate((time_s[:-1][broken_mask], time_s[1:][broken_mask])))
    if not len(edges_s):
        return np.zeros(len(time_s), dtype=bool)
    right = np.clip(np.searchsorted(edges_s, time_s), 0, len(edges_s) - 1)
    nearest_s = np.minimum(np.abs(edges_s[right] - time_s), np.abs(edges_s[np.maximum(right - 1, 0)] - time_s))
    mask: np.ndarray = (nearest_s <= near_s) & (speed_mps > 2 * position_mps + excess_mps)
    return mask


def _column(frame: pd.DataFrame, name: str) -> np.ndarray | None:
    return frame[name].to_numpy(dtype=float) if name in frame else None


def _wheel_mps(recording: Recording, circumference_m: float, bridged_mask: np.ndarray) -> np.ndarray | None:
    """Speed of the wheel's rim from its turning rate or, failing that, from its count of turns."""
    turning_rpm = _column(recording.frame, "wheel_speed_rpm")
    if turning_rpm is not None:
        rim_mps: np.ndarray = np.abs(turning_rpm) * circumference_m / 60.0
        return rim_mps
    turns = _column(recording.frame, "wheel_revolutions")
    return None if turns is None else _slope(recording.time_s, turns * circumference_m, bridged_mask)


def _slope(time_s: np.ndarray, distance_m: np.ndarray, bridged_mask: np.ndarray) -> np.ndarray:
    """Central differences of a counted distance over about 2 s, for counters tick; a reset has no speed."""
    speed_mps = np.full(len(time_s), np.nan)
    if len(time_s) < 3:
        return speed_mps
    k = max(round(1.0 / max(float(np.median(np.diff(time_s))), 1e-3)), 1)
    if len(time_s) <= 2 * k:
        return speed_mps
    breaks = np.concatenate(([0], np.cumsum(~bridged_mask)))
    run_m, run_s = distance_m[2 * k :] - distance_m[: -2 * k], time_s[2 * k :] - time_s[: -2 * k]
    usable_mask = (breaks[2 * k :] == breaks[: -2 * k]) & (run_m >= 0)
    speed_mps[k:-k] = np.where(usable_mask, run_m / run_s, np.nan)
    return speed_mps


def _cleaned(
    recording: Recording, speed_mps: np.ndarray, position_mps: np.ndarray | None, broken_mask: np.ndarray
) -> tuple[np.ndarray, tuple[Finding, ...]]:
    """The speed without impossible samples, and a finding that counts them."""
    time_s = recording.time_s
    bad_mask = spike_mask(time_s, speed_mps)
    if position_mps is not None:
        bad_mask |= resume_mask(time_s, speed_mps, np.nan_to_num(position_mps, nan=np.inf), broken_mask)
    if not bad_mask.any():
        return speed_mps, ()
    worst = int(np.nanargmax(np.where(bad_mask, speed_mps, -np.inf)))
    n_bad = int(bad_mask.sum())
    some = "1 speed sample" if n_bad == 1 else f"{n_bad} speed samples"
    message = (
        f"{recording.name}: {some} left out as impossible (up to {speed_mps[worst]:.1f} m/s at {time_s[worst]:.1f} s); "
        "the bike cannot have changed its speed that fast."
    )
    at_s = float(time_s[bad_mask][0]), float(time_s[bad_mask][-1])
    return np.where(bad_mask, np.nan, speed_mps), (Finding("speed-spike", "note", message, *at_s),)


def measure_motion(recording: Recording, bike: Bike) -> Motion:
    """Every speed and distance that a recording offers, best first.

    Speed: turning rate of the wheel times ``bike.wheel_circumference_m``, the device's own, from positions,
    from a counted distance. Distance: the device's own, along the positions, turns of the wheel, integral of speed.

    Parameters
    ----------
    recording : one recording
    bike : for the circumference of the wheel

    Returns
    -------
    Motion; its findings tell of speed samples that were left out.
    """
    frame, time_s = recording.frame, recording.time_s
    broken_mask = time_gaps(time_s) | pause_steps(time_s, recording.pauses_s)
    latitude_deg, longitude_deg = _column(frame, "latitude_deg"), _column(frame, "longitude_deg")
    speeds_mps: dict[SpeedSource, np.ndarray] = {}
    distances_m: dict[DistanceSource, np.ndarray] = {}
    findings: list[Finding] = []
    position_mps = None
    check_mps = None
    if latitude_deg is not None and longitude_deg is not None:
        position_mps = _positions_mps(time_s, latitude_deg, longitude_deg, broken_mask)
        check_mps = position_speed_mps(time_s, latitude_deg, longitude_deg, ~broken_mask, one_sided=True)
    known = bike.bike.wheel_circumference_m
    wheel_mps = _wheel_mps(recording, known or NOMINAL_CIRCUMFERENCE_M, ~broken_mask)
    device_m = _column(frame, "distance_m")
    offers: list[tuple[SpeedSource, np.ndarray | None]] = [
        ("wheel", wheel_mps if known else None),
        ("device", _column(frame, "speed_mps")),
        ("positions", position_mps),
        ("distance", None if device_m is None else _slope(time_s, device_m, ~broken_mask)),
        ("wheel", None if known else wheel_mps),
    ]
    for source, offer in offers:
        if offer is not None and np.isfinite(offer).any():
            speeds_mps[source], told = _cleaned(recording, offer, check_mps, broken_mask)
            findings += told if source in ("wheel", "device") else ()
    if device_m is not None and _counts_up(device_m):
        distances_m["device"] = device_m - device_m[np.isfinite(device_m)][0]
    if latitude_deg is not None and longitude_deg is not None:
        distances_m["positions"] = position_distance_m(time_s, latitude_deg, longitude_deg)
    if known and "wheel" in speeds_mps:
        distances_m["wheel"] = integral_m(time_s, speeds_mps["wheel"], ~broken_mask)
    if "device" in speeds_mps:
        distances_m["speed"] = integral_m(time_s, speeds_mps["device"], ~broken_mask)
    return Motion(speeds_mps, distances_m, known is not None or wheel_mps is None, tuple(findings))


def _counts_up(distance_m: np.ndarray) -> bool:
    """Whether a counted distance never goes back (by more than it may wobble) and counts at all."""
    known_m = distance_m[np.isfinite(distance_m)]
    return len(known_m) > 1 and bool((np.diff(known_m) >= -0.5).all()) and bool(known_m[-1] > known_m[0])


def _positions_mps(
    time_s: np.ndarray, latitude_deg: np.ndarray, longitude_deg: np.ndarray, broken_mask: np.ndarray
) -> np.ndarray:
    """Speed at the log's own samples from the fixes that are new."""
    fresh = np.flatnonzero(_fresh(latitude_deg, longitude_deg) & np.isfinite(latitude_deg + longitude_deg))
    if len(fresh) < 3:
        return np.full(len(time_s), np.nan)
    breaks = np.concatenate(([0], np.cumsum(broken_mask)))[fresh]
    at_s = time_s[fresh]
    bridged_mask = (np.diff(breaks) == 0) & (np.diff(at_s) <= default_gap_limit_s(at_s))
    fix_mps = position_speed_mps(at_s, latitude_deg[fresh], longitude_deg[fresh], bridged_mask)
    if len(fresh) == len(time_s):
        return fix_mps
    speed_mps: np.ndarray = np.interp(time_s, at_s, fix_mps)  # NaN at a fix spreads to both its sides, as it should
    speed_mps[(time_s < at_s[0]) | (time_s > at_s[-1])] = np.nan
    return speed_mps
