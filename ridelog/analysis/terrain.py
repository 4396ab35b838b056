"""How high the road goes: smoothed height over distance, grade, ascent, hills, and hills ridden both ways."""

import itertools
from dataclasses import dataclass
from typing import Literal

import numpy as np

from ridelog.analysis.runs import Floats


@dataclass(frozen=True)
class Profile:
    """Height over distance on an even grid: ``distance_m``, ``height_m`` and ``grade_pct``, shape (m,)."""

    distance_m: Floats
    height_m: Floats
    grade_pct: Floats

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
) -> Profile | None:
    """Smooth the recorded height over distance, so that standing still adds nothing.

    The heights in each grid cell are averaged (in a cell never visited, interpolated), single outliers are
    removed by a running median of three cells, and a Gaussian kernel smooths the rest; the ends are continued
    point-symmetrically, which keeps a straight slope straight up to its end.

    Parameters
    ----------
    distance_m : shape (n,), distance along the ride, not decreasing [m]
    altitude_m : shape (n,), height, NaN where unknown [m]
    grid_m : width of a cell [m]
    smoothing_m : standard deviation of the kernel [m]; 12 m settles the 0.1 to 0.2 m steps of a barometric
        height and moves the foot of a slope by less than that
    shortest_m : a shorter ride has no profile [m]

    Returns
    -------
    profile : ``None`` where there is no height or hardly any distance
    """
    known = np.isfinite(distance_m) & np.isfinite(altitude_m)
    if known.sum() < 3 or np.ptp(distance_m[known]) < shortest_m:
        return None
    along, height = distance_m[known], altitude_m[known]
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
    return Profile(grid, smooth, 100.0 * np.gradient(smooth, grid))


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
    points = [0]
    low = high = 0
    rising: bool | None = None
    for index, height in enumerate(height_m):
        if height > height_m[high]:
            high = index
        if height < height_m[low]:
            low = index
        if rising is not False and height_m[high] - height >= reversal_m:  # a high lies behind us
            if rising is None and low < high and height_m[high] - height_m[low] >= reversal_m:
                points.append(low)
            points.append(high)
            rising, low = False, index
            high = index
        elif rising is not True and height - height_m[low] >= reversal_m:
            if rising is None and high < low and height_m[high] - height_m[low] >= reversal_m:
                points.append(high)
            points.append(low)
            rising, high = True, index
            low = index
    if rising is True:
        points.append(high)
    elif rising is False:
        points.append(low)
    points.append(len(height_m) - 1)
    return sorted(set(points))


def ascent_descent_m(height_m: Floats, *, reversal_m: float = 2.0) -> tuple[float, float]:
    """Metres climbed and metres descended, reversals below ``reversal_m`` ignored.

    2 m is what barometric height resolves over a ride (common practice, no source).
    """
    steps = np.diff(height_m[turning_points(height_m, reversal_m=reversal_m)])
    return float(steps[steps > 0].sum()), float(np.abs(steps[steps < 0]).sum())


@dataclass(frozen=True)
class Slope:
    """A stretch of road that rises or falls.

    ``start`` and ``end`` are grid indices of where the slope begins and ends in the profile. Smoothing rounds foot and
    top off, so that the whole height is reached only a little outside; ``height_m`` is that height, negative down.
    """

    direction: Literal["up", "down"]
    start: int
    end: int
    height_m: float


def find_slopes(profile: Profile, *, min_height_m: float = 5.0, min_grade_pct: float = 2.0) -> list[Slope]:
    """Stretches with at least ``min_height_m`` net at a mean grade of at least ``min_grade_pct``.

    The height is split at its turning points (reversals of at least ``min_height_m``). In each leg the slope
    is the part that gains most height beyond half the least grade, so that flat road before, between and after
    is left out; what remains on either side is searched in the same way.

    Returns
    -------
    slopes : in riding order, not overlapping
    """
    slopes: list[Slope] = []
    for first, last in itertools.pairwise(turning_points(profile.height_m, reversal_m=min_height_m)):
        sign = 1.0 if profile.height_m[last] >= profile.height_m[first] else -1.0
        waiting = [(first, last)]
        while waiting:
            low, high = waiting.pop()
            start, end = _steepest_part(profile, low, high, sign, min_grade_pct / 2)
            height_m = float(profile.height_m[end] - profile.height_m[start])
            if sign * height_m < min_height_m:
                continue
            foot, top = _where_it_begins(profile, start, end, sign)
            if 100 * sign * height_m >= min_grade_pct * (profile.distance_m[top] - profile.distance_m[foot]):
                slopes.append(Slope("up" if sign > 0 else "down", foot, top, height_m))
            waiting += [(low, start), (end, high)]
    return sorted(slopes, key=lambda slope: slope.start)


