"""Heights that no road has: leaps of the recorded height, taken out before anything is made of them."""

from dataclasses import replace

import numpy as np

from ridelog.arrays import robust_scale
from ridelog.findings import Fact, Finding
from ridelog.recording import Recording


def height_leaps(
    time_s: np.ndarray,
    altitude_m: np.ndarray,
    *,
    least_m: float = 25.0,
    rate_mps: float = 6.0,
    noise_factor: float = 8.0,
) -> np.ndarray:
    """Steps between known heights that no bicycle rides: indices of the samples at which they arrive.

    Parameters
    ----------
    time_s, altitude_m : shape (n,), all known [s], [m]
    least_m : smaller leaps may be a rough height's scatter [m]
    rate_mps : a descent at 25 m/s of a road of 24 % loses this [m/s]
    noise_factor : nor is a leap what is no larger than this many usual steps of a scattering height (standard
        deviation, from the median step)

    Returns
    -------
    Increasing, each at least 1.
    """
    steps_m, steps_s = np.diff(altitude_m), np.diff(time_s)
    if not len(steps_m):
        return np.empty(0, dtype=int)
    usual_m = robust_scale(steps_m, centre=0.0)
    limit_m = max(least_m, noise_factor * usual_m) + rate_mps * steps_s
    return np.flatnonzero(np.abs(steps_m) > limit_m) + 1


def without_height_leaps(recording: Recording) -> Recording:
    """The recording with the leaps of its height taken out, and a finding of them; itself where there are none.

    On either side of a leap the heights keep their course; across it the road is taken as level. The longest stretch
    without a leap keeps the heights that were recorded.
    """
    if "altitude_m" not in recording.frame:
        return recording
    altitude_m = recording.frame["altitude_m"].to_numpy(dtype=float)
    known = np.flatnonzero(np.isfinite(altitude_m))
    time_s = recording.time_s[known]
    leaps = height_leaps(time_s, altitude_m[known])
    if not len(leaps):
        return recording
    steps_m = altitude_m[known][leaps] - altitude_m[known][leaps - 1]
    offsets_m = np.concatenate(([0.0], np.cumsum(steps_m)))
    bounds = np.concatenate(([0], leaps, [len(known)]))
    longest = int(np.argmax(np.diff(bounds)))
    level_m = altitude_m.copy()
    level_m[known] -= np.repeat(offsets_m - offsets_m[longest], np.diff(bounds))
    return replace(
        recording,
        frame=recording.frame.assign(altitude_m=level_m),
        findings=(*recording.findings, _finding(recording.called, time_s[leaps], steps_m)),
    )


def _finding(called: str, at_s: np.ndarray, steps_m: np.ndarray) -> Finding:
    largest = int(np.argmax(np.abs(steps_m)))
    facts: dict[str, Fact] = {
        "file": called,
        "n_leaps": len(steps_m),
        "largest_step_m": float(steps_m[largest]),
        "at_s": float(at_s[largest]),
    }
    return Finding("height-leaps", "warning", facts, float(at_s[0]), float(at_s[-1]))
