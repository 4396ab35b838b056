"""How fast and how far one recording went: from wheel, device or positions, and which of them is best."""

from dataclasses import dataclass, field
from typing import Literal

import numpy as np
import pandas as pd

from ridelog.arrays import pause_steps, time_gaps
from ridelog.channels import CHANNELS
from ridelog.findings import Finding
from ridelog.recording import Recording
from ridelog.settings.bike import Bike
from ridelog.timeline.motion.positions import (
    leaps_m,
    position_distance_m,
    position_speed_mps,
    speed_from_fixes_mps,
    stray_mask,
)

SpeedSource = Literal["wheel", "device", "positions", "distance"]
DistanceSource = Literal["device", "positions", "wheel", "speed"]

NOMINAL_CIRCUMFERENCE_M = 2.1  # only ever used where the scale does not matter
WOBBLE_M = 0.5  # a counted distance may step back by this much without having been reset
LEAP_M = 100.0  # a counter that ticks every 0.1 km may step by this much within one sample


@dataclass(frozen=True)
class Motion:
    """Speed and distance of one recording at its own samples, by source, best source first.

    Attributes
    ----------
    speeds_mps : each shape (n,), NaN where not known; impossible samples taken out [m/s]
    distances_m : each shape (n,), cumulative from the first known sample, NaN where not known [m]
    moments_s : moments that all but positions stand for, shape (n,); ``None`` where it is those of the stamps [s]
    wheel_scale_known : ``False`` where the wheel's speed rests on a nominal circumference; such a speed is
        listed last and no distance comes from it
    """

    speeds_mps: dict[SpeedSource, np.ndarray] = field(default_factory=dict)
    distances_m: dict[DistanceSource, np.ndarray] = field(default_factory=dict)
    wheel_scale_known: bool = True
    findings: tuple[Finding, ...] = ()
    moments_s: np.ndarray | None = None


def moments_of_samples_s(recording: Recording, bike: Bike) -> np.ndarray | None:
    """The moments that the samples of an averaged log stand for: the middles of the steps that they average.

    Of an averaged electrical log (``sensor.averaged``) each value is the mean over the step that its stamp ends, and
    shows the bike as it was half a step before. After a gap (a step of more than 1.5 usual ones, as where charge is
    counted) a mean stands for its own usual step, not for the gap. Positions are fixes of a moment even there.

    Parameters
    ----------
    recording : one recording; tracks hold no means
    bike : for ``sensor.averaged``

    Returns
    -------
    Increasing, shape (n,), the first before 0 [s]; ``None`` where samples show the moments of their stamps.
    """
    time_s = recording.time_s
    if not bike.sensor.averaged or recording.role == "track" or len(time_s) < 2:
        return None
    usual_s = recording.step_s
    steps_s = np.diff(time_s, prepend=time_s[0] - usual_s)
    moments_s: np.ndarray = time_s - np.where(steps_s > 1.5 * usual_s, usual_s, steps_s) / 2
    return moments_s


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
        f"{recording.called}: {some} left out as impossible (up to {speed_mps[worst]:.1f} m/s "
        f"at {time_s[worst]:.1f} s); the bike cannot have changed its speed that fast."
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
    latitude_deg, longitude_deg, told = _without_strays(recording, latitude_deg, longitude_deg)
    findings += told
    if latitude_deg is not None and longitude_deg is not None:
        position_mps = speed_from_fixes_mps(time_s, latitude_deg, longitude_deg, broken_mask)
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
    if device_m is not None:
        counted_m, told = _counted(recording, device_m)
        if _counts_up(counted_m):
            distances_m["device"] = counted_m - counted_m[np.isfinite(counted_m)][0]
            findings += told
    if latitude_deg is not None and longitude_deg is not None:
        distances_m["positions"] = position_distance_m(time_s, latitude_deg, longitude_deg)
    if known and "wheel" in speeds_mps:
        distances_m["wheel"] = integral_m(time_s, speeds_mps["wheel"], ~broken_mask)
    if "device" in speeds_mps:
        distances_m["speed"] = integral_m(time_s, speeds_mps["device"], ~broken_mask)
    scale_known = known is not None or wheel_mps is None
    return Motion(speeds_mps, distances_m, scale_known, tuple(findings), moments_of_samples_s(recording, bike))


