"""Where the road rises and falls: hills, and hills ridden both ways."""

import itertools
from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from ridelog.analysis.road.profile import Profile, turning_points
from ridelog.arrays import Floats, Mask

Unsure = Callable[[int, NDArray[np.intp]], Floats]  # of height differences from one point of a profile to others [m]


@dataclass(frozen=True)
class Slope:
    """A stretch of road that rises or falls.

    ``start`` and ``end`` are grid indices of where the slope begins and ends in the profile. Smoothing rounds foot and
    top off, so that the whole height is reached only a little outside; ``height_m`` is that height, negative down.
    ``start_u_m`` and ``end_u_m`` are standard uncertainties of where it begins and ends, by the errors of the heights.
    """

    direction: Literal["up", "down"]
    start: int
    end: int
    height_m: float
    start_u_m: float = 0.0
    end_u_m: float = 0.0


def find_slopes(
    profile: Profile, *, min_height_m: float = 5.0, min_grade_pct: float = 2.0, unsure_m: Unsure | None = None
) -> list[Slope]:
    """Stretches with at least ``min_height_m`` net at a mean grade of at least ``min_grade_pct``.

    The height is split at its turning points (reversals of at least ``min_height_m``). In each leg the slope
    is the part that gains most height beyond half the least grade, so that flat road before, between and after
    is left out; what remains on either side is searched in the same way. Road at either end of a slope that gains no
    more than the errors of the heights may feign is left out as well.

    Parameters
    ----------
    profile : the heights
    min_height_m, min_grade_pct : of a slope [m], [%]
    unsure_m : what height differences may be off by; nothing where ``None``

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
            sure = (start, end)
            if unsure_m is not None:
                sure = _sure_part(profile, start, end, sign * min_grade_pct / 2, unsure_m)
            foot, top = _where_it_begins(profile, (start, end), sure, sign)
            height_m = _rise_m(profile, foot, top, (low, high))
            least_m = max(min_height_m, min_grade_pct / 100 * float(profile.distance_m[top] - profile.distance_m[foot]))
            if unsure_m is not None:  # what noise alone may feign is no hill
                least_m = max(least_m, float(unsure_m(foot, np.array([top]))[0]))
            if sign * height_m >= least_m:
                ends_u_m = (
                    _ends_u_m(profile, (foot, top), (low, high), unsure_m) if unsure_m is not None else (0.0, 0.0)
                )
                slopes.append(Slope("up" if sign > 0 else "down", foot, top, height_m, *ends_u_m))
            waiting += [(low, start), (end, high)]
    return sorted(slopes, key=lambda slope: slope.start)


def _where_it_begins(
    profile: Profile, whole: tuple[int, int], sure: tuple[int, int], sign: float, *, reach_m: float = 30.0
) -> tuple[int, int]:
    """Start and end where the smoothed grade passes half the mean grade of the slope.

    A symmetric kernel turns the edge between flat and slope into a ramp whose middle is the edge. It is looked for from
    what is surely part of the slope outwards, and inwards by at most ``reach_m`` (the kernel's 12 m, the cell's 5 m and
    a vertical curve of some 20 m), so that a gentle beginning of a slope stays part of it.
    """
    (start, end), (first, last) = whole, sure
    mean_pct = 100 * (profile.height_m[last] - profile.height_m[first])
    mean_pct = sign * mean_pct / (profile.distance_m[last] - profile.distance_m[first])
    steep = sign * profile.grade_pct >= mean_pct / 2
    reach = min(round(reach_m / float(profile.distance_m[1] - profile.distance_m[0])), (last - first) // 2)
    foot = _edge(steep, first, range(first, start - 1, -1), range(first, first + reach + 1))
    return foot, _edge(steep, last, range(last, end + 1), range(last, last - reach - 1, -1))


def _edge(steep: Mask, at: int, outwards: range, inwards: range) -> int:
    """The last steep point outwards from a steep one, the first one inwards from one that is not; else the point."""
    if steep[at]:
        return next((index for index, beyond in itertools.pairwise(outwards) if not steep[beyond]), outwards[-1])
    return next((index for index in inwards if steep[index]), at)


def _rise_m(profile: Profile, foot: int, top: int, leg: tuple[int, int], *, beyond_m: float = 15.0) -> float:
    """Height gained from foot to top, where smoothing has rounded off hardly any: a little outside of them."""
    beyond = round(beyond_m / float(profile.distance_m[1] - profile.distance_m[0]))
    before = profile.height_m[max(foot - beyond, leg[0]) : foot + 1]
    after = profile.height_m[top : min(top + beyond, leg[1]) + 1]
    if profile.height_m[top] >= profile.height_m[foot]:
        return float(after.max() - before.min())
    return float(after.min() - before.max())


def _ends_u_m(
    profile: Profile, ends: tuple[int, int], leg: tuple[int, int], unsure_m: Unsure, *, reach_m: float = 150.0
) -> tuple[float, float]:
    """Standard uncertainties of where a slope begins and ends, from the errors of the heights [m].

    Its ends are where the height is least and most once half of the mean grade is taken off. They may as well be at any
    place, within ``reach_m``, where that is no more than the errors of the heights less or more (rectangular).
    """
    (foot, top), (low, high) = ends, leg
    rise_m = profile.height_m[top] - profile.height_m[foot]
    slant = rise_m / (profile.distance_m[top] - profile.distance_m[foot]) / 2
    excess = np.sign(rise_m) * (profile.height_m - slant * profile.distance_m)
    reach = round(reach_m / float(profile.distance_m[1] - profile.distance_m[0]))
    middle = (foot + top) // 2
    heads = np.arange(max(foot - reach, low), min(foot + reach, middle) + 1)
    tails = np.arange(max(top - reach, middle), min(top + reach, high) + 1)
    results = []
    for found, others, way in ((foot, heads, 1.0), (top, tails, -1.0)):
        best = int(others[np.argmin(way * excess[others])])
        alike = others[way * (excess[others] - excess[best]) <= unsure_m(best, others) / 2]
        before_m, after_m = (profile.distance_m[[alike[0], alike[-1]]] - profile.distance_m[found]).tolist()
        results.append(float(np.sqrt((before_m**2 + before_m * after_m + after_m**2) / 3)))
    return results[0], results[1]


def _sure_part(profile: Profile, start: int, end: int, grade_pct: float, unsure_m: Unsure) -> tuple[int, int]:
    """Start and end drawn in over what gains no more beyond the grade than the errors of the heights may feign.

    At most a third of the slope is drawn in from each end. Half as much again as what the errors may be is allowed for,
    as the start was sought out among them.
    """
    excess = np.sign(grade_pct) * (profile.height_m - grade_pct / 100 * profile.distance_m)
    third = (end - start) // 3
    heads, tails = np.arange(start, start + third + 1), np.arange(end - third, end + 1)
    feigned_head = excess[heads] - excess[start] <= unsure_m(start, heads)
    feigned_tail = excess[end] - excess[tails] <= unsure_m(end, tails)
    return int(heads[feigned_head][-1]), int(tails[feigned_tail][0])


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
    slopes : in riding order
    profile : the heights
    east_m, north_m : shape (m,), position on the profile's grid [m]
    tolerance_m : see above [m]

    Returns
    -------
    Each slope in one pair at most.
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
