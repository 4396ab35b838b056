"""Positions that are held: repeated to the last digit, row after row, while the bike goes on.

A log that takes its positions from another device writes the last one into every row until the next one comes. Such a
repeated position is no measurement: taken for one, it makes the bike stand and then leap.
"""

from dataclasses import replace

import numpy as np
import pandas as pd

from ridelog.arrays import Mask
from ridelog.constants import NOMINAL_CIRCUMFERENCE_M
from ridelog.findings import Fact, Finding
from ridelog.lazy import dataclass
from ridelog.recording import Recording
from ridelog.settings.bike import Bike
from ridelog.timeline.motion.fixes import Fixes
from ridelog.timeline.motion.strays import leap_mask


@dataclass(frozen=True)
class _Runs:
    """Stretches of known fixes that repeat one position.

    ``first``, ``last`` : indices into the known fixes, shape (m,) · ``length_s`` : until the next position, or until
    the last repetition of the last · ``leg_m``, ``leg_s`` : way and time from the last repetition to the next position
    """

    first: np.ndarray
    last: np.ndarray
    length_s: np.ndarray
    leg_m: np.ndarray
    leg_s: np.ndarray

    @property
    def repeats_mask(self) -> np.ndarray:
        """Which repeat at all before another position comes."""
        mask: np.ndarray = self.last[:-1] > self.first[:-1]
        return mask

    @property
    def usual_s(self) -> float:
        """How long a position usually stays; 0 where none does [s]."""
        stays_s = self.length_s[:-1][self.repeats_mask]
        return float(np.median(stays_s)) if len(stays_s) else 0.0


def held_mask(
    fixes: Fixes, carried_m: np.ndarray | None = None, *, carried_least_m: float = 2.0, n_least: int = 5
) -> Mask:
    """Mask of fixes that repeat an earlier one and show nothing of the moment that they are stamped with.

    A repeated position is held where the log's own speed has carried the bike away from it, where it ends in a leap
    that a bike rides only in the time since the position came, and, in a log that repeats most of its positions, in
    every row but those in which the next one was due and the bike may have stood.

    Parameters
    ----------
    fixes : shape (n,)
    carried_m : way by the log's own speed, never falling, shape (n,); ``None`` where it has none [m]
    carried_least_m : a position may repeat over this way for the sake of its last digit [m]
    n_least : fewer changes of the position show no habit of the log

    Returns
    -------
    Mask, shape (n,).
    """
    mask = np.zeros(len(fixes.time_s), dtype=bool)
    at = fixes.known_at
    known = fixes.at(at)
    if len(at) < 3:
        return mask
    runs = _runs_of(known)
    run_of = np.repeat(np.arange(len(runs.first)), runs.last - runs.first + 1)
    repeated_mask = np.arange(len(at)) > runs.first[run_of]
    moved_mask = np.zeros(len(at), dtype=bool)
    if carried_m is not None:
        since_m = carried_m[at] - carried_m[at][runs.first[run_of]]
        moved_mask = repeated_mask & (since_m > carried_least_m)
    held = moved_mask | (repeated_mask & _frozen(runs)[run_of])
    if len(runs.first) > n_least and np.mean(runs.repeats_mask) > 0.5:
        held |= repeated_mask & ~_due(known, runs, run_of, may_have_rolled=carried_m is None)
    mask[at] = held
    return mask


def _runs_of(known: Fixes) -> _Runs:
    """The stretches of one position."""
    changed = (np.diff(known.latitude_deg) != 0) | (np.diff(known.longitude_deg) != 0)
    first = np.concatenate(([0], np.flatnonzero(changed) + 1))
    last = np.append(first[1:] - 1, len(known.time_s) - 1)
    until_s = np.append(known.time_s[first[1:]], known.time_s[-1])
    leg_m = known.between(first[:-1], first[1:])[0]
    return _Runs(first, last, until_s - known.time_s[first], leg_m, known.time_s[first[1:]] - known.time_s[last[:-1]])


def _frozen(runs: _Runs) -> np.ndarray:
    """Runs that end in a leap, unless the bike left when the position came, shape (m,)."""
    frozen_mask = leap_mask(runs.leg_m, runs.leg_s) & ~leap_mask(runs.leg_m, runs.length_s[:-1])
    return np.append(frozen_mask, False)


