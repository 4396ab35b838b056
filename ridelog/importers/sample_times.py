"""Which samples have a time that can be believed: one rule for every device that stamps its samples.

A sample is dropped where its time repeats or goes back, so that as few samples as possible are lost; and
where it lies more than a day away from the bulk of the others. Nothing is reordered and nothing invented.
"""

from bisect import bisect_left
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta

import numpy as np

from ridelog.errors import InputError
from ridelog.findings import Finding, Severity

EARLIEST_START = datetime(1990, 1, 1, tzinfo=UTC)  # before any device that could have recorded the ride
_US = 1_000_000


@dataclass(frozen=True)
class TimeRules:
    """What is believed of the samples' times.

    Attributes
    ----------
    largest_gap_s : a longer silence parts a recording; devices without a fix stamp 1980 or 2036, and
        no ride has its rider asleep for a day [s]
    grave_share : share of dropped samples from which the finding is a warning rather than a note [1]
    """

    largest_gap_s: float = 86_400.0
    grave_share: float = 0.01


DEFAULT_RULES = TimeRules()


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


def usable_mask(
    times_us: np.ndarray, source: str, *, rules: TimeRules = DEFAULT_RULES
) -> tuple[np.ndarray, list[Finding]]:
    """The samples whose times can be believed, and what became of the others.

    Parameters
    ----------
    times_us : shape (n,), whole microseconds from any origin, in the order of the file [1e-6 s]
    source : name of the file, for messages
    rules : what is believed

    Returns
    -------
    mask : shape (n,)
    findings : at most one for each of repeated, backward and far-off times; seconds count from the first
        sample kept

    Raises
    ------
    InputError : there is no sample
    """
    if not len(times_us):
        raise InputError(source, "holds no sample that has a time")
    mask = increasing_mask(times_us)
    kept = np.flatnonzero(mask)
    gap_us = rules.largest_gap_s * _US
    pieces = np.split(kept, np.flatnonzero(np.diff(times_us[kept]) > gap_us) + 1)
    mask[:] = False
    mask[max(pieces, key=len)] = True
    first_us, last_us = times_us[mask][[0, -1]]
    far_mask = ~mask & ((times_us < first_us - gap_us) | (times_us > last_us + gap_us))
    far_mask |= ~mask & np.isin(np.arange(len(mask)), kept)
    repeated_mask = ~mask & ~far_mask & np.isin(times_us, times_us[mask])
    backward_mask = ~mask & ~far_mask & ~repeated_mask
    day = "a day" if rules.largest_gap_s == 86_400 else f"{rules.largest_gap_s:g} s"
    kinds = (
        ("time-repeated", repeated_mask, "repeat the time of another sample; the first of each was kept"),
        ("clock-backward", backward_mask, "go back in time; they were left out"),
        ("far-off-times", far_mask, f"lie more than {day} away from the others; they were left out"),
    )
    findings = []
    for code, dropped_mask, fate in kinds:
        if dropped_mask.any():
            findings.append(_dropped(code, fate, source, (times_us - first_us) / _US, dropped_mask, rules))
    return mask, findings


def _dropped(
    code: str, fate: str, source: str, seconds: np.ndarray, dropped_mask: np.ndarray, rules: TimeRules
) -> Finding:
    where = np.flatnonzero(dropped_mask)
    severity: Severity = "warning" if len(where) > rules.grave_share * len(dropped_mask) else "note"
    first_s = float(seconds[where[0]])
    message = (
        f"{source}: {len(where)} of {len(dropped_mask)} samples {fate} "
        f"(the first is sample {where[0] + 1}, at {first_s:.1f} s)."
    )
    if code == "far-off-times":  # their seconds are not on the ride's clock
        return Finding(code, "warning", message)
    return Finding(code, severity, message, max(first_s, 0.0), max(float(seconds[where].max()), 0.0))


def believable_start(
    start: datetime, source: str, *, now: datetime | None = None
) -> tuple[datetime | None, list[Finding]]:
    """``start``, unless the ride would have begun in the future or before 1990: then ``None`` and a finding.

    Parameters
    ----------
    start : wall time of the first sample, with zone
    source : name of the file, for messages
    now : taken for the present, by default the machine's clock; a day of grace is given
    """
    now = now or datetime.now(UTC)
    if EARLIEST_START <= start <= now + timedelta(days=1):
        return start, []
    return None, [
        Finding(
            "impossible-date",
            "warning",
            f"{source}: the device says that the ride began on {start:%Y-%m-%d}, which cannot be; its dates and "
            "times of day are not used, only the seconds between samples.",
        )
    ]
