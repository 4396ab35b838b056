"""Distance and speed from what a device counts: metres ridden or turns of the wheel."""

import numpy as np

from ridelog.channels import CHANNELS
from ridelog.findings import Fact, Finding
from ridelog.recording import Recording

WOBBLE_M = 0.5  # a counted distance may step back by this much without having been reset
LEAP_M = 100.0  # a counter that ticks every 0.1 km may step by this much within one sample


def integral_m(
    time_s: np.ndarray, speed_mps: np.ndarray, bridged_mask: np.ndarray, *, mean_steps_s: np.ndarray | None = None
) -> np.ndarray:
    """Distance as the integral of speed; a gap adds nothing, for nothing is known of it.

    Of speeds of a moment by trapezoids. A mean over the step that its stamp ends adds its product with that step: by
    trapezoids the distance would come late by half a step.

    Parameters
    ----------
    time_s, speed_mps : shape (n,), NaN where not known [s], [m/s]
    bridged_mask : shape (n - 1,), ``False`` for steps that are gaps
    mean_steps_s : over what time each speed is a mean, shape (n,); ``None`` where they are of a moment [s]

    Returns
    -------
    Cumulative distance, shape (n,), from 0, NaN where the speed is not known [m].
    """
    steps_m = np.diff(time_s) * (speed_mps[:-1] + speed_mps[1:]) / 2
    if mean_steps_s is None:
        counted_m = np.where(bridged_mask & np.isfinite(steps_m), steps_m, 0.0)
    else:
        counted_m = np.nan_to_num(mean_steps_s * speed_mps)[1:]
    return np.where(np.isfinite(speed_mps), np.concatenate(([0.0], np.cumsum(counted_m))), np.nan)


def counted_speed_mps(time_s: np.ndarray, distance_m: np.ndarray, bridged_mask: np.ndarray) -> np.ndarray:
    """Central differences of a counted distance over about 2 s, for counters tick; a reset has no speed.

    Parameters
    ----------
    time_s, distance_m : shape (n,), NaN where not known [s], [m]
    bridged_mask : shape (n - 1,), ``False`` for steps that are gaps

    Returns
    -------
    Shape (n,), NaN where not known [m/s].
    """
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


def counted_distance_m(
    recording: Recording, distance_m: np.ndarray, *, most_breaks: int = 3
) -> tuple[np.ndarray | None, tuple[Finding, ...]]:
    """A counted distance that goes on where the counter was reset or leapt, and a finding that tells where.

    Such a step adds nothing, for nothing is known of it.

    Parameters
    ----------
    recording : for its times and its name
    distance_m : as counted, shape (n,), NaN where not known [m]
    most_breaks : a counter with more resets and leaps than this counts no distance

    Returns
    -------
    distance_m : shape (n,), from 0 at the first known sample [m]; ``None`` where it counts nothing
    findings : where it was reset or leapt
    """
    known = np.flatnonzero(np.isfinite(distance_m))
    steps_m, steps_s = np.diff(distance_m[known]), np.diff(recording.time_s[known])
    broken = np.flatnonzero((steps_m < -WOBBLE_M) | (steps_m > LEAP_M + CHANNELS["speed_mps"].high * steps_s))
    if len(broken) > most_breaks:
        return None, ()
    findings = _reset_finding(recording, recording.time_s[known[broken + 1]], steps_m[broken])
    counted_m = distance_m.copy()
    if len(broken):
        steps_m[broken] = 0.0
        counted_m[known] = np.concatenate(([0.0], np.cumsum(steps_m)))
    if len(known) < 2 or not counted_m[known[-1]] > counted_m[known[0]]:
        return None, ()
    return counted_m - counted_m[known[0]], findings


def _reset_finding(recording: Recording, at_s: np.ndarray, steps_m: np.ndarray) -> tuple[Finding, ...]:
    if not len(at_s):
        return ()
    facts: dict[str, Fact] = {
        "file": recording.called,
        "n_resets": len(at_s),
        "first_step_m": float(steps_m[0]),
        "first_s": float(at_s[0]),
    }
    return (Finding("impossible-values", "warning", facts, float(at_s[0]), float(at_s[-1])),)
