"""Which samples have a time that can be believed: one rule for every format.

A sample is dropped where its time repeats or goes back, so that as few samples as possible are lost; and where it
lies more than a day away from the ride: a stray stamp, or a time from before the clock was set. Parts of a ride that
are days apart are all kept. Nothing is reordered and nothing invented.
"""

from bisect import bisect_left
from collections.abc import Callable, Sequence
from datetime import UTC, datetime, timedelta

import numpy as np

from ridelog.findings import Fact, Finding, Severity
from ridelog.lazy import dataclass
from ridelog.tell.refusals import times as refusals

EARLIEST_START = datetime(1990, 1, 1, tzinfo=UTC)  # before any device that could have recorded the ride
_US = 1_000_000
_DAY_S = 86_400.0


@dataclass(frozen=True)
class TimeRules:
    """What is believed of the samples' times.

    Attributes
    ----------
    longest_gap_s : a longer silence parts a recording; no ride has its rider asleep for a day [s]
    longest_ride_s : parts further from each other are no one ride: devices without a fix stamp 1980 or 2036 [s]
    fewest_samples : a part of fewer (or of less than half the largest part) is no part of the ride but stray [1]
    grave_share : share of dropped samples from which the finding is a warning rather than a note [1]
    largest_dropped_share : share of samples that may be dropped before the recording is refused; ``None`` for any.
        Of a text log's columns the wrong one may have been taken for the time, which costs many samples; the clock
        of a format that defines it cannot be mistaken [1]
    largest_untimed_share : share of samples that may have no time, likewise [1]
    sample : what a sample is called in sentences
    """

    longest_gap_s: float = _DAY_S
    longest_ride_s: float = 366 * _DAY_S
    fewest_samples: int = 60
    grave_share: float = 0.01
    largest_dropped_share: float | None = None
    largest_untimed_share: float | None = None
    sample: str = "sample"


TRACK_TIMES = TimeRules()
TEXT_LOG_TIMES = TimeRules(largest_dropped_share=0.05, largest_untimed_share=0.2, sample="row")


@dataclass(frozen=True)
class SettledTimes:
    """Times that strictly increase.

    Attributes
    ----------
    rows : which of the n samples are kept, shape (k,)
    time_s : shape (k,), seconds from the first sample kept [s]
    first_s : the first sample's time on the clock as written [s]
    findings : what was done to get there
    """

    rows: np.ndarray
    time_s: np.ndarray
    first_s: float
    findings: tuple[Finding, ...]


@dataclass(frozen=True)
class _Dropped:
    """Masks of the samples that are not kept, shape (n,), by the reason."""

    repeated: np.ndarray  # a time that a sample kept has as well
    backward: np.ndarray
    far: np.ndarray


def settle(
    times: np.ndarray,
    source: str,
    rules: TimeRules = TRACK_TIMES,
    place: Callable[[int], str] | None = None,
) -> SettledTimes:
    """Keep the samples whose times can be believed, and say what became of the others.

    Parameters
    ----------
    times : shape (n,), in the order of the file, from any origin: whole microseconds [1e-6 s], or floating seconds
        with NaN where a sample has no time [s]
    source : name of the file, for messages
    rules : what is believed
    place : where a sample stands in the file, as "line 12"; its number by default

    Returns
    -------
    settled : findings are at most one for each of untimed, repeated, backward and far-off samples, and one for a gap
        of more than a day; their seconds count from the first sample kept

    Raises
    ------
    InputError : no sample has a time, or more are lost than the rules allow
    """
    place = place or (lambda row: refusals.at_sample(row + 1))
    timed = np.flatnonzero(np.isfinite(times)) if times.dtype.kind == "f" else np.arange(len(times))
    findings = _untimed(len(times), timed, source, rules, place)
    seconds = times[timed] if times.dtype.kind == "f" else (times - times[0]) / _US
    kept_mask, dropped = _chosen(seconds, rules)
    if dropped is not None:
        _refuse_many(seconds, kept_mask, dropped, rules, (source, lambda row: place(int(timed[row]))))
        for code, mask in (
            ("time-repeated", dropped.repeated),
            ("clock-backward", dropped.backward),
            ("far-off-times", dropped.far),
        ):
            if mask.any():
                first_s = seconds[kept_mask][0]
                where = place(int(timed[np.flatnonzero(mask)[0]]))
                findings.append(_dropped_finding(code, (source, where), (seconds - first_s, mask), rules))
    rows = timed[kept_mask]
    exact = times[rows]
    time_s = exact - exact[0] if times.dtype.kind == "f" else (exact - exact[0]) / _US
    findings += _leaps(time_s, rows, source, rules, place)
    first_s = float(exact[0]) if times.dtype.kind == "f" else float(exact[0]) / _US
    return SettledTimes(rows, time_s, first_s, tuple(findings))


def _untimed(
    n_all: int, timed: np.ndarray, source: str, rules: TimeRules, place: Callable[[int], str]
) -> list[Finding]:
    """A finding on the samples without a time; an error where hardly any has one."""
    n_lost = n_all - len(timed)
    limit = rules.largest_untimed_share
    if not len(timed) or (limit is not None and n_lost > limit * n_all):
        if not n_lost:
            raise refusals.no_times(source)
        first = int(np.flatnonzero(~np.isin(np.arange(n_all), timed))[0])
        raise refusals.many_without_time(source, place(first), n_lost, n_all, rules.sample)
    if not n_lost:
        return []
    facts: dict[str, Fact] = {"file": source, "n_lost": n_lost, "n_all": n_all, "of": rules.sample}
    return [Finding("rows-without-time", "warning", facts)]


