"""Roads that the recorded heights allow: drawn by chance, each as often as it is likely to lie under them.

A hill that hangs on a grade of 1 % or on level road of 150 m is no matter of a single best drawing of the road where
the heights wander: many roads fit them. What most of these have in common is what the heights tell.
"""

import math
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from ridelog.analysis.road.height_noise import HeightNoise
from ridelog.analysis.road.hills.slopes import Stretches, walk_m2ps
from ridelog.analysis.road.profile import Profile
from ridelog.arrays import Floats
from ridelog.uncertain.seeds import stream

Indices = NDArray[np.intp]
MOST_KEPT = 4_000_000  # numbers that are kept from road to road, which is 32 MB; a way of 50 km has a tenth of them


@dataclass(frozen=True)
class RoadSettings:
    """What is held of roads before the heights are looked at, and how finely they are drawn.

    Attributes
    ----------
    cell_m : stretches begin and end on a grid of this; smoothing makes heights closer than that alike [m]
    fewest : cells of a stretch; a hill is 50 m long at least
    longest_m : of a stretch; a longer one is drawn as two of nearly one grade [m]
    stretch_m : mean length of a stretch of one grade; judgement, 150 to 400 m give much the same hills [m]
    level_ratio : share of the stretches that are level; judgement, 0.15 to 0.3 give much the same hills [1]
    level_u_pct, steep_u_pct : standard deviation of the grade of a level stretch, and of any other: half of what ends
        a hill, and roads of up to 10 % for nearly all [%]
    least_u_m : standard deviation of a rise over a cell that a road's curves leave, whatever the heights [m]
    n_roads : how many are drawn
    """

    cell_m: float = 15.0
    fewest: int = 2
    longest_m: float = 4000.0
    stretch_m: float = 250.0
    level_ratio: float = 0.2
    level_u_pct: float = 0.5
    steep_u_pct: float = 5.0
    least_u_m: float = 0.03
    n_roads: int = 60


DEFAULT_SETTINGS = RoadSettings()


def likely_roads(profile: Profile, noise: HeightNoise, settings: RoadSettings = DEFAULT_SETTINGS) -> list[Stretches]:
    """Roads of straight stretches, each drawn as often as it is likely to lie under the heights.

    The rises from cell to cell err by a random walk in time: the longer the bike took, or stood, the more. The grade of
    a stretch is normal about 0, with one of two standard deviations, and stretches end by chance. How likely a stretch
    is then has a closed form, and so has the sum over all ways to cut the road; the cuts are drawn from it backwards,
    and the grades from what their stretches leave open (Fearnhead 2006).

    Parameters
    ----------
    profile : the heights
    noise : what they may be off by
    settings : what is held of roads

    Returns
    -------
    ``n_roads`` of them, from the first to the last point of the profile; their points are indices of its grid.

    References
    ----------
    P. Fearnhead, Exact and efficient Bayesian inference for multiple changepoint problems, Statistics and Computing 16
    (2006), 203-213, doi:10.1007/s11222-006-8450-8 (from memory).
    """
    rises = _Rises(profile, noise, settings)
    rng = stream("likely roads")
    ways: dict[int, tuple[int, Floats]] = {}  # to each end of a stretch: where it may begin first, and how likely
    return [_one(profile, rises, ways, rng) for _ in range(settings.n_roads)]


