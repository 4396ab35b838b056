"""Trials of the errors of single heights: each drawn by its place in the ride, and once for the ride.

A hill, the braking on it and the whole ride have the errors of the heights in common at which they begin and end. What
is one error for the whole ride (the scale of the heights, their clock, how large the slow error is) is drawn once.
"""

import math
from collections.abc import Sequence
from functools import lru_cache
from typing import NamedTuple
from weakref import WeakKeyDictionary

import numpy as np
from numpy.typing import NDArray

from ridelog.analysis.road.height_noise import HeightNoise
from ridelog.analysis.road.motion import Motion
from ridelog.arrays import Floats, Runs
from ridelog.uncertain.places import Bridged, Trials, normal_at
from ridelog.uncertain.seeds import stream
from ridelog.uncertain.trials import combined

SLOW, QUICK, SPEED, GUST = range(4)  # the errors that have draws of their own at a place
MOST_DROPS = 512  # runs whose errors are kept, 16 kB each: the same are asked for five times
MOST_MEANS = 512  # under a kernel that are kept: the same are asked for again
# Eight equal parts of a normal distribution by their middles: places that stand for a Gaussian kernel, in its σ.
KERNEL_PLACES = (-1.534, -0.887, -0.489, -0.157, 0.157, 0.489, 0.887, 1.534)


class SlowError(Bridged):
    """The slow error of the heights at any cell of the profile, of the standard deviation 1.

    It forgets itself over ``memory_s``.

    Parameters
    ----------
    passed_s : when each cell was passed, shape (m,) [s]
    memory_s : of the error [s]
    seed, n : stream and number of the trials
    """

    def __init__(self, passed_s: Floats, memory_s: float, *, seed: str, n: int) -> None:
        self._passed_s, self._memory_s, self.seed, self.n = passed_s.tolist(), memory_s, seed, n
        last = len(passed_s) - 1
        kept = self._kept_ratio(0, last)
        first = normal_at(seed, 0, SLOW, n)
        at_last = kept * first + math.sqrt(1 - kept**2) * normal_at(seed, last, SLOW, n)
        super().__init__(last, first, at_last)
        self._mean_of = lru_cache(maxsize=MOST_MEANS)(self._mean_at)

    def mean(self, cells: Sequence[int]) -> Trials:
        """The mean of the error over cells, shape (n,), not to be written to; the same are asked for again."""
        return self._mean_of(tuple(cells))

    def _mean_at(self, cells: tuple[int, ...]) -> Trials:
        mean = np.zeros(self.n, dtype=np.float32)
        for cell in cells:
            mean += self.at(cell)
        mean /= len(cells)
        mean.flags.writeable = False
        return mean

    def _kept_ratio(self, start: int, end: int) -> float:
        """What is left of the error from one cell to another [1]."""
        return math.exp((self._passed_s[start] - self._passed_s[end]) / self._memory_s)

    def _between(self, start: int, place: int, end: int, low: Trials, high: Trials) -> Trials:
        """Given the errors at both ends: a first-order autoregressive error hangs on its neighbours only."""
        before, after = self._kept_ratio(start, place), self._kept_ratio(place, end)
        lost = 1 - (before * after) ** 2
        if lost <= 0:  # all at one time
            return low
        of_low, of_high = before * (1 - after**2) / lost, after * (1 - before**2) / lost
        u = math.sqrt((1 - before**2) * (1 - after**2) / lost)
        drawn = u * normal_at(self.seed, place, SLOW, self.n)
        drawn += of_low * low
        drawn += of_high * high
        return drawn


class _Common(NamedTuple):
    """What all heights of a ride have in common.

    ``scale`` within ±1, ``clock`` of variance 1, ``size`` of the slow error over its best value, shape (n,) · ``slow``
    · ``drops`` : of the runs that were asked for first, of each motion
    """

    scale: Trials
    clock: Trials
    size: Trials
    slow: SlowError
    drops: WeakKeyDictionary[Motion, dict[tuple[int, int], Trials]]


_COMMON: WeakKeyDictionary[HeightNoise, dict[tuple[str, int], _Common]] = WeakKeyDictionary()


def _single(trials: Floats) -> Trials:
    return trials.astype(np.float32)


