"""How fast and how far one recording went: from wheel, device or positions, and which of them is best."""

from collections.abc import Mapping
from dataclasses import field
from typing import Literal

import numpy as np

from ridelog.arrays import pause_steps, time_gaps
from ridelog.constants import NOMINAL_CIRCUMFERENCE_M
from ridelog.findings import Finding
from ridelog.lazy import dataclass
from ridelog.recording import Recording
from ridelog.settings.bike import Bike
from ridelog.timeline.motion.counted import counted_distance_m, counted_speed_mps, integral_m
from ridelog.timeline.motion.fixes import Fixes
from ridelog.timeline.motion.positions import (
    position_distance_m,
    position_spacing,
    position_speed_mps,
    speed_from_fixes_mps,
)
from ridelog.timeline.motion.spacing import NO_FIXES, Spacing
from ridelog.timeline.motion.spikes import without_spikes
from ridelog.timeline.motion.strays import without_strays

SpeedSource = Literal["wheel", "device", "positions", "distance"]
DistanceSource = Literal["device", "positions", "wheel", "speed"]


@dataclass(frozen=True)
class Motion:
    """Speed and distance of one recording at its own samples, by source, best source first.

    Attributes
    ----------
    speeds_mps : each shape (n,), NaN where not known; impossible samples taken out [m/s]
    distances_m : each shape (n,), cumulative from the first known sample, NaN where not known [m]
    moments_s : moments that all but positions stand for, shape (n,); ``None`` where it is those of the stamps [s]
    spacing : of the fixes that the distance along the positions counts
    wheel_scale_known : ``False`` where the wheel's speed rests on a nominal circumference; such a speed is
        listed last and no distance comes from it
    """

    speeds_mps: dict[SpeedSource, np.ndarray] = field(default_factory=dict)
    distances_m: dict[DistanceSource, np.ndarray] = field(default_factory=dict)
    wheel_scale_known: bool = True
    findings: tuple[Finding, ...] = ()
    moments_s: np.ndarray | None = None
    spacing: Spacing = NO_FIXES


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
    steps_s = mean_steps_s(recording, bike)
    return None if steps_s is None else recording.time_s - steps_s / 2


def mean_steps_s(recording: Recording, bike: Bike) -> np.ndarray | None:
    """The time over which each value of an averaged log is a mean, shape (n,); ``None`` of any other [s]."""
    time_s = recording.time_s
    if not bike.sensor.averaged or recording.role == "track" or len(time_s) < 2:
        return None
    usual_s = recording.step_s
    steps_s = np.diff(time_s, prepend=time_s[0] - usual_s)
    return np.where(steps_s > 1.5 * usual_s, usual_s, steps_s)


def measure_motion(recording: Recording, bike: Bike) -> Motion:
    """Every speed and distance of a recording, best first.

    Speed: turning rate of the wheel times ``bike.wheel_circumference_m``, the device's own, from positions,
    from a counted distance. Distance: the device's own, along the positions, turns of the wheel, integral of speed.

    Parameters
    ----------
    recording : one recording
    bike : for the circumference of the wheel

    Returns
    -------
    Motion; its findings tell of positions, speed samples and steps of a counter that were left out.
    """
    broken_mask = time_gaps(recording.time_s) | pause_steps(recording.time_s, recording.pauses_s)
    fixes, stray_findings = without_strays(recording)
    speeds_mps, spike_findings = _speeds_mps(recording, bike, fixes, broken_mask)
    distances_m, reset_findings = _distances_m(recording, bike, fixes, speeds_mps, broken_mask)
    return Motion(
        speeds_mps,
        distances_m,
        bike.bike.wheel_circumference_m is not None or not _turns_wheel(recording),
        (*stray_findings, *spike_findings, *reset_findings),
        moments_of_samples_s(recording, bike),
        NO_FIXES if fixes is None else position_spacing(fixes),
    )


