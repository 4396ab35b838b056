"""Masks, runs and gaps: where a condition holds, for how long, and which steps are too long to say anything of."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

if TYPE_CHECKING:
    import pandas as pd

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
    edged = np.zeros(len(mask) + 2, dtype=bool)
    edged[1:-1] = mask
    edges = np.flatnonzero(edged[1:] != edged[:-1])
    return list(zip(edges[::2].tolist(), (edges[1::2] - 1).tolist(), strict=True))


def merge_runs(runs: Runs, time_s: Floats, *, gap_s: float) -> Runs:
    """Runs that are at most ``gap_s`` apart become one.

    Parameters
    ----------
    runs : in order of time
    time_s : sample times, shape (n,), increasing [s]
    gap_s : longest gap that is bridged [s]

    Returns
    -------
    Runs in order of time, further apart than that.
    """
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
    level = float(np.nanmean(values)) if known.any() else 0.0  # keeps the sums small
    t, v = np.where(known, time_s - time_s[0], 0), np.where(known, values - level, 0)
    summed = _in_windows(time_s, window_s / 2 + 1e-9)
    n, sum_t = summed(known), summed(t)  # one after the other: of a long log each takes as much as a column
    spread = n * summed(t**2) - sum_t**2
    t *= v
    slope = n * summed(t)
    del t
    sum_t *= summed(v)
    slope -= sum_t
    with np.errstate(invalid="ignore", divide="ignore"):
        slope /= spread
    slope[(n < 2) | (spread <= 1e-9)] = np.nan
    result: Floats = slope
    return result


def _in_windows(time_s: Floats, reach_s: float) -> Callable[[NDArray[Any]], Floats]:
    """What adds up values, shape (n,), of the samples within ``reach_s`` of each, either way.

    Where all steps are alike, as many samples lie within reach of each, and none is looked for.
    """
    n = len(time_s)
    k = int(np.searchsorted(time_s, time_s[0] + reach_s, side="right")) - 1
    even = k + 1 < n and bool(
        (time_s[k:] - time_s[: n - k] <= reach_s).all() and (time_s[k + 1 :] - time_s[: n - k - 1] > reach_s).all()
    )
    if not even:
        low = np.searchsorted(time_s, time_s - reach_s, side="left")
        high = np.searchsorted(time_s, time_s + reach_s, side="right")

    def summed(values: NDArray[Any]) -> Floats:
        total = np.zeros(n + 1)
        np.cumsum(values, out=total[1:])
        if not even:
            return total[high] - total[low]
        inside = np.empty(n)
        inside[: n - k - 1] = total[k + 1 : n]
        inside[n - k - 1 :] = total[n]
        inside[k + 1 :] -= total[1 : n - k]
        inside[: k + 1] -= total[0]
        return inside

    return summed


def running_integral(time_s: Floats, rate: Floats, counted: Mask | None = None) -> Floats:
    """The integral from the first sample to each, by trapezoids, shape (n,) [unit of ``rate`` times s].

    Parameters
    ----------
    time_s, rate : shape (n,); a rate that is not known counts as 0
    counted : steps that are integrated, shape (n - 1,); all where ``None``

    Returns
    -------
    Shape (n,), beginning with 0.
    """
    known = np.nan_to_num(rate)
    running = np.zeros(len(known))
    steps = running[1:]  # worked out in their place: of a long log each array counts
    np.add(known[1:], known[:-1], out=steps)
    steps /= 2
    steps *= np.diff(time_s)
    if counted is not None:
        steps[~counted] = 0.0
    np.cumsum(steps, out=steps)
    return running


PRUNED_EACH = 24  # steps after which places that can no longer win are dropped: to look costs as much as five steps


def straight_pieces(
    values: Floats, step_variance: float, bend_cost: float, *, fewest: int = 1, most: int = 2000
) -> NDArray[np.intp]:
    """Where a sequence bends: the points between its straight pieces, by the least sum of scatter and bends.

    The scatter of a piece is the sum of squares of its steps about their mean, over their variance. Every partition is
    weighed (optimal partitioning), those that can no longer win are dropped on the way (pruned exact linear time).

    Parameters
    ----------
    values : shape (n,), on an even grid
    step_variance : of a step within a straight piece, in the square of the unit of ``values``
    bend_cost : what one bend more must explain [1]
    fewest, most : steps of a piece; a longer one gets a bend that bends nothing, which keeps the time in bounds

    Returns
    -------
    Indices of the first point, of every bend, and of the last point.

    References
    ----------
    B. Jackson et al., An algorithm for optimal partitioning of data on an interval, IEEE Signal Processing Letters 12
    (2005), 105-108, doi:10.1109/LSP.2001.838216. R. Killick, P. Fearnhead and I. A. Eckley, Optimal detection of
    changepoints with a linear computational cost, JASA 107 (2012), 1590-1598, doi:10.1080/01621459.2012.737745 (both
    from memory).
    """
    n = len(values) - 1
    places = np.arange(fewest, max(n, 0) + fewest - n % fewest + fewest).reshape(-1, fewest)
    level = ((values - values[0]) / math.sqrt(step_variance))[np.minimum(places, n)]
    previous = np.zeros_like(places)
    begins = np.zeros((3, places.size + 1))  # where the last piece may begin, the height there, and what is paid so far
    kept, too_near = 1, np.triu_indices(fewest, 1)
    for row, (ends, heights) in enumerate(zip(places, level, strict=True)):  # ends that hang on none of each other
        begin, height, paid = begins[:, :kept]
        costs = heights[:, None] - height
        costs *= costs
        costs /= ends[:, None] - begin
        np.subtract(paid, costs, out=costs)
        if row:
            costs[:, -fewest:][too_near] = math.inf
        least = costs.min(axis=1)
        least += bend_cost
        previous[row] = begin[costs.argmin(axis=1)]
        if row % max(PRUNED_EACH // fewest, 1) == 0:
            may_win = np.flatnonzero(costs[-1] <= least[-1])[-most:]
            kept = len(may_win)
            begins[:, :kept] = begins[:, may_win]
        begins[:, kept : kept + fewest] = ends, heights, least
        kept += fewest
    points = [n]
    while points[-1] > 0:
        points.append(int(previous.flat[points[-1] - fewest]))
    return np.array(points[::-1], dtype=np.intp)


def robust_scale(values: Floats, *, centre: float | None = None) -> float:
    """Standard deviation of normal values that a few wild ones hardly move: 1.4826 times the median absolute deviation.

    Parameters
    ----------
    values : shape (n,), all known
    centre : what deviations are taken from; the median where ``None``

    Returns
    -------
    In the unit of ``values``; 0 without any.

    References
    ----------
    F. R. Hampel, "The influence curve and its role in robust estimation", Journal of the American Statistical
    Association 69(346), 383-393 (1974), doi 10.1080/01621459.1974.10482962 (from memory).
    """
    if not len(values):
        return 0.0
    middle = _median(values) if centre is None else centre
    return 1.4826 * _median(np.abs(values - middle))


def _median(values: Floats) -> float:
    """Of values that are all known: numpy's looks for two places and for NaN, which takes five times as long."""
    half = len(values) // 2
    parted = np.partition(values, half)
    return float(parted[half] if len(values) % 2 else (parted[:half].max() + parted[half]) / 2)


