"""Fixes that no bicycle was at: single ones far off the way, and leaps of the positions."""

import numpy as np

from ridelog.channels import CHANNELS
from ridelog.findings import Fact, Finding
from ridelog.recording import Recording
from ridelog.timeline.motion.fixes import Fixes


def stray_mask(fixes: Fixes, *, leg_m: float = 30.0, pace_mps: float = 20.0) -> np.ndarray:
    """Single fixes far off the way: out and back again in two legs that no bicycle rides at that pace.

    Parameters
    ----------
    fixes : shape (n,)
    leg_m : shorter excursions are ordinary scatter of satellite fixes [m]
    pace_mps : both legs must be faster [m/s]

    Returns
    -------
    Mask, shape (n,).
    """
    mask = np.zeros(len(fixes.time_s), dtype=bool)
    at = fixes.known_at
    if len(at) < 3:
        return mask
    known = fixes.at(at)
    legs_m, around_m = known.legs_m(), known.legs_m(2)
    far_mask = (legs_m > leg_m) & (legs_m > pace_mps * np.diff(known.time_s))
    found_mask = far_mask[:-1] & far_mask[1:] & (legs_m[:-1] + legs_m[1:] > 3 * around_m)
    mask[at[1:-1][found_mask]] = True
    return mask


def leap_mask(length_m: np.ndarray, step_s: np.ndarray, *, scatter_m: float = 30.0) -> np.ndarray:
    """Which legs no bicycle rides, even if both ends are off by the ordinary scatter of satellite fixes.

    Parameters
    ----------
    length_m, step_s : of each leg, shape (n,) [m], [s]
    scatter_m : ordinary scatter [m]

    Returns
    -------
    Mask, shape (n,).
    """
    mask: np.ndarray = length_m > CHANNELS["speed_mps"].high * step_s + scatter_m
    return mask


def without_strays(recording: Recording) -> tuple[Fixes | None, tuple[Finding, ...]]:
    """The fixes of a recording without strays, ``None`` where it has no positions, and what there is to say of them."""
    if "latitude_deg" not in recording.frame or "longitude_deg" not in recording.frame:
        return None, ()
    latitude_deg, longitude_deg = (
        recording.frame[name].to_numpy(dtype=float) for name in ("latitude_deg", "longitude_deg")
    )
    fixes = Fixes(recording.time_s, latitude_deg, longitude_deg)
    mask = stray_mask(fixes)
    fixes = fixes.without(mask)
    return fixes, (*_stray_finding(recording, mask), *_leap_finding(recording, fixes))


def _stray_finding(recording: Recording, mask: np.ndarray) -> tuple[Finding, ...]:
    if not mask.any():
        return ()
    n, first_s, last_s = int(mask.sum()), *(float(recording.time_s[mask][k]) for k in (0, -1))
    facts: dict[str, Fact] = {"file": recording.called, "n_positions": n, "first_s": first_s}
    return (Finding("stray-positions", "note", facts, first_s, last_s),)


def _leap_finding(recording: Recording, fixes: Fixes) -> tuple[Finding, ...]:
    known = fixes.known
    legs_m = known.legs_m()
    leaps = np.flatnonzero(leap_mask(legs_m, np.diff(known.time_s)))
    if not len(leaps):
        return ()
    first_s, last_s = (float(known.time_s[leaps[k] + 1]) for k in (0, -1))
    first_m = float(legs_m[leaps[0]])
    facts: dict[str, Fact] = {
        "file": recording.called,
        "n_jumps": len(leaps),
        "first_jump_m": first_m,
        "first_s": first_s,
    }
    return (Finding("stray-positions", "warning", facts, first_s, last_s),)
