"""Where the road rises and falls: hills as a rider names them.

The smoothed height is first drawn as straight stretches, as few as its errors allow: what bends it by no more than
they may is no change of grade. The hills are then read off the stretches by their definition.
"""

import itertools
import math
from collections.abc import Iterator
from functools import cached_property
from typing import Literal, NamedTuple

import numpy as np
from numpy.typing import NDArray

from ridelog.analysis.road.height_noise import DEFAULT_SETTINGS as HEIGHTS
from ridelog.analysis.road.height_noise import HeightNoise, wander_beside_bends
from ridelog.analysis.road.profile import Profile, gaussian, turning_points
from ridelog.arrays import Floats, Mask, mask_runs, straight_pieces
from ridelog.lazy import dataclass


@dataclass(frozen=True)
class SlopeSettings:
    """What a hill is, each number with its reason.

    Attributes
    ----------
    min_height_m, min_grade_pct : least height and mean grade of a hill; less is hardly felt [m], [%]
    reversal_m : a hill ends where the road turns the other way by this; what a barometer resolves [m]
    level_grade_pct : a hill begins and ends where the grade passes this; level road is steeper nowhere [%]
    level_length_m : so much level road ends a hill; less belongs to it [m]
    min_length_m : a shorter rise is a ramp or a false height [m]
    max_grade_pct : steeper on average is no road but a false height; the steepest streets have some 35 % [%]
    kink_pct : a change of grade up to this, rounded by smoothing, stays one bend between two stretches [%]
    bend_cost : a bend must explain this many squared standard deviations of the heights' errors; chance alone explains
        2 ln n of n errors that know nothing of each other, 9 on some 4 km of road [1]
    level_bend_cost : as much for a bend to level road of ``level_length_m``, of which fewer are tried [1]
    edge_u_pct : where a grade is as sure as this (standard uncertainty), foot and top are read off it; no threshold
        of 1 % is seen more finely than half of that [%]
    edge_longest_m : longest kernel over which it is; a longer one blurs them more than straight stretches do [m]
    edge_reach_m : within this of where stretches meet: half of a long vertical curve [m]
    """

    min_height_m: float = 5.0
    min_grade_pct: float = 2.0
    reversal_m: float = 2.0
    level_grade_pct: float = 1.0
    level_length_m: float = 150.0
    min_length_m: float = 50.0
    max_grade_pct: float = 40.0
    kink_pct: float = 3.0
    bend_cost: float = 9.0
    level_bend_cost: float = 6.0
    edge_u_pct: float = 0.4
    edge_longest_m: float = 20.0
    edge_reach_m: float = 40.0


DEFAULT_SETTINGS = SlopeSettings()
SMOOTHING_M = HEIGHTS.smoothing_m  # of a profile of which no more is known [m]
Span = tuple[int, int]


@dataclass(frozen=True)
class Slope:
    """A stretch of road that rises or falls.

    ``start`` and ``end`` are grid indices of where the slope begins and ends in the profile. ``height_m`` is its
    height without the rounding of foot and top by the smoothing, negative down. ``start_u_m`` and ``end_u_m`` are
    standard uncertainties of where it begins and ends, by the errors of the heights.
    """

    direction: Literal["up", "down"]
    start: int
    end: int
    height_m: float
    start_u_m: float = 0.0
    end_u_m: float = 0.0


@dataclass(frozen=True)
class Stretches:
    """A profile as straight stretches: the points between them, as grid indices, with place and height, shape (k,)."""

    points: NDArray[np.intp]
    distance_m: Floats
    height_m: Floats

    @cached_property
    def grade_pct(self) -> Floats:
        """Grade of each stretch, shape (k - 1,) [%]."""
        return np.asarray(100 * np.diff(self.height_m) / np.diff(self.distance_m))


