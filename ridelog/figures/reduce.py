"""Fewer samples for the screen without losing an extreme: what makes zooming quick in a log of any length.

Per pixel column the lowest and the highest sample are kept, in their order. In each column a line through them spans
what a line through all spans, and between two columns it is off by one at most; a column in which the line breaks keeps
its first and last sample too. Reductions that choose "typical" points lose the peaks that matter here.
"""

import numpy as np
from numpy.typing import NDArray

from ridelog.arrays import time_gaps
from ridelog.lazy import dataclass

Floats = NDArray[np.float64]
Mask = NDArray[np.bool_]


@dataclass(frozen=True)
class Reduced:
    """Samples left for the screen; a NaN in ``y`` is a break in the line.

    ``lone_mask`` marks known samples with a break on either side, which a line cannot show. ``n_samples``
    counts the samples of the window before the reduction.
    """

    x: Floats
    y: Floats
    lone_mask: Mask
    n_samples: int


def known_line(time_s: Floats, values: Floats) -> tuple[Floats, Floats, Mask]:
    """The known samples of a channel, and where its line breaks: at steps that the channel itself shows to be gaps.

    Rows of other channels, or of a slower log of the same device, lie between its samples and break nothing.

    Parameters
    ----------
    time_s, values : shape (n,); NaN where not known [s]

    Returns
    -------
    time_s, values : of the m known samples
    gap_mask : shape (m - 1,)
    """
    known = np.isfinite(values)
    if not known.all():
        time_s, values = time_s[known], values[known]
    return time_s, values, time_gaps(time_s)


def reduce_window(
    x: Floats,
    y: Floats,
    *,
    start: float,
    end: float,
    n_columns: int = 1060,
    gap_mask: Mask | None = None,
) -> Reduced:
    """Reduce the samples of one window to two a pixel column, at breaks four.

    Parameters
    ----------
    x : increasing (equal neighbours allowed), shape (n,)
    y : shape (n,); NaN breaks the line
    start, end : the window, in the unit of ``x``, both included
    n_columns : pixel columns; 1060 is the page's widest chart
    gap_mask : shape (n - 1,), ``True`` where the line must not join sample k to k + 1

    Returns
    -------
    Reduced : every column's extremes, the window's first and last sample, the neighbours just outside the window (so
        that the line enters and leaves it), and a break wherever kept neighbours lie on either side of a gap
    """
    first = int(np.searchsorted(x, start, side="left"))
    stop = int(np.searchsorted(x, end, side="right"))
    low, high = max(first - 1, 0), min(stop + 1, len(x))
    kept = np.arange(low, high)
    gaps = np.arange(0) if gap_mask is None else np.flatnonzero(gap_mask)
    if stop - first > 2 * n_columns and end > start:
        starts = _column_starts(x[first:stop], start, end, n_columns)
        inner = first + _kept(y[first:stop], starts, gaps[(gaps >= first) & (gaps < stop - 1)] - first)
        kept = np.concatenate((np.arange(low, first), inner, np.arange(stop, high)))
    broken = np.zeros(max(len(kept) - 1, 0), dtype=bool)
    if len(gaps) and len(kept) > 1:
        n_gaps = np.searchsorted(gaps, kept)
        broken = n_gaps[1:] > n_gaps[:-1]
    at = np.flatnonzero(broken) + 1
    xs = np.insert(x[kept], at, (x[kept[at - 1]] + x[kept[at]]) / 2)
    ys = np.insert(y[kept], at, np.nan)
    return Reduced(xs, ys, _lone(ys), max(stop - first, 0))


def _kept(y: Floats, starts: NDArray[np.int64], gaps: NDArray[np.int64]) -> NDArray[np.int64]:
    """Indices of the lowest and highest sample of each pixel column, and where it breaks of the first and last.

    ``starts`` : the first sample of each column. ``gaps`` : the samples before gaps.
    """
    stops = np.append(starts[1:], len(y))
    unknown = np.isnan(y)
    some = bool(unknown.any())
    low, high = (np.where(unknown, no, y) if some else y for no in (np.inf, -np.inf))
    columns = list(zip(starts.tolist(), stops.tolist(), strict=True))
    lowest = [a + int(low[a:b].argmin()) for a, b in columns]  # column by column: the whole at once is copied often
    highest = [a + int(high[a:b].argmax()) for a, b in columns]
    at_breaks = np.concatenate((gaps, gaps + 1, np.flatnonzero(unknown) if some else gaps))
    broken = np.unique(np.searchsorted(starts, at_breaks, side="right") - 1)
    ends = (starts[:1], stops[-1:] - 1, starts[broken], stops[broken] - 1)
    return np.unique(np.concatenate([*ends, lowest, highest]).astype(np.int64))


