"""Masks and runs: where a condition holds, and for how long."""

import numpy as np
from numpy.typing import NDArray

Mask = NDArray[np.bool_]
Floats = NDArray[np.float64]
Runs = list[tuple[int, int]]  # first and last sample of each run, both included


def hysteresis_mask(values: Floats, *, on: float, off: float) -> Mask:
    """True from where ``values`` rises to ``on`` until it falls below ``off``.

    Parameters
    ----------
    values : shape (n,); a NaN ends a run
    on, off : thresholds in the unit of ``values``, ``off <= on``

    Returns
    -------
    mask : shape (n,)
    """
    decided = np.full(len(values), -1, dtype=np.int8)  # -1: between the thresholds, keep the state
    with np.errstate(invalid="ignore"):
        decided[values >= on] = 1
        decided[~(values >= off)] = 0
    last = np.where(decided >= 0, np.arange(len(values)), 0)
    np.maximum.accumulate(last, out=last)
    mask: Mask = decided[last] == 1
    return mask


def mask_runs(mask: Mask) -> Runs:
    """First and last index of each stretch of True."""
    edges = np.diff(np.concatenate(([0], mask.astype(np.int8), [0])))
    return list(zip(np.flatnonzero(edges == 1).tolist(), (np.flatnonzero(edges == -1) - 1).tolist(), strict=True))


def merge_runs(runs: Runs, time_s: Floats, *, gap_s: float) -> Runs:
    """Runs that are at most ``gap_s`` apart become one."""
    merged: Runs = []
    for first, last in runs:
        if merged and time_s[first] - time_s[merged[-1][1]] <= gap_s:
            merged[-1] = (merged[-1][0], last)
        else:
            merged.append((first, last))
    return merged


def runs_mask(runs: Runs, n: int) -> Mask:
    """The mask, shape (n,), that is True on the runs."""
    mask = np.zeros(n, dtype=bool)
    for first, last in runs:
        mask[first : last + 1] = True
    return mask


def local_slope(time_s: Floats, values: Floats, *, window_s: float) -> Floats:
    """Slope of the least-squares line through the samples within half a window on either side.

    Works on uneven steps in one pass (prefix sums). Where fewer than two known samples lie in the window the
    slope is NaN.

    Parameters
    ----------
    time_s, values : shape (n,); NaN values are left out
    window_s : full width of the window [s]

    Returns
    -------
    slope : shape (n,), unit of ``values`` per second
    """
    known = np.isfinite(values)
    origin = time_s - time_s[0]
    level = float(np.nanmean(values)) if known.any() else 0.0  # keeps the sums small
    columns = [known, np.where(known, origin, 0), np.where(known, values - level, 0)]
    count, t, v = (np.concatenate(([0.0], np.cumsum(column))) for column in columns)
    tt = np.concatenate(([0.0], np.cumsum(columns[1] ** 2)))
    tv = np.concatenate(([0.0], np.cumsum(columns[1] * columns[2])))
    low = np.searchsorted(time_s, time_s - window_s / 2 - 1e-9, side="left")
    high = np.searchsorted(time_s, time_s + window_s / 2 + 1e-9, side="right")
    n = count[high] - count[low]
    sum_t, sum_v = t[high] - t[low], v[high] - v[low]
    spread = n * (tt[high] - tt[low]) - sum_t**2
    with np.errstate(invalid="ignore", divide="ignore"):
        slope = (n * (tv[high] - tv[low]) - sum_t * sum_v) / spread
    slope[(n < 2) | (spread <= 1e-9)] = np.nan
    result: Floats = slope
    return result