def lasting_runs(time_s: Floats, mask: Mask, shortest_s: float, bridge_s: float) -> Runs:
    """Runs of the mask, merged across ``bridge_s``, that last for ``shortest_s``.

    Parameters
    ----------
    time_s : sample times, shape (n,), increasing [s]
    mask : shape (n,)
    shortest_s : shorter runs are left out [s]
    bridge_s : longest gap within a run [s]

    Returns
    -------
    Runs in order of time.
    """
    runs = merge_runs(mask_runs(mask), time_s, gap_s=bridge_s)
    return [run for run in runs if time_s[run[1]] - time_s[run[0]] >= shortest_s]


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
    steps_s = np.diff(time_s)
    n_above = len(steps_s) - 1 - int(np.ceil(quantile * (len(steps_s) - 1)))  # longer than those the quantile is of
    if np.count_nonzero(steps_s > least_s / factor) <= n_above:
        return least_s  # as the quantile would say, without putting a million steps in order
    return max(least_s, factor * float(np.quantile(steps_s, quantile)))


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


def column(frame: pd.DataFrame, name: str) -> Floats:
    """A column of a frame as an array, shape (n,); all NaN where the frame does not have it."""
    return frame[name].to_numpy(dtype=float) if name in frame else np.full(len(frame), np.nan)


# What running totals grow by from sample to sample, shape (n_rows, …, m - 1), for samples of shape (…, m).
Growth = Callable[[NDArray[np.intp]], Floats]


class RunningRows:
    """Running totals along a log, of which a long log keeps a sixteenth.

    Every `RunningRows.BLOCK` samples a total is kept as it is. What it grows by between them is kept as well, or added
    up anew when it is asked for, where that can be said.

    Parameters
    ----------
    n_rows, n : how many totals, and the length of the log
    growth : of all totals between samples; they are kept where ``None``
    at_blocks : the totals at every `RunningRows.BLOCK` samples, where they are not put in, shape (n_rows, n_blocks)
    """

    BLOCK, LONG, AT_ONCE = 16, 100_000, 256

    def __init__(self, n_rows: int, n: int, growth: Growth | None = None, at_blocks: Floats | None = None) -> None:
        self._n, self._growth = n, growth
        self._kept = np.zeros((n_rows, -(-n // self.BLOCK))) if at_blocks is None else at_blocks
        self._beyond = np.zeros((n_rows, n if growth is None else 0))

    def put(self, row: int, totals: Floats) -> None:
        """Keep one row, shape (n,)."""
        self._kept[row] = totals[:: self.BLOCK]
        if self._growth is None:
            self._beyond[row] = totals - np.repeat(self._kept[row], self.BLOCK)[: len(totals)]

    def at(self, samples: NDArray[np.intp]) -> Floats:
        """All rows at some samples, shape (n_rows, k)."""
        totals: Floats = self._kept[:, samples // self.BLOCK]
        if self._growth is None:
            return np.asarray(totals + self._beyond[:, samples])
        for begin in range(0, len(samples), self.AT_ONCE):
            some = samples[begin : begin + self.AT_ONCE, None]
            inside = np.minimum(some // self.BLOCK * self.BLOCK + np.arange(self.BLOCK + 1), self._n - 1)
            grown = np.where(inside[:, :-1] < some, self._growth(inside), 0.0)
            totals[:, begin : begin + self.AT_ONCE] += grown.sum(axis=-1)
        return totals

    def pieces(self, first: int, last: int) -> Floats:
        """A piece of all rows, from the first sample to the last, both included, shape (n_rows, last - first + 1)."""
        if self._growth is None:
            return self.at(np.arange(first, last + 1))
        start = first // self.BLOCK * self.BLOCK
        grown = self._growth(np.arange(start, last + 1))
        totals = self._kept[:, [first // self.BLOCK]] + np.cumsum(np.insert(grown, 0, 0.0, axis=1), axis=1)
        return np.asarray(totals[:, first - start :])