def find_slopes(
    profile: Profile, noise: HeightNoise | None = None, settings: SlopeSettings = DEFAULT_SETTINGS
) -> list[Slope]:
    """Stretches of road that climb or fall, as a rider names them.

    The road is cut where it turns the other way by ``reversal_m`` and where it runs level for ``level_length_m``. What
    lies between is a slope from where the grade passes ``level_grade_pct`` first to where it does so last, if it has
    the least height, mean grade and length. Where only its mean grade is too small, the part that gains most height
    beyond the least grade is one, and what remains on either side is searched in the same way.

    Parameters
    ----------
    profile : the heights
    noise : what they may be off by; next to nothing where ``None``
    settings : what a slope is

    Returns
    -------
    slopes : in riding order, not overlapping
    """
    road = sharpened(straight_stretches(profile, noise, settings), profile, noise, settings)
    slopes = [_slope(profile, road, ends, leg, noise) for ends, leg in rises(road, settings)]
    return sorted(slopes, key=lambda slope: slope.start)


def rises(road: Stretches, settings: SlopeSettings = DEFAULT_SETTINGS) -> Iterator[tuple[Span, Span]]:
    """The hills of a road of straight stretches: between which of its points each lies, and the road does not turn."""
    grade_pct, cut = road.grade_pct.tolist(), _level(road, settings).tolist()
    places = _Places(road.distance_m.tolist(), road.height_m.tolist())
    height_m = places.height_m
    for low, high in itertools.pairwise(turning_points(road.height_m, reversal_m=settings.reversal_m)):
        sign = 1.0 if height_m[high] >= height_m[low] else -1.0
        for is_cut, stretches in itertools.groupby(range(low, high), cut.__getitem__):
            climbing = [] if is_cut else [k for k in stretches if sign * grade_pct[k] > settings.level_grade_pct]
            if climbing:
                for ends in _steep_enough(places, climbing[0], climbing[-1] + 1, sign, settings):
                    yield ends, (low, high)


def straight_stretches(
    profile: Profile, noise: HeightNoise | None = None, settings: SlopeSettings = DEFAULT_SETTINGS
) -> Stretches:
    """The profile as straight stretches, as few as the errors of its heights allow.

    A wandering error is a random walk, so that the rises from point to point have errors of one size that know nothing
    of each other, and a straight stretch is one whose rises scatter about their mean by no more than these. The number
    of bends is weighed against that scatter (Jackson et al. 2005; Killick, Fearnhead and Eckley 2012). Smoothing rounds
    each bend, which adds ``σ ψ(d/σ)`` of the change of grade to the height at a distance d, with
    ``ψ(t) = φ(t) - t(1 - Φ(t))``; that is taken off the heights between stretches.

    Parameters
    ----------
    profile : the heights
    noise : what they may be off by; next to nothing where ``None``
    settings : ``kink_pct`` and ``bend_cost``

    Returns
    -------
    From the first to the last point of the profile.

    References
    ----------
    B. Jackson et al., An algorithm for optimal partitioning of data on an interval, IEEE Signal Processing Letters 12
    (2005), 105-108, doi:10.1109/LSP.2001.838216. R. Killick, P. Fearnhead and I. A. Eckley, Optimal detection of
    changepoints with a linear computational cost, JASA 107 (2012), 1590-1598, doi:10.1080/01621459.2012.737745
    (both from memory).
    """
    grid_m = float(profile.distance_m[1] - profile.distance_m[0])
    smoothing_m = noise.smoothing_m if noise is not None else SMOOTHING_M
    # a rounded kink of grades g is off its two straight lines by 0.2338 g² σ, as a sum of squared grades over metres
    least_m = (settings.kink_pct / 100) ** 2 * 0.2338 * smoothing_m / settings.bend_cost
    fewest = max(round(2 * smoothing_m / grid_m), 1)
    walk_m = least_m + (_walk_m(profile, noise) if noise is not None else 0.0)
    points = straight_pieces(profile.height_m, walk_m * grid_m, settings.bend_cost, fewest=fewest)
    points = _with_level_parts(profile, points, walk_m * grid_m, fewest, settings)
    points = _one_bend_a_kink(points, _bends(profile, points), 2.5 * smoothing_m / grid_m)
    place_m = profile.distance_m[points]
    return Stretches(
        points, place_m, profile.height_m[points] - _rounded_off_m(place_m, _bends(profile, points), smoothing_m)
    )