def _chosen(seconds: np.ndarray, rules: TimeRules) -> tuple[np.ndarray, _Dropped | None]:
    """Which samples are kept, and the others by their reasons; ``None`` where there are no others."""
    mask = increasing_mask(seconds)
    increasing = np.flatnonzero(mask)
    steps = np.diff(seconds[increasing])
    if mask.all() and not (steps > rules.longest_gap_s).any():
        return mask, None
    pieces = np.split(increasing, np.flatnonzero(steps > rules.longest_gap_s) + 1)
    largest = max(pieces, key=len)
    fewest = min(rules.fewest_samples, 0.5 * len(largest))
    begin_s, end_s = seconds[largest[0]], seconds[largest[-1]]
    mask[:] = False
    for piece in pieces:
        span_s = max(seconds[piece[-1]], end_s) - min(seconds[piece[0]], begin_s)
        mask[piece] = piece is largest or (len(piece) >= fewest and span_s <= rules.longest_ride_s)
    if mask.all():
        return mask, None
    first_s, last_s = seconds[mask][[0, -1]]
    far_mask = ~mask & ((seconds < first_s - rules.longest_gap_s) | (seconds > last_s + rules.longest_gap_s))
    far_mask |= ~mask & np.isin(np.arange(len(mask)), increasing)
    repeated_mask = ~mask & ~far_mask & np.isin(seconds, seconds[mask])
    return mask, _Dropped(repeated_mask, ~mask & ~far_mask & ~repeated_mask, far_mask)


def increasing_mask(times: Sequence[int] | np.ndarray) -> np.ndarray:
    """The most samples that can be kept, in their order, with strictly increasing times.

    A longest increasing subsequence by the patience method; of equal times the first is kept.

    Parameters
    ----------
    times : shape (n,), any unit

    Returns
    -------
    mask, shape (n,), true where a sample is kept
    """
    times = np.asarray(times)
    mask = np.ones(len(times), dtype=bool)
    if len(times) < 2 or (np.diff(times) > 0).all():
        return mask
    mask[:] = False
    lowest: list[int] = []  # lowest last time of a kept series of each length, and its sample
    sample: list[int] = []
    before = [-1] * len(times)
    for index, time in enumerate(times.tolist()):
        length = bisect_left(lowest, time)
        if length < len(lowest):
            if lowest[length] == time:
                continue
            lowest[length], sample[length] = time, index
        else:
            lowest.append(time)
            sample.append(index)
        before[index] = sample[length - 1] if length else -1
    index = sample[-1]
    while index >= 0:
        mask[index] = True
        index = before[index]
    return mask


def _dropped_finding(
    code: str, at: tuple[str, str], dropped: tuple[np.ndarray, np.ndarray], rules: TimeRules
) -> Finding:
    """How many samples were left out for one reason, and where the first of them stands."""
    (source, where), (seconds, mask) = at, dropped
    n = int(mask.sum())
    severity: Severity = "warning" if n > rules.grave_share * len(mask) else "note"
    lost_s = seconds[mask]
    facts: dict[str, Fact] = {
        "file": source,
        "n_dropped": n,
        "n_all": len(mask),
        "of": rules.sample,
        "first_place": where,
        "first_s": float(lost_s[0]),
    }
    if code == "far-off-times":  # their seconds are not on the ride's clock
        return Finding(code, "warning", facts)
    return Finding(code, severity, facts, max(float(lost_s[0]), 0.0), max(float(lost_s.max()), 0.0))


def _refuse_many(
    seconds: np.ndarray,
    kept_mask: np.ndarray,
    dropped: _Dropped,
    rules: TimeRules,
    at: tuple[str, Callable[[int], str]],
) -> None:
    """Raise where more samples would be dropped than the rules allow."""
    n_dropped = int((~kept_mask).sum())
    if rules.largest_dropped_share is None or n_dropped <= max(1, rules.largest_dropped_share * len(seconds)):
        return
    source, place = at
    steps = np.diff(seconds)
    falls = np.flatnonzero(steps < 0)
    if dropped.far.sum() > 0.5 * n_dropped:
        row = int(np.argmax(np.abs(steps))) + 1
        raise refusals.clock_leaps(source, place(row), abs(float(steps[row - 1])), rules.sample)
    if len(falls) and len(falls) <= max(3, 0.001 * len(seconds)):
        row = int(falls[0]) + 1
        raise refusals.clock_starts_again(source, place(row), float(seconds[row - 1]), float(seconds[row]))
    row = int(np.flatnonzero(steps <= 0)[0]) + 1
    raise refusals.not_increasing(source, place(row), n_dropped, len(seconds), rules.sample)


def _leaps(
    time_s: np.ndarray, rows: np.ndarray, source: str, rules: TimeRules, place: Callable[[int], str]
) -> list[Finding]:
    """A finding on the longest gap, where the parts of a ride are more than a day apart."""
    steps = np.diff(time_s)
    if not len(steps) or steps.max() <= rules.longest_gap_s:
        return []
    at = int(np.argmax(steps)) + 1
    facts: dict[str, Fact] = {"file": source, "leap_s": float(steps.max()), "place": place(int(rows[at]))}
    return [Finding("clock-leap", "warning", facts)]


def believable_start(
    start: datetime, source: str, *, now: datetime | None = None
) -> tuple[datetime | None, list[Finding]]:
    """``start``, unless the ride would have begun in the future or before 1990: then ``None`` and a finding.

    Parameters
    ----------
    start : wall time of the first sample, with zone
    source : name of the file, for messages
    now : taken for the present, by default the machine's clock; a day of grace is given

    Returns
    -------
    The start, or ``None``; and the finding, if there is one.
    """
    now = now or datetime.now(UTC)
    if EARLIEST_START <= start <= now + timedelta(days=1):
        return start, []
    return None, [Finding("impossible-date", "warning", {"file": source, "date": start.date().isoformat()})]