def _common(noise: HeightNoise, seed: str, n: int) -> _Common:
    """The same whoever asks, so kept as long as what is known of the ride's heights."""
    of_ride = _COMMON.setdefault(noise, {})
    if (seed, n) not in of_ride:
        rng = stream(seed, 0)
        scale, clock = rng.uniform(-1, 1, n), rng.standard_normal(n)
        # the size of the error is not known either: Student's t
        size = np.sqrt(noise.dof / rng.chisquare(noise.dof, n)) if math.isfinite(noise.dof) else np.ones(n)
        slow = SlowError(noise.passed_s, noise.memory_s, seed=seed, n=n)
        of_ride[seed, n] = _Common(_single(scale), _single(clock), _single(size), slow, WeakKeyDictionary())
    return of_ride[seed, n]


def between_bounds(seed: str, runs: Runs, before: Floats, after: Floats, *, part: int, n: int) -> Trials:
    """What independent errors at the first and at the last sample of each run leave between them.

    Parameters
    ----------
    seed : stream of the trials
    runs : first and last sample of each
    before, after : standard deviations there, the last counted below 0 where it is taken off, shape (n_runs,)
    part : which error, such as `QUICK`
    n : how many trials

    Returns
    -------
    Shape (n_runs, n), in their unit: runs that meet have the draw of their place in common.
    """
    result = np.empty((len(runs), n), dtype=np.float32)
    u_before, u_after = before.astype(np.float32), after.astype(np.float32)
    for k, (first, last) in enumerate(runs):
        np.multiply(normal_at(seed, first, part, n), u_before[k], out=result[k])
        result[k] += u_after[k] * normal_at(seed, last, part, n)
    return result


def _under_kernel(noise: HeightNoise, bound_s: Floats) -> NDArray[np.intp]:
    """Cells of the profile that stand for the kernel under heights passed at some times, shape (k, 8).

    A smoothed height is a mean of errors from when its kernel's places were passed: over a short event most of them are
    common to both ends, and where the bike stood between them, half of what the error walked meanwhile stays.
    """
    places_m = noise.where_m(bound_s)[:, None] + noise.smoothing_m * np.array(KERNEL_PLACES)
    grid_m = float(noise.distance_m[-1] - noise.distance_m[0]) / (len(noise.distance_m) - 1)
    cells = np.round((places_m - noise.distance_m[0]) / grid_m).astype(int)
    return np.asarray(np.clip(cells, 0, len(noise.distance_m) - 1))


def drop_trials(motion: Motion, noise: HeightNoise, runs: Runs, *, seed: str, n: int) -> Trials:
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
    common = _common(noise, seed, n)
    known = common.drops.setdefault(motion, {})
    drops = np.empty((len(runs), n), dtype=np.float32)
    new = [k for k, run in enumerate(runs) if run not in known]
    if new:
        drops[new] = _drawn(motion, noise, [runs[k] for k in new], common)
    for k, run in enumerate(runs):
        if run in known:
            drops[k] = known[run]
        elif len(known) < MOST_DROPS:
            known[run] = drops[k].copy()
    return drops


def _drawn(motion: Motion, noise: HeightNoise, runs: Runs, common: _Common) -> Trials:
    """The errors of some runs' drops, as `drop_trials` gives them."""
    first, last = np.array(runs).T
    start_s, end_s = motion.time_s[first], motion.time_s[last]
    quick_m = noise.fast_u_m(noise.where_m(end_s) - noise.where_m(start_s))
    rounding_m = np.hypot(noise.rounding_at_m(start_s), noise.rounding_at_m(end_s))
    single_m = np.hypot(np.hypot(quick_m, rounding_m), noise.leaping_u_m(start_s, end_s)) / math.sqrt(2)
    drop = between_bounds(common.slow.seed, runs, single_m, -single_m, part=QUICK, n=common.slow.n)
    slow_m = np.float32(noise.slow_m) * common.size
    cells = (_under_kernel(noise, bound_s).tolist() for bound_s in (start_s, end_s))
    for k, (before, after) in enumerate(zip(*cells, strict=True)):
        drop[k] += slow_m * (common.slow.mean(before) - common.slow.mean(after))
    height_m = motion.height_m[first] - motion.height_m[last]
    rates = (np.nan_to_num(motion.speed_mps[at] * motion.grade_pct[at] / 100) for at in (first, last))
    factors = np.stack([noise.scale_ratio * height_m, motion.height_clock_u_s * np.subtract(*rates)], axis=1)
    drop += combined(factors.astype(np.float32), np.stack([common.scale, common.clock]))
    return drop