def _bends(profile: Profile, points: NDArray[np.intp]) -> Floats:
    """By how much the grade changes at each point between stretches, 0 at either end, shape (k,) [1]."""
    grades = np.diff(profile.height_m[points]) / np.diff(profile.distance_m[points])
    return np.concatenate(([0.0], np.diff(grades), [0.0]))


def _one_bend_a_kink(points: NDArray[np.intp], bends: Floats, longest: float) -> NDArray[np.intp]:
    """The points with two bends the same way, no further apart than a kernel smears a kink, drawn together into one."""
    kept, k = [int(points[0])], 1
    while k < len(points) - 1:
        if k < len(points) - 2 and points[k + 1] - points[k] <= longest and bends[k] * bends[k + 1] > 0:
            kept.append(round(float(np.average(points[k : k + 2], weights=np.abs(bends[k : k + 2])))))
            k += 2
        else:
            kept.append(int(points[k]))
            k += 1
    return np.array([*kept, int(points[-1])], dtype=np.intp)


def _with_level_parts(
    profile: Profile, points: NDArray[np.intp], step_variance: float, fewest: int, settings: SlopeSettings
) -> NDArray[np.intp]:
    """The points between stretches, and those of level road that a steeper stretch holds.

    Level road that is long enough ends a hill, so that it is looked for in each steeper stretch: the part of at least
    ``level_length_m`` and no more than ``level_grade_pct`` that explains most, if that is ``level_bend_cost`` a bend.
    """
    grid_m = float(profile.distance_m[1] - profile.distance_m[0])
    level_step_m, shortest = settings.level_grade_pct / 100 * grid_m, math.ceil(settings.level_length_m / grid_m)
    more: list[int] = []
    for first, last in itertools.pairwise(points.tolist()):
        rise_m, n = profile.height_m[first : last + 1] - profile.height_m[first], last - first
        if n < shortest + fewest or abs(rise_m[-1]) <= level_step_m * n:
            continue
        tried = np.unique(np.append(np.arange(0, n, max(1, n // 300)), n))
        begin, end = (axis.ravel() for axis in np.meshgrid(tried, tried, indexing="ij"))
        room = (end - begin >= shortest) & ((begin == 0) | (begin >= fewest)) & ((end == n) | (n - end >= fewest))
        begin, end = begin[room], end[room]
        parts_m = rise_m[begin], rise_m[end] - rise_m[begin], rise_m[-1] - rise_m[end]
        lengths = begin, end - begin, n - end
        explained = sum(part_m**2 / np.maximum(length, 1) for part_m, length in zip(parts_m, lengths, strict=True))
        explained = (explained - rise_m[-1] ** 2 / n) / step_variance
        explained -= settings.level_bend_cost * ((begin > 0).astype(int) + (end < n))
        explained[np.abs(parts_m[1]) > level_step_m * lengths[1]] = -np.inf
        best = int(np.argmax(explained))
        if explained[best] > 0:
            more += [first + int(begin[best]), first + int(end[best])]
    return np.unique(np.append(points, more)).astype(np.intp)


def walk_m2ps(profile: Profile, noise: HeightNoise) -> float:
    """How fast the error wanders over short times: by stops, bends, or beside a road that bends everywhere [m²/s]."""
    return min(noise.short_walk_m2ps, wander_beside_bends(profile, noise))


def _walk_m(profile: Profile, noise: HeightNoise, *, over_m: float = 100.0) -> float:
    """Variance a metre of the rises that the errors feign; the quick error's by what it does over ``over_m`` [m²/m]."""
    seconds_per_m = float(np.median(np.diff(noise.passed_s) / np.diff(noise.distance_m)))
    return 2 * walk_m2ps(profile, noise) * seconds_per_m + 2 * (noise.fast_m**2 + noise.digit_m**2 / 24) / over_m


def _rounded_off_m(place_m: Floats, bends: Floats, smoothing_m: float) -> Floats:
    """What smoothing adds to the height at each point by the changes of grade there and nearby, shape (k,) [m]."""
    added_m = np.zeros(len(place_m))
    for apart in range(-3, 4):  # stretches are two kernels long at least: beyond the third nothing is left
        here = np.arange(max(-apart, 0), len(place_m) - max(apart, 0))
        t = np.abs(place_m[here + apart] - place_m[here]) / smoothing_m
        beyond = np.array([0.5 * math.erfc(value / math.sqrt(2)) for value in t.tolist()])
        psi = np.exp(-0.5 * t**2) / math.sqrt(2 * math.pi) - t * beyond
        added_m[here] += bends[here + apart] * smoothing_m * psi
    return added_m


def sharpened(road: Stretches, profile: Profile, noise: HeightNoise | None, settings: SlopeSettings) -> Stretches:
    """The stretches with the points between level and steeper ones put where the grade passes ``level_grade_pct``.

    A stretch is as steep as its mean; where a road bends slowly, the place itself is read off the grade, as smooth as
    its errors ask for. A kink of the road is there a ramp, whose middle is the kink: the place is where the grade
    passes half of that one and a half kernels further on, or ``level_grade_pct`` where that is more.

    Parameters
    ----------
    road : of straight stretches
    profile : their heights
    noise : what they may be off by
    settings : ``level_grade_pct`` and those of an edge; no place is moved beyond the next

    Returns
    -------
    As many stretches, the level ones with their grades.
    """
    over_m = _edge_smoothing_m(profile, noise, settings)
    if over_m is None:
        return road
    grid_m = float(profile.distance_m[1] - profile.distance_m[0])
    smooth_m = gaussian(profile.height_m, math.sqrt(max(over_m**2 - SMOOTHING_M**2, 0.0)) / grid_m)
    steep_pct = np.abs(100 * np.gradient(smooth_m, profile.distance_m))
    level = np.abs(road.grade_pct) <= settings.level_grade_pct
    points, height_m = road.points.copy(), road.height_m.copy()
    moved = np.flatnonzero(level[1:] != level[:-1]) + 1
    for k in moved.tolist():
        way = 1 if level[k - 1] else -1  # from level road to a steeper one
        flat, steep = int(road.points[k - way]), int(road.points[k + way])
        back = (abs(flat - int(road.points[k])) - 1) // 2
        on = (abs(steep - int(road.points[k])) - 1) // (2 if k + way in moved else 1)
        back, on = (min(cells, round(settings.edge_reach_m / grid_m)) for cells in (back, on))
        tried = road.points[k] + way * np.arange(-back, on + 1)
        further = np.clip(tried + way * round(1.5 * over_m / grid_m), 0, len(steep_pct) - 1)
        passed = steep_pct[tried] > np.maximum(settings.level_grade_pct, steep_pct[further] / 2)
        points[k] = tried[np.argmax(passed)] if passed.any() else tried[-1]
        by_m = float(profile.distance_m[points[k]] - road.distance_m[k])
        flat_pct, steep_pct_there = (float(road.grade_pct[j]) for j in ((k - 1, k) if way > 0 else (k, k - 1)))
        # on the steeper side a kink has the height of the level road, and a long curve that of the stretch
        height_m[k] += by_m / 100 * (flat_pct if way * by_m < 0 else (flat_pct + steep_pct_there) / 2)
    return Stretches(points, profile.distance_m[points], height_m)


def _edge_smoothing_m(profile: Profile, noise: HeightNoise | None, settings: SlopeSettings) -> float | None:
    """Kernel over which a grade is sure to ``edge_u_pct``; ``None`` where it would be longer than allowed [m]."""
    if noise is None:
        return SMOOTHING_M
    # the slope of a random walk of variance q a metre, smoothed by a kernel σ, has the variance q/(2 √π σ)
    needed_m = _walk_m(profile, noise) / (2 * math.sqrt(math.pi) * (settings.edge_u_pct / 100) ** 2)
    return max(needed_m, noise.smoothing_m) if needed_m <= settings.edge_longest_m else None


def _level(road: Stretches, settings: SlopeSettings) -> Mask:
    """Which stretches are part of level road that is long enough to end a hill, shape (k - 1,)."""
    cut = np.abs(road.grade_pct) <= settings.level_grade_pct
    for first, last in mask_runs(cut):
        if road.distance_m[last + 1] - road.distance_m[first] < settings.level_length_m:
            cut[first : last + 1] = False
    return cut


class _Places(NamedTuple):
    """Where the stretches of a road meet and how high, as plain numbers, which are quicker one by one."""

    distance_m: list[float]
    height_m: list[float]

    def tall_and_long(self, start: int, end: int, sign: float, settings: SlopeSettings) -> bool:
        """Whether the road from one to another is tall and long enough for a hill."""
        tall = sign * (self.height_m[end] - self.height_m[start]) >= settings.min_height_m
        return tall and self.distance_m[end] - self.distance_m[start] >= settings.min_length_m

    def mean_pct(self, start: int, end: int, sign: float) -> float:
        """Its mean grade [%]."""
        rise_m, run_m = self.height_m[end] - self.height_m[start], self.distance_m[end] - self.distance_m[start]
        return 100 * sign * rise_m / run_m


def _steep_enough(
    road: _Places, start: int, end: int, sign: float, settings: SlopeSettings
) -> Iterator[tuple[int, int]]:
    """The stretch as a whole where its mean grade is enough, else the parts that gain most beyond the least grade."""
    if not road.tall_and_long(start, end, sign, settings):
        return
    mean_pct = road.mean_pct(start, end, sign)
    if mean_pct >= settings.min_grade_pct:
        if mean_pct <= settings.max_grade_pct:
            yield start, end
        return
    distance_m, height_m = (np.array(axis[start : end + 1]) for axis in road)
    beyond_m = sign * height_m - settings.min_grade_pct / 100 * distance_m
    last = int(np.argmax(beyond_m - np.minimum.accumulate(beyond_m)))
    first = int(np.argmin(beyond_m[: last + 1]))
    if last <= first:
        return
    yield from _steep_enough(road, start, start + first, sign, settings)
    yield from _steep_enough(road, start + first, start + last, sign, settings)
    yield from _steep_enough(road, start + last, end, sign, settings)


def _slope(profile: Profile, road: Stretches, ends: Span, leg: Span, noise: HeightNoise | None) -> Slope:
    """The record of a slope between two points of a road; ``leg`` are those between which the road does not turn."""
    height_m = float(road.height_m[ends[1]] - road.height_m[ends[0]])
    start, end = (int(road.points[point]) for point in ends)
    u_m = (0.0, 0.0)
    if noise is not None:
        low, high = (int(road.points[point]) for point in leg)
        u_m = _ends_u_m(profile, (start, end), (low, high), noise)
    return Slope("up" if height_m > 0 else "down", start, end, height_m, *u_m)


def _ends_u_m(
    profile: Profile, ends: Span, leg: Span, noise: HeightNoise, *, reach_m: float = 150.0
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
        alike = others[way * (excess[others] - excess[best]) <= noise.unsure_m(best, others) / 2]
        before_m, after_m = (profile.distance_m[[alike[0], alike[-1]]] - profile.distance_m[found]).tolist()
        results.append(float(np.sqrt((before_m**2 + before_m * after_m + after_m**2) / 3)))
    return results[0], results[1]
