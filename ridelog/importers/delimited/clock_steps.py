"""Sample times as a device wrote them, made to increase: wraps undone, coarse stamps spread, stray rows dropped.

Pure: arrays in, arrays and findings out.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from ridelog.errors import InputError
from ridelog.findings import Finding

_DAY_S = 86_400.0
_YEAR_S = 366 * _DAY_S


def counted(n: int, noun: str) -> str:
    """``1 row``, ``2 rows``."""
    return f"{n} {noun}" if n == 1 else f"{n} {noun}s"


@dataclass(frozen=True)
class SteadyTimes:
    """Times that strictly increase.

    Attributes
    ----------
    time_s : shape (k,), seconds from the first sample kept [s]
    first_s : the first sample's time on the clock as written [s]
    rows : which of the n rows are kept, shape (k,)
    findings : what was done to get there
    """

    time_s: np.ndarray
    first_s: float
    rows: np.ndarray
    findings: tuple[Finding, ...]


def steady(
    times_s: np.ndarray,
    name: str,
    line_of: Callable[[int], int],
    *,
    wraps_s: Sequence[float] = (),
    same_as_before: np.ndarray | None = None,
    largest_dropped_share: float = 0.05,
) -> SteadyTimes:
    """Make sample times increase strictly, or say why that cannot be done.

    Parameters
    ----------
    times_s : as written, shape (n,), NaN where a row has no time [s]
    name : of the file, for messages
    line_of : line of a row
    wraps_s : amounts after which the clock may start again from zero: a day, or a counter's range [s]
    same_as_before : whether a row repeats all values of the row above it, shape (n,)
    largest_dropped_share : share of rows that may be dropped because their time does not increase [1]

    Raises
    ------
    InputError : hardly any time, a clock that starts again, or too many times that do not increase
    """
    findings: list[Finding] = []
    rows = np.flatnonzero(np.isfinite(times_s))
    n_lost = len(times_s) - len(rows)
    if len(rows) < 1 or n_lost > 0.2 * len(times_s):
        line = line_of(int(np.flatnonzero(~np.isfinite(times_s))[0])) if n_lost else None
        what = f"{n_lost} of {len(times_s)} rows have no time that can be read"
        raise InputError(name, what, place=f"line {line}" if line else None)
    if n_lost:
        text = f"{name}: {n_lost} of {len(times_s)} rows have no time; left out."
        findings.append(Finding("rows-without-time", "warning", text))
    times_s, n_wraps = _unwrapped(times_s[rows], wraps_s)
    if n_wraps:
        text = f"{name}: the clock starts again from zero {counted(n_wraps, 'time')} (midnight, or a full counter)"
        findings.append(Finding("clock-wrapped", "note", f"{text}; read as going on."))
    repeats_mask = np.concatenate(([False], np.diff(times_s) == 0))
    if same_as_before is not None and repeats_mask.sum() > largest_dropped_share * len(rows):
        doubled_mask = repeats_mask & same_as_before[rows]
        if doubled_mask.sum() >= 0.95 * repeats_mask.sum():
            text = (
                f"{name}: {counted(int(doubled_mask.sum()), 'row')} the same as the row above, time and all; left out."
            )
            findings.append(Finding("rows-repeated", "note", text))
            rows, times_s = rows[~doubled_mask], times_s[~doubled_mask]
    times_s, spread = _spread(times_s, name)
    findings += spread
    kept_mask, dropped = _increasing(times_s, rows, name, line_of, largest_dropped_share)
    findings += dropped
    times_s, rows = times_s[kept_mask], rows[kept_mask]
    findings += _jumps(times_s, rows, name, line_of)
    return SteadyTimes(times_s - times_s[0], float(times_s[0]), rows, tuple(findings))


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
    text = (
        f"{name}: the time stamps have a resolution of {step_s:g} s, but about {mean:.3g} samples share each; "
        f"they were spread evenly over the {step_s:g} s."
    )
    return spread_s, [Finding("time-spread", "note", text)]


def _increasing(
    times_s: np.ndarray, rows: np.ndarray, name: str, line_of: Callable[[int], int], largest_share: float
) -> tuple[np.ndarray, list[Finding]]:
    """Which rows to keep so that times strictly increase; refuses where that would cost too many."""
    kept_mask = np.ones(len(times_s), dtype=bool)
    steps = np.diff(times_s)
    if (steps > 0).all():
        return kept_mask, []
    forward = steps[steps > 0]
    usual_s = float(np.median(forward)) if len(forward) else 0.0
    if len(times_s) > 2:
        # A single stamp far ahead would make all rows after it look late.
        ahead_mask = (steps[:-1] > 10 * usual_s) & (steps[1:] < 0) & (times_s[2:] > times_s[:-2])
        kept_mask[1:-1] &= ~ahead_mask
    falls = np.flatnonzero(np.diff(times_s[kept_mask]) < 0) + 1
    if len(falls) and falls[0] <= min(0.5 * largest_share * len(times_s), 50) and len(falls) == 1:
        kept_mask[np.flatnonzero(kept_mask)[: falls[0]]] = False  # a few rows from before the clock was set
    held = np.flatnonzero(kept_mask)
    highest = np.maximum.accumulate(times_s[held])
    late = held[1:][times_s[held[1:]] <= highest[:-1]]
    kept_mask[late] = False
    n_dropped = int(len(times_s) - kept_mask.sum())
    n_same = int(np.count_nonzero(steps == 0))
    if n_dropped > max(1, largest_share * len(times_s)):
        raise _not_increasing(times_s, rows, name, line_of, n_dropped)
    fall = np.flatnonzero(steps < 0)
    first = int(fall[0] if len(fall) else np.flatnonzero(steps == 0)[0]) + 1
    at = f"first at line {line_of(int(rows[first]))}"
    if len(fall):
        text = f"{name}: the clock goes back {counted(len(fall), 'time')} ({at}, by {-steps[first - 1]:.6g} s)"
        return kept_mask, [Finding("clock-backward", "warning", f"{text}; {counted(n_dropped, 'row')} left out.")]
    text = f"{name}: {counted(n_same, 'row')} with the time of the row above ({at}); left out."
    return kept_mask, [Finding("time-repeated", "note", text)]


def _not_increasing(
    times_s: np.ndarray, rows: np.ndarray, name: str, line_of: Callable[[int], int], n_dropped: int
) -> InputError:
    steps = np.diff(times_s)
    falls = np.flatnonzero(steps < 0)
    if len(falls) and len(falls) <= max(3, 0.001 * len(times_s)):
        at = int(falls[0]) + 1
        span = f"from {times_s[at - 1]:.6g} s to {times_s[at]:.6g} s"
        hint = "did the device start anew there? split the log at that line, and measure the parts as rides"
        if abs(times_s[at] - times_s[at - 1] + 3600.0) <= 60.0:
            hint = (
                "did summer time end there? add 1 h to the times from that line on, or let the device log UTC; "
                f"if not: {hint}"
            )
        return InputError(name, f"the clock starts again ({span})", place=f"line {line_of(int(rows[at]))}", hint=hint)
    at = int(np.flatnonzero(steps <= 0)[0]) + 1
    return InputError(
        name,
        f"the time does not increase in {n_dropped} of {len(times_s)} rows",
        place=f"line {line_of(int(rows[at]))}",
        hint="is this the right column for the time? `ridelog columns FILE` shows how it was understood",
    )


def _jumps(times_s: np.ndarray, rows: np.ndarray, name: str, line_of: Callable[[int], int]) -> list[Finding]:
    """A finding on a gap of more than a day; a log that spans more than a year is refused."""
    steps = np.diff(times_s)
    if not len(steps) or steps.max() <= _DAY_S:
        return []
    at = int(np.argmax(steps)) + 1
    line = line_of(int(rows[at]))
    if times_s[-1] - times_s[0] > _YEAR_S:
        what = f"the clock leaps by {steps.max() / _DAY_S:.3g} days"
        raise InputError(name, what, place=f"line {line}", hint="leave out the rows before the clock was set")
    text = f"{name}: the clock leaps by {steps.max() / _DAY_S:.3g} days at line {line}."
    return [Finding("clock-leap", "warning", text)]
