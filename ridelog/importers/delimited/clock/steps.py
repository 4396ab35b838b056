"""What a text log's clock needs before its times are believed: wraps undone, rows written twice dropped, stamps spread.

Then the one rule of `ridelog.importers.sample_times` holds. Only text logs need this: they print times of day that
pass midnight, counters that are full, and whole seconds for several samples each. FIT and GPX hold dates, and their
devices write one sample a stamp: a repeated one is the same sample stored twice, at a lap or a pause.
"""

from collections.abc import Callable, Sequence
from dataclasses import replace

import numpy as np

from ridelog.findings import Fact, Finding
from ridelog.importers.sample_times import TEXT_LOG_TIMES, SettledTimes, settle
from ridelog.tell.refusals.logs import at_line

_DAY_S = 86_400.0


def steady(
    times_s: np.ndarray,
    name: str,
    line_of: Callable[[int], int],
    *,
    wraps_s: Sequence[float] = (),
    same_as_before: np.ndarray | None = None,
) -> SettledTimes:
    """Make the sample times of a text log increase strictly, or say why that cannot be done.

    Parameters
    ----------
    times_s : as written, shape (n,), NaN where a row has no time [s]
    name : of the file, for messages
    line_of : line of a row
    wraps_s : amounts after which the clock may start again from zero: a day, or a counter's range [s]
    same_as_before : whether a row repeats all values of the row above it, shape (n,)

    Returns
    -------
    Times from the first sample that is kept, the rows kept, and what was done to them.

    Raises
    ------
    InputError : hardly any time, a clock that starts again, or too many times that do not increase
    """
    findings: list[Finding] = []
    timed_mask = np.isfinite(times_s)
    ready_s = times_s.copy()
    ready_s[timed_mask], n_wraps = _unwrapped(times_s[timed_mask], wraps_s)
    if n_wraps:
        findings.append(Finding("clock-wrapped", "note", {"file": name, "n_wraps": n_wraps}))
    rows = np.flatnonzero(timed_mask)
    doubled = _doubled(ready_s, rows, same_as_before)
    if len(doubled):
        findings.append(Finding("rows-repeated", "note", {"file": name, "n_repeated": len(doubled)}))
        rows = np.setdiff1d(rows, doubled)
    ready_s[rows], spread = _spread(ready_s[rows], name)
    left = np.delete(np.arange(len(times_s)), doubled)
    settled = settle(ready_s[left], name, TEXT_LOG_TIMES, lambda row: at_line(line_of(int(left[row]))))
    return replace(settled, rows=left[settled.rows], findings=(*findings, *spread, *settled.findings))


def _doubled(times_s: np.ndarray, rows: np.ndarray, same_as_before: np.ndarray | None) -> np.ndarray:
    """The rows that are written twice, time and values, where nearly all repeated times are such."""
    repeats_mask = np.concatenate(([False], np.diff(times_s[rows]) == 0))
    limit = (TEXT_LOG_TIMES.largest_dropped_share or 0.0) * len(rows)
    if same_as_before is None or repeats_mask.sum() <= limit:
        return np.empty(0, dtype=int)
    doubled_mask = repeats_mask & same_as_before[rows]
    result: np.ndarray = rows[doubled_mask & (doubled_mask.sum() >= 0.95 * repeats_mask.sum())]
    return result


def _unwrapped(times_s: np.ndarray, wraps_s: Sequence[float]) -> tuple[np.ndarray, int]:
    """Times with each fall by nearly a whole range taken as a wrap of the clock."""
    if len(times_s) < 3 or not wraps_s:
        return times_s, 0
    steps = np.diff(times_s)
    forward = steps[steps > 0]
    longest_s = 20 * float(np.median(forward)) if len(forward) else 0.0
    lifts = np.zeros(len(steps))
    for wrap_s in wraps_s:
        longest = max(longest_s, 0.05 * wrap_s if wrap_s == _DAY_S else 0.0)
        lifts[(steps < 0) & (steps + wrap_s > 0) & (steps + wrap_s <= longest)] = wrap_s
    return times_s + np.concatenate(([0.0], np.cumsum(lifts))), int(np.count_nonzero(lifts))


def _spread(
    times_s: np.ndarray, name: str, *, least_repeated_share: float = 0.05, least_regular_share: float = 0.8
) -> tuple[np.ndarray, list[Finding]]:
    """Times whose stamps are coarser than the samples: each stamp's samples spread evenly over its step.

    Done only where at least ``least_repeated_share`` of the rows repeat a stamp and at least
    ``least_regular_share`` of them stand under stamps that have the usual number of samples, give or take one.
    """
    if not len(times_s):
        return times_s, []
    starts = np.concatenate(([0], np.flatnonzero(np.diff(times_s) != 0) + 1))
    sizes = np.diff(np.concatenate((starts, [len(times_s)])))
    stamps = times_s[starts]
    if len(stamps) < 4 or len(times_s) - len(stamps) < least_repeated_share * len(times_s):
        return times_s, []
    if (np.diff(stamps) < 0).any():
        return times_s, []
    inner = sizes[1:-1]
    usual = float(np.median(inner))
    mean = float(np.mean(inner))
    regular_mask = np.abs(inner - mean) <= max(1.0, 0.2 * mean)
    if inner[regular_mask].sum() < least_regular_share * inner.sum():
        return times_s, []
    step_s = float(np.median(np.diff(stamps)))
    slots = np.maximum(sizes, round(usual)).astype(float)
    slots[1:-1] = sizes[1:-1]
    within = np.arange(len(times_s)) - np.repeat(starts, sizes)
    # The log starts in the middle of a stamp's step, so the samples of the first stamp end with it.
    within[: sizes[0]] += int(slots[0]) - int(sizes[0])
    spread_s = times_s + within * (step_s / np.repeat(slots, sizes))
    facts: dict[str, Fact] = {"file": name, "step_s": step_s, "samples_per_stamp": mean}
    return spread_s, [Finding("time-spread", "note", facts)]