class _Rises:
    """The rises from cell to cell of a profile, and how likely stretches of them are.

    Parameters
    ----------
    profile, noise : the heights
    settings : what is held of roads
    """

    def __init__(self, profile: Profile, noise: HeightNoise, settings: RoadSettings) -> None:
        grid_m = float(profile.distance_m[1] - profile.distance_m[0])
        n_grid = len(profile.distance_m) - 1
        self.points = np.unique(np.append(np.arange(0, n_grid, max(round(settings.cell_m / grid_m), 1)), n_grid))
        self.distance_m = profile.distance_m[self.points]
        self.settings, self.n = settings, len(self.points) - 1
        length_m, rise_m = np.diff(self.distance_m), np.diff(profile.height_m[self.points])
        lasted_s = np.maximum(np.diff(noise.passed_s[self.points]), 0.02 * length_m)
        quick_m2 = 2 * (noise.fast_m**2 + noise.digit_m**2 / 24) * length_m / 100.0  # by what it does over 100 m
        leaping_m2 = noise.leaping_u_m(noise.passed_s[self.points[:-1]], noise.passed_s[self.points[1:]]) ** 2
        forgotten = -np.expm1(-lasted_s / noise.memory_s)
        variance_m2 = (
            2 * walk_m2ps(profile, noise) * lasted_s + quick_m2 + settings.least_u_m**2 + forgotten * leaping_m2
        )
        self._weight = np.concatenate(([0.0], np.cumsum(length_m**2 / variance_m2)))
        self._moment = np.concatenate(([0.0], np.cumsum(length_m * rise_m / variance_m2)))
        self._end_p = min(settings.cell_m / settings.stretch_m, 0.5)

    def kinds(self, begin: Indices, end: Indices | int) -> tuple[Floats, Floats]:
        """Logarithms of how likely stretches are as level ones, and as others, but for a common part."""
        weight, moment = self._weight[end] - self._weight[begin], self._moment[end] - self._moment[begin]
        level, steep = (
            math.log(share) - 0.5 * np.log1p(u**2 * weight) + 0.5 * moment**2 / (weight + 1 / u**2)
            for share, u in (
                (self.settings.level_ratio, self.settings.level_u_pct / 100),
                (1 - self.settings.level_ratio, self.settings.steep_u_pct / 100),
            )
        )
        return level, steep

    def ways_to(self, end: int, likely: Floats) -> tuple[Indices, Floats]:
        """Where a stretch that ends somewhere may begin, and the logarithm of how likely all that is up to there."""
        longest = max(round(self.settings.longest_m / self.settings.cell_m), self.settings.fewest)
        begin = np.arange(max(0, end - longest), max(end - self.settings.fewest, 0) + 1)
        length = end - begin
        lasts = (length - 1) * math.log1p(-self._end_p) + math.log(self._end_p)
        return begin, likely[begin] + np.logaddexp(*self.kinds(begin, end)) + lasts

    @cached_property
    def likely(self) -> Floats:
        """Logarithm of how likely the rises up to each point are, over all ways to cut the road before it."""
        likely = np.full(self.n + 1, -np.inf)
        likely[0] = 0.0
        for end in range(min(self.settings.fewest, self.n), self.n + 1):
            ways = self.ways_to(end, likely)[1]
            best = float(ways.max())
            likely[end] = best + math.log(float(np.exp(ways - best).sum())) if math.isfinite(best) else -math.inf
        return likely

    def grades(self, cuts: Indices, rng: np.random.Generator) -> Floats:
        """A grade of each stretch between cuts, by chance [1]."""
        begin, end = cuts[:-1], cuts[1:]
        level, steep = self.kinds(begin, end)
        level_mask = rng.random(len(begin)) < 1 / (1 + np.exp(np.minimum(steep - level, 500.0)))
        u = np.where(level_mask, self.settings.level_u_pct, self.settings.steep_u_pct) / 100
        precision = self._weight[end] - self._weight[begin] + 1 / u**2
        mean = (self._moment[end] - self._moment[begin]) / precision
        return np.asarray(mean + rng.standard_normal(len(begin)) / np.sqrt(precision))


def _one(profile: Profile, rises: _Rises, ways: dict[int, tuple[int, Floats]], rng: np.random.Generator) -> Stretches:
    """One road, cut from its end to its beginning; ``ways`` are kept from road to road."""
    cells = [rises.n]
    while cells[-1] > 0:
        end = cells[-1]
        found = ways.get(end)
        if found is None:
            begin, log_p = rises.ways_to(end, rises.likely)
            share = np.cumsum(np.exp(log_p - log_p.max()))
            found = int(begin[0]), share / share[-1]
            if len(ways) * len(begin) < MOST_KEPT:
                ways[end] = found
        first, share = found
        cells.append(first + min(int(np.searchsorted(share, rng.random())), len(share) - 1))
    cuts = np.array(cells[::-1], dtype=np.intp)
    rise_m = rises.grades(cuts, rng) * np.diff(rises.distance_m[cuts])
    height_m = profile.height_m[0] + np.concatenate(([0.0], np.cumsum(rise_m)))
    return Stretches(rises.points[cuts], rises.distance_m[cuts], height_m)