def _where_it_begins(profile: Profile, start: int, end: int, sign: float, *, reach_m: float = 30.0) -> tuple[int, int]:
    """Start and end drawn in to where the smoothed grade passes half the mean grade of the slope.

    A symmetric kernel turns the edge between flat and slope into a ramp whose middle is the edge. At most
    ``reach_m`` (the kernel's 12 m, the cell's 5 m and a vertical curve of some 20 m) is drawn in, so that a gentle
    beginning of a slope stays part of it.
    """
    mean_pct = 100 * (profile.height_m[end] - profile.height_m[start])
    mean_pct = sign * mean_pct / (profile.distance_m[end] - profile.distance_m[start])
    steep = sign * profile.grade_pct >= mean_pct / 2
    reach = round(reach_m / float(profile.distance_m[1] - profile.distance_m[0]))
    middle = (start + end) // 2
    heads = np.flatnonzero(steep[start : min(start + reach, middle) + 1])
    tails = np.flatnonzero(steep[max(end - reach, middle) : end + 1])
    foot = start + int(heads[0]) if len(heads) else start
    top = max(end - reach, middle) + int(tails[-1]) if len(tails) else end
    return foot, top


def _steepest_part(profile: Profile, low: int, high: int, sign: float, grade_pct: float) -> tuple[int, int]:
    """Start and end of the part with the greatest rise beyond ``grade_pct`` (largest sum of a sub-sequence)."""
    span = slice(low, high + 1)
    excess = sign * profile.height_m[span] - grade_pct / 100 * profile.distance_m[span]
    start_of_best = np.minimum.accumulate(excess)
    end = int(np.argmax(excess - start_of_best))
    start = int(np.argmin(excess[: end + 1]))
    return low + start, low + end


def same_hill_pairs(
    slopes: list[Slope], profile: Profile, east_m: Floats, north_m: Floats, *, tolerance_m: float = 50.0
) -> list[tuple[int, int]]:
    """Indices (up, down) of slopes that are one road ridden both ways.

    Start of one and end of the other, and the points halfway, lie within ``tolerance_m``: twice the usual
    error of a satellite position, and what the smoothing may move a foot or a top.

    Parameters
    ----------
    east_m, north_m : shape (m,), position on the profile's grid [m]
    """
    pairs: list[tuple[int, int]] = []
    free_downs = [index for index, slope in enumerate(slopes) if slope.direction == "down"]
    for up, slope in enumerate(slopes):
        if slope.direction == "down":
            continue
        distances = {down: _apart_m(slope, slopes[down], profile, east_m, north_m) for down in free_downs}
        best = min(distances, key=lambda down: distances[down], default=None)
        if best is not None and distances[best] <= tolerance_m:
            pairs.append((up, best))
            free_downs.remove(best)
    return pairs


def _apart_m(up: Slope, down: Slope, profile: Profile, east_m: Floats, north_m: Floats) -> float:
    """How far apart two slopes lie when one is turned round: the largest distance at foot, middle and top."""
    fractions = np.array([0.0, 0.5, 1.0])
    corners = []
    for slope, along in ((up, fractions), (down, fractions[::-1])):
        bounds = profile.distance_m[[slope.start, slope.end]]
        at_m = bounds[0] + along * (bounds[1] - bounds[0])
        corners.append([np.interp(at_m, profile.distance_m, axis) for axis in (east_m, north_m)])
    apart = float(np.hypot(*(np.subtract(corners[0], corners[1]))).max())
    return apart if np.isfinite(apart) else np.inf
