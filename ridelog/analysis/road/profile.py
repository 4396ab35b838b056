"""How high the road goes: smoothed height over distance, grade, and metres climbed."""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from ridelog.analysis.road.height_digit import height_digit_m, without_treads
from ridelog.arrays import Floats
from ridelog.lazy import dataclass


@dataclass(frozen=True)
class Profile:
    """Height over distance on an even grid: ``distance_m``, ``height_m`` and ``grade_pct``, shape (m,).

    ``digit_m`` is the step in which the heights were written, 0 where none shows.
    """

    distance_m: Floats
    height_m: Floats
    grade_pct: Floats
    digit_m: float = 0.0

    def height_at(self, distance_m: Floats) -> Floats:
        """Smoothed height at distances along the ride, NaN outside the profile [m]."""
        return np.interp(distance_m, self.distance_m, self.height_m, left=np.nan, right=np.nan)

    def grade_at(self, distance_m: Floats) -> Floats:
        """Grade at distances along the ride, NaN outside the profile [%]."""
        return np.interp(distance_m, self.distance_m, self.grade_pct, left=np.nan, right=np.nan)


def height_profile(
    distance_m: Floats,
    altitude_m: Floats,
    *,
    grid_m: float = 5.0,
    smoothing_m: float = 12.0,
    shortest_m: float = 50.0,
    most_cells: int = 30_000,
) -> Profile | None:
    """Smooth the recorded height over distance, so that standing still adds nothing.

    The staircase of the last digit is taken out (see `height_digit`). The heights in each grid cell are averaged (in a
    cell never visited, interpolated), single outliers are removed by a running median of three cells, and a Gaussian
    kernel smooths the rest; the ends are continued point-symmetrically, which keeps a straight slope straight up to
    its end.

    Parameters
    ----------
    distance_m : shape (n,), distance along the ride, not decreasing [m]
    altitude_m : shape (n,), height, NaN where unknown [m]
    grid_m : width of a cell [m]
    smoothing_m : standard deviation of the kernel [m]; 12 m settles the 0.1 to 0.2 m steps of a barometric
        height and moves the foot of a slope by less than that
    shortest_m : a shorter ride has no profile [m]
    most_cells : beyond four for each sample; a way so long for its samples gets wider cells, of which most hold no
        sample anyway. Enough for 150 km, however few the samples [1]

    Returns
    -------
    profile : ``None`` where there is no height or hardly any distance
    """
    known = np.isfinite(distance_m) & np.isfinite(altitude_m)
    if known.sum() < 3 or np.ptp(distance_m[known]) < shortest_m:
        return None
    along, height = distance_m[known], altitude_m[known]
    grid_m = max(grid_m, float(along[-1] - along[0]) / (most_cells + 4 * len(along)))
    digit_m = height_digit_m(height)
    height = without_treads(along, height, digit_m)
    cell = np.floor((along - along[0]) / grid_m).astype(int)
    counts = np.bincount(cell)
    visited = counts > 0
    centres = np.bincount(cell, along)[visited] / counts[visited]
    means = np.bincount(cell, height)[visited] / counts[visited]
    if len(means) >= 3:
        means[1:-1] = np.median(np.stack([means[:-2], means[1:-1], means[2:]]), axis=0)
    grid = np.linspace(along[0], along[-1], max(3, round(float(along[-1] - along[0]) / grid_m) + 1))
    even = np.interp(grid, centres, means)
    for outer, inner in ((0, 1), (-1, -2)):  # the half cell beyond the first and last centre: straight on
        slope = (means[outer] - means[inner]) / (centres[outer] - centres[inner])
        even[outer] = means[outer] + slope * (grid[outer] - centres[outer])
    smooth = gaussian(even, smoothing_m / float(grid[1] - grid[0]))
    return Profile(grid, smooth, 100.0 * np.gradient(smooth, grid), digit_m)


def gaussian(values: Floats, sigma: float) -> Floats:
    """Gaussian smoothing, ends continued point-symmetrically; ``sigma`` in samples."""
    reach = min(int(np.ceil(4 * sigma)), len(values) - 1)
    if reach < 1:
        return values
    offsets = np.arange(-reach, reach + 1)
    kernel = np.exp(-0.5 * (offsets / sigma) ** 2)
    head = 2 * values[0] - values[reach:0:-1]
    tail = 2 * values[-1] - values[-2 : -reach - 2 : -1]
    return np.convolve(np.concatenate([head, values, tail]), kernel / kernel.sum(), mode="valid")


def turning_points(height_m: Floats, *, reversal_m: float) -> list[int]:
    """Indices of the highs and lows of a height sequence that ignore reversals smaller than ``reversal_m``.

    The threshold acts on the whole reversal, not on single steps: 100 times (+4, −1) is a climb of 300 m. The
    first and the last sample are always turning points.
    """
    turns = _turns(height_m)
    places: list[int] = turns[_turning_points(height_m[turns].tolist(), reversal_m)].tolist()
    return places


def _turns(height_m: Floats) -> NDArray[np.intp]:
    """Where a sequence begins, goes the other way, however little, and ends; of what is level the first place."""
    moving = np.flatnonzero(np.diff(height_m))
    if not len(moving) or not np.isfinite(height_m).all():
        return np.arange(len(height_m))
    rising = height_m[moving + 1] > height_m[moving]
    turned = np.append(rising[1:] != rising[:-1], True)
    return np.unique(np.concatenate(([0], moving[turned] + 1, [len(height_m) - 1])))


def _turning_points(heights: Sequence[float], reversal_m: float) -> list[int]:
    """Turning points, by going along the sequence."""
    points = [0]
    low = high = 0
    rising: bool | None = None
    for index, height in enumerate(heights):
        if height > heights[high]:
            high = index
        if height < heights[low]:
            low = index
        if rising is not False and heights[high] - height >= reversal_m:  # a high lies behind us
            if rising is None and low < high and heights[high] - heights[low] >= reversal_m:
                points.append(low)
            points.append(high)
            rising, low = False, index
            high = index
        elif rising is not True and height - heights[low] >= reversal_m:
            if rising is None and high < low and heights[high] - heights[low] >= reversal_m:
                points.append(high)
            points.append(low)
            rising, high = True, index
            low = index
    if rising is True:
        points.append(high)
    elif rising is False:
        points.append(low)
    points.append(len(heights) - 1)
    return sorted(set(points))


def ascent_descent_m(height_m: Floats, *, reversal_m: float = 2.0) -> tuple[float, float]:
    """Metres climbed and metres descended, reversals below ``reversal_m`` ignored.

    2 m is what barometric height resolves over a ride (common practice, no source).
    """
    steps = np.diff(height_m[turning_points(height_m, reversal_m=reversal_m)])
    return float(steps[steps > 0].sum()), float(np.abs(steps[steps < 0]).sum())
