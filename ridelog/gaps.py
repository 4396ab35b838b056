"""Gaps in a recording: how long a step may be before nothing may be said of what happened in it."""

import numpy as np


def default_gap_limit_s(
    time_s: np.ndarray, *, least_s: float = 2.0, factor: float = 3.0, quantile: float = 0.95
) -> float:
    """Longest step that may be bridged: ``max(least_s, factor * quantile of the steps)`` [s].

    Three times the 95th percentile lets a device that saves power by uneven steps pass, and still stops at
    a dropout; two seconds keep a 10 Hz log from breaking at every late sample.

    Parameters
    ----------
    time_s : sample times, shape (n,), increasing [s]
    least_s : the limit is never below this [s]
    factor : multiple of the usual longest step [1]
    quantile : which step counts as the usual longest one [1]

    Returns
    -------
    The limit; ``least_s`` where there are fewer than two samples [s].
    """
    if len(time_s) < 2:
        return least_s
    return max(least_s, factor * float(np.quantile(np.diff(time_s), quantile)))


def time_gaps(time_s: np.ndarray, gap_limit_s: float | None = None) -> np.ndarray:
    """Which steps are gaps.

    Parameters
    ----------
    time_s : sample times, shape (n,), increasing [s]
    gap_limit_s : longest step that is not a gap [s]; `default_gap_limit_s` where ``None``

    Returns
    -------
    Mask, shape (n - 1,) (empty for n = 0): ``True`` where the step from sample k to k + 1 is a gap.
    """
    limit_s = default_gap_limit_s(time_s) if gap_limit_s is None else gap_limit_s
    mask: np.ndarray = np.diff(time_s) > limit_s
    return mask


def pause_steps(time_s: np.ndarray, pauses_s: tuple[tuple[float, float], ...]) -> np.ndarray:
    """Which steps touch a pause.

    Parameters
    ----------
    time_s : sample times, shape (n,), increasing [s]
    pauses_s : spans in which the device was stopped, on the same clock [s]

    Returns
    -------
    Mask, shape (n - 1,) (empty for n = 0): ``True`` where the step from sample k to k + 1 shares more
    than one instant with a pause.
    """
    mask = np.zeros(max(len(time_s) - 1, 0), dtype=bool)
    for start_s, end_s in pauses_s:
        first = max(int(np.searchsorted(time_s, start_s, side="right")) - 1, 0)
        last = int(np.searchsorted(time_s, end_s, side="left"))
        if end_s > start_s:
            mask[first:last] = True
    return mask