def _due(known: Fixes, runs: _Runs, run_of: np.ndarray, *, may_have_rolled: bool) -> np.ndarray:
    """First repetitions after each usual stay, as long as the next position lay another usual stay off, shape (n,).

    Where nothing else tells that the bike stood, only if it need not have been faster than usual in the last stay.
    """
    usual_s = runs.usual_s
    n_stays = np.maximum(np.rint(runs.length_s / usual_s), 1)
    if may_have_rolled:
        paces_mps = runs.leg_m / runs.length_s[:-1]
        last_mps = runs.leg_m / np.maximum(runs.length_s[:-1] - (n_stays[:-1] - 1) * usual_s, 1e-9)
        n_stays[:-1][last_mps > 1.25 * np.quantile(paces_mps, 0.9)] = 1
        if runs.length_s[-1] <= np.max(runs.length_s[:-1][runs.repeats_mask]):
            n_stays[-1] = 1  # the next position may only have been late
    stay = np.floor((known.time_s - known.time_s[runs.first][run_of]) / usual_s + 1e-6)
    begins_mask = np.append(True, (np.diff(stay) != 0) | (np.diff(run_of) != 0))
    due_mask: np.ndarray = begins_mask & (stay < n_stays[run_of])
    return due_mask


def own_way_m(recording: Recording, bike: Bike, *, least_mps: float = 0.3) -> np.ndarray | None:
    """A way by the log's own speed or wheel that the bike has at least ridden.

    Parameters
    ----------
    recording : one recording
    bike : for the circumference of the wheel
    least_mps : slower is noise of a bike that stands [m/s]

    Returns
    -------
    Never falling, shape (n,); ``None`` without either [m].
    """
    circumference_m = bike.bike.wheel_circumference_m or NOMINAL_CIRCUMFERENCE_M
    frame = recording.frame
    if "speed_mps" in frame:
        speed_mps = frame["speed_mps"].to_numpy(dtype=float)
    elif "wheel_speed_rpm" in frame:
        speed_mps = np.abs(frame["wheel_speed_rpm"].to_numpy(dtype=float)) * circumference_m / 60
    elif "wheel_revolutions" in frame:
        turns = frame["wheel_revolutions"].ffill().fillna(0.0).to_numpy(dtype=float)
        return np.maximum.accumulate(turns) * circumference_m
    else:
        return None
    rolling_mps = np.where(speed_mps > least_mps, speed_mps, 0.0)
    steps_m = np.diff(recording.time_s) * (rolling_mps[:-1] + rolling_mps[1:]) / 2
    return np.concatenate(([0.0], np.cumsum(steps_m)))


def without_held_positions(recording: Recording, bike: Bike, *, told_s: float = 2.0) -> Recording:
    """The recording without held positions, nor heights that are held with them; itself where there are none.

    Parameters
    ----------
    recording : one recording
    bike : for the circumference of the wheel
    told_s : positions that never stay longer are not worth a finding [s]

    Returns
    -------
    Recording; a finding counts what is left of its positions.
    """
    frame = recording.frame
    if "latitude_deg" not in frame or "longitude_deg" not in frame:
        return recording
    fixes = Fixes(recording.time_s, *(frame[name].to_numpy(dtype=float) for name in ("latitude_deg", "longitude_deg")))
    mask = held_mask(fixes, own_way_m(recording, bike))
    if not mask.any():
        return recording
    names = ["latitude_deg", "longitude_deg", *(["altitude_m"] if _height_is_held_too(frame, fixes) else [])]
    findings = _finding(recording, fixes, mask, told_s)
    return replace(
        recording,
        frame=frame.assign(**{name: frame[name].mask(mask) for name in names}),
        findings=(*recording.findings, *findings),
    )


def _height_is_held_too(frame: pd.DataFrame, fixes: Fixes, *, share: float = 0.95) -> bool:
    """Whether the height changes where the position does and hardly anywhere else."""
    if "altitude_m" not in frame:
        return False
    changed = np.diff(frame["altitude_m"].to_numpy(dtype=float)) != 0
    moved = (np.diff(fixes.latitude_deg) != 0) | (np.diff(fixes.longitude_deg) != 0)
    return bool(changed.any()) and float(np.mean(moved[changed])) >= share


def _finding(recording: Recording, fixes: Fixes, mask: np.ndarray, told_s: float) -> tuple[Finding, ...]:
    """What there is to say of positions that stay."""
    new_s = fixes.without(mask).known.time_s
    before = np.searchsorted(new_s, fixes.time_s[mask], side="right") - 1
    stays_s = np.diff(new_s, append=fixes.known.time_s[-1])[np.unique(before[before >= 0])]
    if not len(stays_s) or float(np.max(stays_s)) <= told_s:
        return ()
    facts: dict[str, Fact] = {
        "file": recording.called,
        "n_positions": int(mask.sum()),
        "n_new": len(new_s),
        "usual_s": float(np.median(stays_s)),
        "longest_s": float(np.max(stays_s)),
    }
    held_s = fixes.time_s[mask]
    return (Finding("positions-held", "note", facts, float(held_s[0]), float(held_s[-1])),)