def _without_strays(
    recording: Recording, latitude_deg: np.ndarray | None, longitude_deg: np.ndarray | None
) -> tuple[np.ndarray | None, np.ndarray | None, tuple[Finding, ...]]:
    """The positions without stray fixes, and a finding that counts them."""
    if latitude_deg is None or longitude_deg is None:
        return None, None, ()
    mask = stray_mask(recording.time_s, latitude_deg, longitude_deg)
    latitude_deg, longitude_deg = (np.where(mask, np.nan, axis) for axis in (latitude_deg, longitude_deg))
    leaps = _leap_finding(recording, leaps_m(recording.time_s, latitude_deg, longitude_deg))
    if not mask.any():
        return latitude_deg, longitude_deg, leaps
    n, first_s, last_s = int(mask.sum()), *(float(recording.time_s[mask][k]) for k in (0, -1))
    some = "1 position lies" if n == 1 else f"{n} positions lie"
    message = f"{recording.called}: {some} far off the way (first at {first_s:.1f} s); not used for speed and distance."
    finding = Finding("stray-positions", "note", message, first_s, last_s)
    return latitude_deg, longitude_deg, (finding, *leaps)


def _leap_finding(recording: Recording, leaps: dict[float, float]) -> tuple[Finding, ...]:
    if not leaps:
        return ()
    (first_s, length_m), last_s = next(iter(leaps.items())), max(leaps)
    times = "once" if len(leaps) == 1 else f"{len(leaps)} times"
    message = (
        f"{recording.called}: the positions leap {times} farther than any bicycle rides in that time "
        f"(first by {length_m / 1000:.1f} km at {first_s:.1f} s); the way across is not counted."
    )
    return (Finding("stray-positions", "warning", message, first_s, last_s),)


def _counted(
    recording: Recording, distance_m: np.ndarray, *, most_breaks: int = 3
) -> tuple[np.ndarray, tuple[Finding, ...]]:
    """A counted distance that goes on where the counter was reset or leapt, and a finding that tells where.

    Such a step adds nothing, for nothing is known of it. Of a counter with more than ``most_breaks``
    nothing is left: what jumps about counts no distance.
    """
    known = np.flatnonzero(np.isfinite(distance_m))
    steps_m, steps_s = np.diff(distance_m[known]), np.diff(recording.time_s[known])
    broken = np.flatnonzero((steps_m < -WOBBLE_M) | (steps_m > LEAP_M + CHANNELS["speed_mps"].high * steps_s))
    if not len(broken):
        return distance_m, ()
    if len(broken) > most_breaks:
        return np.full(len(distance_m), np.nan), ()
    at_s = recording.time_s[known[broken + 1]]
    times = "time" if len(broken) == 1 else "times"
    message = (
        f"{recording.called}: the counted distance was reset or leapt {len(broken)} {times} "
        f"(first by {steps_m[broken[0]]:.0f} m at {at_s[0]:.1f} s); nothing is counted there."
    )
    steps_m[broken] = 0.0
    counted_m = distance_m.copy()
    counted_m[known] = np.concatenate(([0.0], np.cumsum(steps_m)))
    return counted_m, (Finding("impossible-values", "warning", message, float(at_s[0]), float(at_s[-1])),)


def _counts_up(distance_m: np.ndarray) -> bool:
    """Whether a counted distance counts at all."""
    known_m = distance_m[np.isfinite(distance_m)]
    return len(known_m) > 1 and bool(known_m[-1] > known_m[0])
