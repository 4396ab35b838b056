"""Correlation of two signals that are known only in parts, over all shifts or in windows: pure arrays."""

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view

from ridelog.arrays import mask_runs
from ridelog.lazy import dataclass

FEW_RUNS = 8  # of what is known of a signal


@dataclass(frozen=True)
class Correlation:
    """Correlation of a reference with another signal, by shift of the other's first sample.

    Attributes
    ----------
    lag_s : shape (m,), increasing, uniform [s]
    agreement : Pearson correlation over what both know at that shift, NaN where that is too little [1]
    overlap_s : time that both know [s]
    """

    lag_s: np.ndarray
    agreement: np.ndarray
    overlap_s: np.ndarray


def on_grid(time_s: np.ndarray, values: np.ndarray, grid_s: np.ndarray, gap_limit_s: float) -> np.ndarray:
    """Values on a uniform grid without delay, NaN in gaps.

    Where several samples fall into a grid cell, their mean (it keeps what is faster than the grid from
    folding back; a sample between two cells counts half for each); elsewhere the straight line between the samples
    around.

    Parameters
    ----------
    time_s, values : shape (n,), increasing; NaN where not known [s]
    grid_s : shape (m,), uniform [s]
    gap_limit_s : longest step between known samples that is bridged [s]

    Returns
    -------
    Shape (m,).
    """
    known_mask = np.isfinite(values)
    at_s, known = time_s[known_mask], values[known_mask]
    if len(at_s) < 2:
        return np.full(len(grid_s), np.nan)
    result: np.ndarray = np.interp(grid_s, at_s, known, left=np.nan, right=np.nan)
    after = np.clip(np.searchsorted(at_s, grid_s), 1, len(at_s) - 1)
    result[(at_s[after] - at_s[after - 1] > gap_limit_s) & (at_s[after] != grid_s)] = np.nan
    step_s = float(grid_s[1] - grid_s[0]) if len(grid_s) > 1 else 1.0
    if float(np.median(np.diff(at_s))) < 0.6 * step_s:
        n, total = np.zeros(len(grid_s)), np.zeros(len(grid_s))
        for nudge in (-1e-6, 1e-6):  # a sample between two cells counts for both: on one side only it would shift all
            cell = np.rint((at_s - grid_s[0]) / step_s + nudge).astype(int)
            inside_mask = (cell >= 0) & (cell < len(grid_s))
            n += np.bincount(cell[inside_mask], minlength=len(grid_s)) / 2
            total += np.bincount(cell[inside_mask], weights=known[inside_mask], minlength=len(grid_s)) / 2
        result = np.where(n > 1, total / np.maximum(n, 1), result)
    return result


