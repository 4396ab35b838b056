"""Values that stand: a quantity read anew less often than rows are written stays in several rows, as one reading.

Counted as readings of their own, the rows after the first would turn the line between two readings into a stair that
lags it by half a refresh, and would seem to tell ever so closely what lies between them.
"""

from dataclasses import replace

import numpy as np

from ridelog.arrays import Floats, Mask
from ridelog.findings import Fact, Finding
from ridelog.lazy import dataclass
from ridelog.recording import Recording

# What stands for longer than this is steady, and no reading that waits for the next [s].
LONGEST_HELD_S = {"current_a": 5.0, "power_w": 5.0, "voltage_v": 30.0}
LEAST_CHANGES = 30  # fewer show no rhythm
LEAST_VALUES = 10  # a current that is switched between a few levels stands at each of them; a sensor's readings differ
EARLY = 0.02  # of the changes may follow the one before sooner than values are read anew
LATE = 0.9  # of the changes follow the one before no later than that
LEAST_REPEATS = 0.3  # rows for each change that come before the next reading is due and repeat the last


@dataclass(frozen=True)
class Readings:
    """Which rows hold a reading of their own, shape (n,), and how long each stands in the log [s].

    ``stands_s`` is 0 where every row is a reading; then ``fresh`` are all rows whose value is known.
    """

    fresh: Mask
    stands_s: float


def without_held_values(recording: Recording) -> Recording:
    """The recording with current, power and voltage where they are read, unknown where they only stand, and a note."""
    frame, findings = recording.frame, list(recording.findings)
    for channel, longest_s in LONGEST_HELD_S.items():
        if channel not in frame:
            continue
        values = frame[channel].to_numpy()
        readings = fresh_readings(recording.time_s, values, longest_s=longest_s)
        if readings.stands_s:
            frame = frame.assign(**{channel: np.where(readings.fresh, values, np.nan)})
            facts: dict[str, Fact] = {
                "file": recording.called,
                "channel": channel,
                "stands_s": readings.stands_s,
                "row_s": float(np.median(np.diff(recording.time_s))),
            }
            findings.append(Finding("values-held", "note", facts))
    return recording if frame is recording.frame else replace(recording, frame=frame, findings=tuple(findings))


def fresh_readings(time_s: Floats, values: Floats, *, longest_s: float) -> Readings:
    """Rows that hold a reading of their own.

    Where a value stands, no change follows another within the time between two readings, though rows do. What stays the
    same for longer than that is read again.

    Parameters
    ----------
    time_s, values : shape (n,), NaN where the value is not known [s]
    longest_s : a value that stays the same for longer is not taken for one that stands [s]

    Returns
    -------
    The rows, and how long a reading stands.
    """
    known = np.isfinite(values)
    at_s, read = time_s[known], values[known]
    changes = np.concatenate(([0], np.flatnonzero(np.diff(read)) + 1)) if len(read) else np.zeros(0, dtype=np.intp)
    if len(changes) <= LEAST_CHANGES or len(np.unique(read[changes])) < LEAST_VALUES:
        return Readings(known, 0.0)
    apart_s = np.diff(at_s[changes])
    soonest_s = float(np.quantile(apart_s, EARLY))
    run = np.repeat(np.arange(len(changes)), np.diff(np.append(changes, len(read))))
    since_s = at_s - at_s[changes][run]
    repeats = (since_s > 0) & (since_s < 0.99 * soonest_s)
    once_s = apart_s[apart_s < 1.5 * min(float(np.median(apart_s)), 2 * soonest_s)]  # read once, not twice the same
    stands_s = float(np.mean(once_s))
    if stands_s > longest_s or repeats.sum() < LEAST_REPEATS * len(changes):
        return Readings(known, 0.0)
    # What stays the same may be told late, for it is no other then; too early, it would be a step of the stair.
    times_read = np.floor(since_s / (float(np.quantile(once_s, LATE)) - 1e-6))
    first = np.concatenate(([True], (np.diff(times_read) > 0) | (np.diff(run) > 0)))
    fresh = np.zeros(len(time_s), dtype=bool)
    fresh[np.flatnonzero(known)[first]] = True
    return Readings(fresh, stands_s)
