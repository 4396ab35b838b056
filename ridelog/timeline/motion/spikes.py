"""Samples of a speed that no bicycle reached: spikes, and what devices make up after a pause."""

import numpy as np

from ridelog.findings import Fact, Finding
from ridelog.recording import Recording


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


def without_spikes(
    recording: Recording, speed_mps: np.ndarray, position_mps: np.ndarray | None, broken_mask: np.ndarray
) -> tuple[np.ndarray, tuple[Finding, ...]]:
    """The speed without impossible samples, and a finding that counts them.

    Parameters
    ----------
    recording : for its times and its name
    speed_mps, position_mps : shape (n,), the speed to check and that from positions, if any [m/s]
    broken_mask : shape (n - 1,), ``True`` for steps that are pauses or gaps

    Returns
    -------
    speed_mps : shape (n,), NaN where impossible [m/s]
    findings : one where samples were left out
    """
    time_s = recording.time_s
    bad_mask = spike_mask(time_s, speed_mps)
    if position_mps is not None:
        bad_mask |= resume_mask(time_s, speed_mps, np.nan_to_num(position_mps, nan=np.inf), broken_mask)
    if not bad_mask.any():
        return speed_mps, ()
    worst = int(np.nanargmax(np.where(bad_mask, speed_mps, -np.inf)))
    n_bad = int(bad_mask.sum())
    facts: dict[str, Fact] = {
        "file": recording.called,
        "n_samples": n_bad,
        "highest_mps": float(speed_mps[worst]),
        "at_s": float(time_s[worst]),
    }
    at_s = float(time_s[bad_mask][0]), float(time_s[bad_mask][-1])
    return np.where(bad_mask, np.nan, speed_mps), (Finding("speed-spike", "note", facts, *at_s),)