def smoothed(values: np.ndarray, width: int) -> np.ndarray:
    """Centred moving mean over ``width`` (made odd) samples; NaN where fewer than half of them are known."""
    half = max(width // 2, 0)
    mask = np.isfinite(values)

    def summed(part: np.ndarray) -> np.ndarray:
        totals = np.zeros(len(part) + 2 * half + 1)  # up to each place from ``half`` before the first on
        np.cumsum(part, out=totals[half + 1 : half + 1 + len(part)])
        totals[half + 1 + len(part) :] = totals[half + len(part)]
        return np.asarray(totals[2 * half + 1 :] - totals[: len(part)])

    n = summed(mask)
    enough_mask = (2 * n >= summed(np.ones(len(mask)))) & mask
    return np.where(enough_mask, summed(np.where(mask, values, 0.0)) / np.maximum(n, 1), np.nan)


def quick_length(least: int) -> int:
    """The smallest length from ``least`` on that has no prime factor beyond 5: transforms of such lengths are quick."""
    odd: list[int] = [3**i * 5**j for i in range(20) for j in range(14)]
    return min(part << (-(-least // part) - 1).bit_length() for part in odd)


def correlate_all(
    reference: np.ndarray, other: np.ndarray, step_s: float, least_overlap_s: float, *, reach: int | None = None
) -> Correlation:
    """Masked normalised cross-correlation over every shift with enough overlap.

    At each shift means and variances are those of the samples that both signals know there, so that gaps and
    partial overlap do not pull the peak.

    Parameters
    ----------
    reference, other : shapes (n,), (m,), on grids of the same step, NaN where not known
    step_s : of the grid [s]
    least_overlap_s : time known to both below which a shift is not looked at [s]
    reach : largest shift that is looked at, either way, in steps; all of them where ``None``

    Returns
    -------
    By shift; empty where no shift has enough overlap.

    References
    ----------
    D. Padfield, "Masked object registration in the Fourier domain", IEEE Transactions on Image Processing
    21(5), 2706-2718 (2012), doi 10.1109/TIP.2011.2181402 (formula from memory).
    """
    back, ahead = (n - 1 if reach is None else min(n - 1, reach) for n in (len(other), len(reference)))
    a = _moments(reference)
    b = a if other is reference else _moments(other)
    n, sum_a, square_a = _sums_where_known(a, b[0], back, ahead)
    _, sum_b, square_b = _sums_where_known(b, a[0], ahead, back)[:, ::-1]
    enough = np.flatnonzero(n * step_s >= max(least_overlap_s, 3 * step_s))
    n, sum_a, sum_b, square_a, square_b = (part[enough] for part in (n, sum_a, sum_b, square_a, square_b))
    shared = _sums_of_products(a[1], b[1], back, ahead)[enough] - sum_a * sum_b / n
    agreement = _ratio(shared, square_a - sum_a**2 / n, square_b - sum_b**2 / n)
    return Correlation((enough - back) * step_s, agreement, n * step_s)


def _moments(values: np.ndarray) -> np.ndarray:
    """Where a signal is known, its values about their mean and their squares, 0 where it is not, shape (3, n)."""
    mask = np.isfinite(values)
    centred = np.where(mask, values - (values[mask].mean() if mask.any() else 0.0), 0.0)
    return np.stack((mask.astype(float), centred, centred**2))


def _sums_of_products(a: np.ndarray, b: np.ndarray, back: int, ahead: int) -> np.ndarray:
    """Sums of ``a`` times ``b`` at every shift of ``b`` from ``-back`` to ``ahead``, along the last axis."""
    size = quick_length(max(a.shape[-1] + back, len(b) + ahead) + 1)
    of_a = np.fft.rfft(a, size)
    of_b = of_a if b is a else np.fft.rfft(b, size)
    sums: np.ndarray = np.fft.irfft(of_a * np.conj(of_b), size)[..., np.arange(-back, ahead + 1)]
    return sums


def _sums_where_known(values: np.ndarray, known: np.ndarray, back: int, ahead: int) -> np.ndarray:
    """As `_sums_of_products`, of rows of values with what is 1 where another signal is known, else 0; the first whole.

    Over few runs of what is known they are differences of running sums, which are quicker than transforms.
    """
    runs, n = mask_runs(known > 0), values.shape[1]
    if len(runs) > FEW_RUNS:
        sums = _sums_of_products(values, known, back, ahead)
        np.rint(sums[0], out=sums[0])
        return sums
    totals = np.zeros((len(values), back + 1 + max(n, len(known) + ahead)))  # up to each place from -back on
    np.cumsum(values, axis=1, out=totals[:, back + 1 : back + 1 + n])
    totals[:, back + 1 + n :] = totals[:, back + n, None]
    sums = np.zeros((len(values), back + 1 + ahead))
    for first, last in runs:
        sums += totals[:, last + 1 : last + 1 + sums.shape[1]]
        sums -= totals[:, first : first + sums.shape[1]]
    return sums


def _ratio(shared: np.ndarray, spread_a: np.ndarray, spread_b: np.ndarray) -> np.ndarray:
    """Correlation from sums of products; NaN where a signal does not vary beyond rounding, as along the first axis."""
    product = spread_a * spread_b
    largest = np.max(product, axis=0, initial=0.0, where=np.isfinite(product))
    varies_mask = (spread_a > 0) & (spread_b > 0) & (product > 1e-9 * largest)
    with np.errstate(invalid="ignore", divide="ignore"):
        return np.where(varies_mask, np.clip(shared / np.sqrt(product), -1.0, 1.0), np.nan)


def peak_width_s(values: np.ndarray, step_s: float, *, level: float = 0.5, longest_s: float = 120.0) -> float:
    """Half-width of the peak of a signal's correlation with itself: how far apart two stretches of it are independent.

    Parameters
    ----------
    values : shape (n,), on a uniform grid, NaN where not known
    step_s : of the grid [s]
    level : correlation at which the peak ends [1]
    longest_s : most that is looked at [s]

    Returns
    -------
    The shift at which the correlation first falls below ``level`` [s].
    """
    n = min(len(values) - 1, round(longest_s / step_s))
    own = correlate_all(values, values, step_s, 0.5 * step_s * np.isfinite(values).sum(), reach=max(n, 0))
    ahead = own.agreement[own.lag_s >= -step_s / 2][: n + 1]
    below = np.flatnonzero(ahead < level)
    return float(below[0] * step_s) if len(below) else float(max(len(ahead), 1) * step_s)


def parabola_peak(values: np.ndarray, at: int) -> float:
    """Position of the top of the parabola through ``values[at - 1 : at + 2]``, in samples from ``at``."""
    if at < 1 or at > len(values) - 2:
        return 0.0
    left, middle, right = (float(value) for value in values[at - 1 : at + 2])
    curve = left - 2 * middle + right
    if not curve < 0:  # NaN too
        return 0.0
    return float(np.clip(0.5 * (left - right) / curve, -0.5, 0.5))


def window_lags(
    reference: np.ndarray, other: np.ndarray, step_s: float, window_s: float, reach_s: float
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Best shift of ``other`` in each of a row of windows, near zero.

    Parameters
    ----------
    reference, other : shape (n,), on one grid, NaN where not known
    step_s : of the grid [s]
    window_s : length of a window [s]
    reach_s : largest shift that is tried, either way [s]

    Returns
    -------
    centre_s : middle of each window, from the first grid point [s]
    lag_s : shift that brings ``other`` onto ``reference`` there; NaN where the best lies at the reach [s]
    agreement : correlation at that shift, NaN where less than half of the window is known to both [1]
    """
    width, reach = round(window_s / step_s), round(reach_s / step_s)
    n_windows = len(reference) // width
    if not n_windows:
        return np.empty(0), np.empty(0), np.empty(0)
    own = reference[: n_windows * width].reshape(n_windows, width)
    padded = np.concatenate((np.full(reach, np.nan), other[: len(reference)], np.full(reach, np.nan)))
    others = sliding_window_view(padded, width + 2 * reach)[: n_windows * width : width]
    table = _ratio(*_products(own, others))
    best = np.argmax(np.where(np.isfinite(table), table, -2.0), axis=1)
    shifts = best - reach + np.array([parabola_peak(row, int(at)) for row, at in zip(table, best, strict=True)])
    at_reach_mask = (best == 0) | (best == 2 * reach)
    agreement = table[np.arange(n_windows), best]
    centre_s = (np.arange(n_windows) * width + width / 2) * step_s
    return centre_s, np.where(at_reach_mask, np.nan, shifts * step_s), agreement


def _products(own: np.ndarray, others: np.ndarray) -> np.ndarray:
    """Sums for `_ratio` of windows with what lies about each, by increasing shift, shape (3, n_windows, n_shifts).

    NaN where less than half of a window is known to both.
    """
    width, n_shifts = own.shape[1], others.shape[1] - own.shape[1] + 1
    size = quick_length(others.shape[1])

    def transformed(values: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        mask = np.isfinite(values)
        known = np.where(mask, values, 0.0)
        one, first, second = (np.fft.rfft(part, size, axis=1) for part in (mask.astype(float), known, known**2))
        return one, first, second

    (one_a, first_a, second_a), (one_b, first_b, second_b) = transformed(own), transformed(others)

    def summed(a: np.ndarray, b: np.ndarray) -> np.ndarray:
        sums: np.ndarray = np.fft.irfft(np.conj(a) * b, size, axis=1)[:, n_shifts - 1 :: -1]
        return sums

    n = np.rint(summed(one_a, one_b))
    n = np.where(n >= width / 2, n, np.nan)
    sum_a, sum_b = summed(first_a, one_b), summed(one_a, first_b)
    spreads = summed(second_a, one_b) - sum_a**2 / n, summed(one_a, second_b) - sum_b**2 / n
    return np.stack((summed(first_a, first_b) - sum_a * sum_b / n, *spreads))


def robust_line(x: np.ndarray, y: np.ndarray) -> tuple[float, float]:
    """Slope and value at ``x = 0`` of the line of the median of all pairwise slopes (Theil-Sen).

    Own, because it is three lines and importing scipy.stats costs 0.7 s; tested against it.

    Parameters
    ----------
    x, y : shape (n,), n >= 2

    References
    ----------
    P. K. Sen, "Estimates of the regression coefficient based on Kendall's tau", Journal of the American Statistical
    Association 63(324), 1379-1389 (1968), doi 10.1080/01621459.1968.10480934 (from memory).
    """
    first, second = np.triu_indices(len(x), 1)
    run = x[second] - x[first]
    slope = float(np.median((y[second] - y[first])[run != 0] / run[run != 0]))
    return slope, float(np.median(y) - slope * np.median(x))