def _speeds_mps(
    recording: Recording, bike: Bike, fixes: Fixes | None, broken_mask: np.ndarray
) -> tuple[dict[SpeedSource, np.ndarray], tuple[Finding, ...]]:
    """The speeds without impossible samples, best first, and what there is to say of those that were measured."""
    check_mps = None if fixes is None else position_speed_mps(fixes, ~broken_mask, one_sided=True)
    speeds_mps: dict[SpeedSource, np.ndarray] = {}
    findings: list[Finding] = []
    for source, speed_mps in _speed_candidates(recording, bike, fixes, broken_mask):
        if speed_mps is None or not np.isfinite(speed_mps).any():
            continue
        speeds_mps[source], left_out = without_spikes(recording, speed_mps, check_mps, broken_mask)
        findings += left_out if source in ("wheel", "device") else ()
    return speeds_mps, tuple(findings)


def _speed_candidates(
    recording: Recording, bike: Bike, fixes: Fixes | None, broken_mask: np.ndarray
) -> list[tuple[SpeedSource, np.ndarray | None]]:
    """Every speed, best first; a wheel of unknown circumference comes last."""
    circumference_m = bike.bike.wheel_circumference_m
    wheel_mps = _wheel_mps(recording, circumference_m or NOMINAL_CIRCUMFERENCE_M, ~broken_mask)
    counted_m = _column(recording, "distance_m")
    return [
        ("wheel", wheel_mps if circumference_m else None),
        ("device", _column(recording, "speed_mps")),
        ("positions", None if fixes is None else speed_from_fixes_mps(fixes, broken_mask)),
        ("distance", None if counted_m is None else counted_speed_mps(recording.time_s, counted_m, ~broken_mask)),
        ("wheel", None if circumference_m else wheel_mps),
    ]


def _distances_m(
    recording: Recording,
    bike: Bike,
    fixes: Fixes | None,
    speeds_mps: Mapping[SpeedSource, np.ndarray],
    broken_mask: np.ndarray,
) -> tuple[dict[DistanceSource, np.ndarray], tuple[Finding, ...]]:
    """Every distance, and where the device's own counter was reset."""
    distances_m: dict[DistanceSource, np.ndarray] = {}
    findings: tuple[Finding, ...] = ()
    if (counter_m := _column(recording, "distance_m")) is not None:
        counted_m, findings = counted_distance_m(recording, counter_m)
        if counted_m is not None:
            distances_m["device"] = counted_m
    if fixes is not None:
        distances_m["positions"] = position_distance_m(fixes)
    means_s = mean_steps_s(recording, bike)
    if bike.bike.wheel_circumference_m and "wheel" in speeds_mps:
        turning_s = means_s if "wheel_speed_rpm" in recording.frame else None  # a count of turns is no mean
        distances_m["wheel"] = integral_m(recording.time_s, speeds_mps["wheel"], ~broken_mask, mean_steps_s=turning_s)
    if "device" in speeds_mps:
        distances_m["speed"] = integral_m(recording.time_s, speeds_mps["device"], ~broken_mask, mean_steps_s=means_s)
    return distances_m, findings


def _column(recording: Recording, name: str) -> np.ndarray | None:
    return recording.frame[name].to_numpy(dtype=float) if name in recording.frame else None


def _turns_wheel(recording: Recording) -> bool:
    """Whether the turning of the wheel was recorded."""
    return "wheel_speed_rpm" in recording.frame or "wheel_revolutions" in recording.frame


def _wheel_mps(recording: Recording, circumference_m: float, bridged_mask: np.ndarray) -> np.ndarray | None:
    """Speed of the wheel's rim from its turning rate or, failing that, from its count of turns."""
    turning_rpm = _column(recording, "wheel_speed_rpm")
    if turning_rpm is not None:
        rim_mps: np.ndarray = np.abs(turning_rpm) * circumference_m / 60.0
        return rim_mps
    turns = _column(recording, "wheel_revolutions")
    return None if turns is None else counted_speed_mps(recording.time_s, turns * circumference_m, bridged_mask)