def _column_starts(x: Floats, start: float, end: float, n_columns: int) -> NDArray[np.int64]:
    """The first sample of each pixel column that has any; what lies before the window is a column too."""
    bounds = start + (end - start) / n_columns * np.arange(n_columns)
    starts = np.unique(np.append(np.searchsorted(x, bounds), 0))
    return np.asarray(starts[starts < len(x)])


def thin_fill(x: Floats, y: Floats, *, start: float, end: float, n_columns: int) -> NDArray[np.int64]:
    """Indices of what the area between a line and zero needs: of each pixel column the value furthest from zero.

    What lies beside a break stays, and breaks do: the area ends where the line does.

    Parameters
    ----------
    x : increasing, shape (n,)
    y : on one side of zero, shape (n,); NaN breaks the line
    start, end : the window, in the unit of ``x``
    n_columns : pixel columns

    Returns
    -------
    In order.
    """
    if not len(x):
        return np.arange(0)
    known = np.concatenate(([False], ~np.isnan(y), [False]))
    needed = ~(known[:-2] & known[1:-1] & known[2:])
    far = np.abs(np.nan_to_num(y))
    starts = _column_starts(x, start, end, n_columns)
    for a, b in zip(starts.tolist(), np.append(starts[1:], len(x)).tolist(), strict=True):
        needed[a + int(far[a:b].argmax())] = True
    return np.flatnonzero(needed)


def _lone(y: Floats) -> Mask:
    known = np.concatenate(([False], ~np.isnan(y), [False]))
    mask: Mask = known[1:-1] & ~known[:-2] & ~known[2:]
    return mask


def split_at_zero(x: Floats, y: Floats) -> tuple[Floats, Floats, Floats]:
    """One line as two: its part above and its part below zero, meeting on the zero line.

    Parameters
    ----------
    x, y : shape (n,); NaN in ``y`` breaks the line

    Returns
    -------
    x, above, below : shape (m,), m >= n: linear zero crossings are inserted; each part is NaN where the
        line is on the other side
    """
    cross = np.flatnonzero(y[:-1] * y[1:] < 0)
    ratio = y[cross] / (y[cross] - y[cross + 1])
    xs = np.insert(x, cross + 1, x[cross] + ratio * (x[cross + 1] - x[cross]))
    ys = np.insert(y, cross + 1, 0.0)
    return xs, np.where(ys >= 0, ys, np.nan), np.where(ys <= 0, ys, np.nan)


def one_break_each(y: Floats) -> NDArray[np.int64]:
    """Indices of what a line needs: its known values, and of each break between them the first alone."""
    unknown = np.isnan(y)
    return np.flatnonzero(~unknown | ~np.concatenate(([True], unknown[:-1])))


def fill_outline(x: Floats, y: Floats) -> tuple[Floats, Floats]:
    """The outline of the area between a line and zero, falling to zero at every break instead of bridging it.

    Parameters
    ----------
    x, y : shape (n,); NaN in ``y`` breaks the line

    Returns
    -------
    x, y : shape (m,), without NaN
    """
    known = ~np.isnan(y)
    starts = np.flatnonzero(known & ~np.concatenate(([False], known[:-1])))
    ends = np.flatnonzero(known & ~np.concatenate((known[1:], [False])))
    at = np.concatenate((starts, ends + 1))
    zeros = np.insert(y, at, 0.0)
    xs = np.insert(x, at, np.concatenate((x[starts], x[ends])))
    keep = ~np.isnan(zeros)
    return xs[keep], zeros[keep]


def thin_path(east_m: Floats, north_m: Floats, must_keep: Mask, *, n_steps: int = 1500) -> NDArray[np.int64]:
    """Indices of a path's samples that a drawing of it needs.

    Parameters
    ----------
    east_m, north_m : positions, shape (n,); NaN where unknown (kept: it breaks the line) [m]
    must_keep : shape (n,), samples to keep in any case
    n_steps : about how many samples to keep besides

    Returns
    -------
    Indices in order; the first and the last sample, and one for each ``n_steps``-th of the path's length.
    """
    if len(east_m) <= n_steps:
        return np.arange(len(east_m))
    step = np.hypot(np.diff(east_m, prepend=east_m[:1]), np.diff(north_m, prepend=north_m[:1]))
    along = np.cumsum(np.nan_to_num(step))
    bins = np.floor(along / max(along[-1] / n_steps, 1e-9)).astype(np.int64)
    unknown = np.isnan(east_m)
    edge = np.diff(unknown, prepend=~unknown[:1]) | np.append(np.diff(unknown), False)
    keep = (np.diff(bins, prepend=-1) > 0) | must_keep | edge
    keep[[0, -1]] = True
    return np.flatnonzero(keep)
