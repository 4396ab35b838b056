"""Trials of the errors of single heights: each drawn by its place in the ride, and once for the ride.

A hill, the braking on it and the whole ride have the errors of the heights in common at which they begin and end. What
is one error for the whole ride (the scale of the heights, their clock, how large the slow error is) is drawn once.
"""

import math
from collections import Counter
from functools import lru_cache
from weakref import WeakKeyDictionary

import numpy as np
from numpy.typing import NDArray

from ridelog.analysis.road.height_noise import HeightNoise
from ridelog.analysis.road.motion import Motion
from ridelog.arrays import Floats, Runs
from ridelog.uncertain.places import MOST_ASKED, ByHalves, Trials, normal_at
from ridelog.uncertain.seeds import stream
from ridelog.uncertain.trials import combined

SLOW, QUICK, SPEED, GUST = range(4)  # the errors that have draws of their own at a place
# Eight equal parts of a normal distribution by their middles: places that stand for a Gaussian kernel, in its σ.
KERNEL_PLACES = (-1.534, -0.887, -0.489, -0.157, 0.157, 0.489, 0.887, 1.534)


class SlowError(ByHalves):
    """The slow error of the heights at any cell of the profile, of the standard deviation 1.

    It forgets itself over ``memory_s``.

    Parameters
    ----------
    passed_s : when each cell was passed, shape (m,) [s]
    memory_s : of the error [s]
    seed, n : stream and number of the trials
    """

    def __init__(self, passed_s: Floats, memory_s: float, *, seed: str, n: int) -> None:
        self._passed_s, self._memory_s, self._seed, self._n = passed_s, memory_s, seed, n
        last = self._last_cell = len(passed_s) - 1
        kept = self._kept_ratio(0, last)
        first = normal_at(seed, 0, SLOW, n)
        at_last = np.float32(kept) * first + np.float32(math.sqrt(1 - kept**2)) * normal_at(seed, last, SLOW, n)
        super().__init__(last, first, at_last)
        self._mean_of = lru_cache(maxsize=MOST_ASKED)(self._mean_at)

    def mean(self, cells: NDArray[np.intp]) -> Trials:
        """The mean of the error over cells, shape (n,), not to be written to; the same are asked for again."""
        return self._mean_of(tuple(cells.tolist()))

    def _mean_at(self, cells: tuple[int, ...]) -> Trials:
        counts = Counter(cells)
        weights = np.array(list(counts.values()), dtype=np.float32) / np.float32(len(cells))
        mean = combined(weights, np.stack([self.at(cell) for cell in counts]))
        mean.flags.writeable = False
        return mean

    def _kept_ratio(self, start: int, end: int) -> float:
        """What is left of the error from one cell to another [1]."""
        between_s = float(self._passed_s[min(end, self._last_cell)] - self._passed_s[start])
        return math.exp(-between_s / self._memory_s)

    def _middle(self, start: int, place: int, end: int) -> Trials:
        """Given the errors at both ends: a first-order autoregressive error hangs on its neighbours only."""
        before, after = self._kept_ratio(start, place), self._kept_ratio(place, end)
        lost = 1 - (before * after) ** 2
        low, high = self._on_the_way(start), self._on_the_way(end)
        if lost <= 0:  # all at one time
            return low
        of_low, of_high = before * (1 - after**2) / lost, after * (1 - before**2) / lost
        u = math.sqrt((1 - before**2) * (1 - after**2) / lost)
        normal = normal_at(self._seed, place, SLOW, self._n)
        return np.asarray(np.float32(of_low) * low + np.float32(of_high) * high + np.float32(u) * normal)


_SLOW_ERRORS: WeakKeyDictionary[HeightNoise, dict[tuple[str, int], SlowError]] = WeakKeyDictionary()


def _slow_error(noise: HeightNoise, seed: str, n: int) -> SlowError:
    """The slow error of a ride: the same whoever asks, so kept as long as what is known of it."""
    of_ride = _SLOW_ERRORS.setdefault(noise, {})
    if (seed, n) not in of_ride:
        of_ride[seed, n] = SlowError(noise.passed_s, noise.memory_s, seed=seed, n=n)
    return of_ride[seed, n]


def normal_at_bounds(seed: str, runs: Runs, *, part: int, n: int) -> tuple[Trials, Trials]:
    """Standard normal trials at the first and at the last sample of each run.

    Parameters
    ----------
    seed : stream of the trials
    runs : first and last sample of each
    part : which error, such as `QUICK`
    n : how many trials

    Returns
    -------
    Two of shape (n_runs, n) [1].
    """
    first, last = (
        np.stack([normal_at(seed, int(index), part, n) for index in side]) for side in zip(*runs, strict=True)
    )
    return first, last


def _under_kernel(noise: HeightNoise, bound_s: Floats) -> NDArray[np.intp]:
    """Cells of the profile that stand for the kernel under heights passed at some times, shape (k, 8).

    A smoothed height is a mean of errors from when its kernel's places were passed: over a short event most of them are
    common to both ends, and where the bike stood between them, half of what the error walked meanwhile stays.
    """
    places_m = noise.where_m(bound_s)[:, None] + noise.smoothing_m * np.array(KERNEL_PLACES)
    grid_m = float(noise.distance_m[-1] - noise.distance_m[0]) / (len(noise.distance_m) - 1)
    cells = np.round((places_m - noise.distance_m[0]) / grid_m).astype(int)
    return np.asarray(np.clip(cells, 0, len(noise.distance_m) - 1))


def drop_trials(motion: Motion, noise: HeightNoise, runs: Runs, *, seed: str, n: int) -> Floats:
    """Trials of the error of each run's drop.

    Parameters
    ----------
    motion : how the bike moved
    noise : of its heights
    runs : first and last sample of each, not empty
    seed, n : stream and number of the trials

    Returns
    -------
    Shape (n_runs, n) [m].
    """
    first, last = np.array(runs).T
    start_s, end_s = motion.time_s[first], motion.time_s[last]
    rng = stream(seed, 0)  # what all runs have in common
    scale, clock = noise.scale_ratio * rng.uniform(-1, 1, n), motion.height_clock_u_s * rng.standard_normal(n)
    walk = _slow_error(noise, seed, n)
    at_first, at_last = (_under_kernel(noise, bound_s) for bound_s in (start_s, end_s))
    slow = np.stack([walk.mean(before) - walk.mean(after) for before, after in zip(at_first, at_last, strict=True)])
    if math.isfinite(noise.dof):  # the size of the error is not known either: Student's t
        slow *= np.sqrt(noise.dof / rng.chisquare(noise.dof, n))
    drop = noise.slow_m * slow
    quick_m = noise.fast_u_m(noise.where_m(end_s) - noise.where_m(start_s))
    rounding_m = np.hypot(noise.rounding_at_m(start_s), noise.rounding_at_m(end_s))
    quick_first, quick_last = normal_at_bounds(seed, runs, part=QUICK, n=n)
    single_m = np.hypot(np.hypot(quick_m, rounding_m), noise.leaping_u_m(start_s, end_s))
    drop += single_m[:, None] * ((quick_first - quick_last) / math.sqrt(2))
    height_m = motion.height_m[first] - motion.height_m[last]
    drop += height_m[:, None] * scale
    rate_first, rate_last = (np.nan_to_num(motion.speed_mps[at] * motion.grade_pct[at] / 100) for at in (first, last))
    drop += (rate_first - rate_last)[:, None] * clock
    return np.asarray(drop, dtype=float)
