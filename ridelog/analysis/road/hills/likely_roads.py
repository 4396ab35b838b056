"""Roads that the recorded heights allow: drawn by chance, each as often as it is likely to lie under them.

A hill that hangs on a grade of 1 % or on level road of 150 m is no matter of a single best drawing of the road where
the heights wander: many roads fit them. What most of these have in common is what the heights tell.
"""

import math
from bisect import bisect_left
from collections.abc import Iterator

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view
from numpy.typing import NDArray

from ridelog.analysis.road.height_noise import HeightNoise
from ridelog.analysis.road.hills.slopes import Stretches, walk_m2ps
from ridelog.analysis.road.profile import Profile
from ridelog.arrays import Floats
from ridelog.lazy import dataclass
from ridelog.uncertain.seeds import stream

Indices = NDArray[np.intp]
AT_ONCE = 32  # times the fewest cells: ends of stretches of which all lengths are weighed together
LEAST_LOG = -1e300  # of what cannot be, so that it is a number
MOST_KEPT = 2_000_000  # numbers that are kept from road to road, which is 16 MB: all of a way of 110 km


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


def likely_roads(
    profile: Profile, noise: HeightNoise, settings: RoadSettings = DEFAULT_SETTINGS
) -> Iterator[Stretches]:
    """Roads of straight stretches, each drawn as often as it is likely to lie under the heights, one after the other.

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
    for _ in range(settings.n_roads):
        yield _one(profile, rises, rng)


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
        self._fewest = min(settings.fewest, self.n)
        self._longest = min(max(round(settings.longest_m / settings.cell_m), self._fewest), self.n)
        # Logarithms of how likely the rises up to each point are; before the first, of which there are none.
        self._likely = np.full(self._longest + self.n + 1, -np.inf)
        self._likely[self._longest] = 0.0
        width = self._longest - self._fewest + 1  # lengths of a stretch, the longest first
        self._before = sliding_window_view(self._likely, width)  # where stretches to each point may begin
        self._reached = np.zeros((min(self.n + 1, MOST_KEPT // width), width))  # `_Rises._ways_to` of the first points
        self._weigh()

    def kinds(self, begin: Indices, end: Indices) -> tuple[Floats, Floats, Floats]:
        """How likely stretches are as steep ones but for a common part, exp(first)/√second, and as level over that."""
        weight, moment = self._weight[end] - self._weight[begin], self._moment[end] - self._moment[begin]
        level_u, steep_u = self.settings.level_u_pct / 100, self.settings.steep_u_pct / 100
        odds, square = self.settings.level_ratio / (1 - self.settings.level_ratio), 0.5 * moment**2
        wide, steep = 1 + steep_u**2 * weight, square / (weight + 1 / steep_u**2)
        level = odds * np.sqrt(wide / (1 + level_u**2 * weight))
        level *= np.exp(square / (weight + 1 / level_u**2) - steep)
        return steep, wide, level

    def _alone(self, ends: Indices) -> Floats:
        """Logarithms of how likely single stretches are that end somewhere, shape (n_ends, longest - fewest + 1).

        The longest come first; what they are where they would begin before the road does not matter.
        """
        length = np.arange(self._longest, self._fewest - 1, -1)
        once = (1 - self.settings.level_ratio) * self._end_p / (1 - self._end_p)
        lasts = math.log(once) + length * math.log1p(-self._end_p)
        steep, wide, level = self.kinds(np.maximum(ends[:, None] - length, 0), ends[:, None])
        return np.asarray(steep + np.log((1 + level) / np.sqrt(wide)) + lasts)

    def _ways_to(self, first: int, alone: Floats) -> tuple[Floats, Floats]:
        """Of ends of stretches from ``first`` on: how likely it is that they begin up to each place, (n_ends, …).

        And the logarithms of the unit of that, shape (n_ends,).
        """
        p = self._before[first : first + len(alone)] + alone
        best = p.max(axis=1, initial=LEAST_LOG)
        p -= best[:, None]
        return np.add.accumulate(np.exp(p, out=p), axis=1, out=p), best

    @np.errstate(divide="ignore")  # up to points that no stretch reaches
    def _weigh(self) -> None:
        """How likely the rises up to each point are, over all ways to cut the road before it."""
        step, kept = self._fewest, len(self._reached)  # ends closer than the fewest cells hang on none of each other
        for begin in range(step, self.n + 1, step * AT_ONCE):
            alone = self._alone(np.arange(begin, min(begin + step * AT_ONCE, self.n + 1)))
            for end in range(begin, begin + len(alone), step):
                reached, best = self._ways_to(end, alone[end - begin : end - begin + step])
                self._likely[self._longest + end : self._longest + end + len(best)] = best + np.log(reached[:, -1])
                self._reached[end : end + len(best)] = reached[: max(kept - end, 0)]

    def cuts(self, rng: np.random.Generator) -> Indices:
        """Where one road is cut, drawn from its end to its beginning."""
        kept, width = self._reached.ravel().data, self._reached.shape[1]
        end, cells = self.n, [self.n]
        while end > 0:
            reached, start = kept, end * width
            if start >= len(kept):
                reached, start = self._ways_to(end, self._alone(np.array([end])))[0][0].data, 0
            stop = start + width
            end += bisect_left(reached, rng.random() * reached[stop - 1], start, stop) - start - self._longest
            cells.append(end)
        return np.array(cells[::-1], dtype=np.intp)

    def grades(self, cuts: Indices, rng: np.random.Generator) -> Floats:
        """A grade of each stretch between cuts, by chance [1]."""
        begin, end = cuts[:-1], cuts[1:]
        level = self.kinds(begin, end)[2]
        level_mask = rng.random(len(begin)) < level / (1 + level)
        u = np.where(level_mask, self.settings.level_u_pct, self.settings.steep_u_pct) / 100
        precision = self._weight[end] - self._weight[begin] + 1 / u**2
        mean = (self._moment[end] - self._moment[begin]) / precision
        return np.asarray(mean + rng.standard_normal(len(begin)) / np.sqrt(precision))


def _one(profile: Profile, rises: _Rises, rng: np.random.Generator) -> Stretches:
    """One road, by chance."""
    cuts = rises.cuts(rng)
    rise_m = rises.grades(cuts, rng) * np.diff(rises.distance_m[cuts])
    height_m = profile.height_m[0] + np.concatenate(([0.0], np.cumsum(rise_m)))
    return Stretches(rises.points[cuts], rises.distance_m[cuts], height_m)
