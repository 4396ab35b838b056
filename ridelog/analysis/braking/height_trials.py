"""Trials of the errors of single heights: each drawn by its place in the ride, and once for the ride.

A hill, the braking on it and the whole ride have the errors of the heights in common at which they begin and end. What
is one error for the whole ride (the scale of the heights, their clock, how large the slow error is) is drawn once.
"""

import math
from weakref import WeakKeyDictionary

import numpy as np

from ridelog.analysis.road.height_noise import HeightNoise
from ridelog.analysis.road.motion import Motion
from ridelog.arrays import Floats, Runs
from ridelog.uncertain.places import ByHalves, Trials, normal_at
from ridelog.uncertain.seeds import stream

MOST_DROPS = 500  # whose covariances are held at once
SLOW, QUICK, SPEED, GUST = range(4)  # the errors that have draws of their own at a sample


class SlowError(ByHalves):
    """The slow error of the heights at any sample, of the standard deviation 1; it forgets itself over ``memory_s``.

    Parameters
    ----------
    time_s : of the samples, shape (n,) [s]
    memory_s : of the error [s]
    seed, n : stream and number of the trials
    """

    def __init__(self, time_s: Floats, memory_s: float, *, seed: str, n: int) -> None:
        self._time_s, self._memory_s, self._seed, self._n = time_s, memory_s, seed, n
        last = len(time_s) - 1
        kept = self._kept_ratio(0, last)
        first = normal_at(seed, 0, SLOW, n)
        at_last = np.float32(kept) * first + np.float32(math.sqrt(1 - kept**2)) * normal_at(seed, last, SLOW, n)
        super().__init__(last, first, at_last)

    def _kept_ratio(self, start: int, end: int) -> float:
        """What is left of the error from one sample to another [1]."""
        between_s = float(self._time_s[min(end, len(self._time_s) - 1)] - self._time_s[start])
        return math.exp(-between_s / self._memory_s)

    def _middle(self, start: int, place: int, end: int) -> Trials:
        """Given the errors at both ends: a first-order autoregressive error hangs on its neighbours only."""
        before, after = self._kept_ratio(start, place), self._kept_ratio(place, end)
        lost = 1 - (before * after) ** 2
        low, high = self.at(start), self.at(end)
        if lost <= 0:  # all at one time
            return low
        of_low, of_high = before * (1 - after**2) / lost, after * (1 - before**2) / lost
        u = math.sqrt((1 - before**2) * (1 - after**2) / lost)
        normal = normal_at(self._seed, place, SLOW, self._n)
        return np.asarray(np.float32(of_low) * low + np.float32(of_high) * high + np.float32(u) * normal)


_SLOW_ERRORS: WeakKeyDictionary[Motion, dict[tuple[float, str, int], SlowError]] = WeakKeyDictionary()


def _slow_error(motion: Motion, memory_s: float, seed: str, n: int) -> SlowError:
    """The slow error of a ride: the same whoever asks, so kept as long as the ride's motion is."""
    of_ride = _SLOW_ERRORS.setdefault(motion, {})
    key = (memory_s, seed, n)
    if key not in of_ride:
        of_ride[key] = SlowError(motion.time_s, memory_s, seed=seed, n=n)
    return of_ride[key]


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
    walk = _slow_error(motion, noise.memory_s, seed, n)
    slow = np.stack([walk.at(int(start)) - walk.at(int(end)) for start, end in runs]).astype(float)
    if math.isfinite(noise.dof):  # the size of the error is not known either: Student's t
        slow *= np.sqrt(noise.dof / rng.chisquare(noise.dof, n))
    smoothed = slow_drop_u_m(noise, start_s, end_s) / np.maximum(noise.slow_u_m(end_s - start_s), 1e-9)
    drop = noise.slow_m * smoothed[:, None] * slow
    quick_m = noise.fast_u_m(noise.where_m(end_s) - noise.where_m(start_s))
    rounding_m = np.hypot(noise.rounding_at_m(start_s), noise.rounding_at_m(end_s))
    at_first, at_last = normal_at_bounds(seed, runs, part=QUICK, n=n)
    drop += np.hypot(quick_m, rounding_m)[:, None] * ((at_first - at_last) / math.sqrt(2))
    height_m = motion.height_m[first] - motion.height_m[last]
    drop += height_m[:, None] * scale
    rate_mps = np.nan_to_num(motion.speed_mps * motion.grade_pct / 100)
    drop += (rate_mps[first] - rate_mps[last])[:, None] * clock
    return np.asarray(drop, dtype=float)


def slow_drop_u_m(noise: HeightNoise, start_s: Floats, end_s: Floats) -> Floats:
    """What the slow error does to differences of smoothed heights, each passed at two times.

    A height of the profile is a mean over the kernel, of errors from when each of its cells was passed. Within the
    kernel's width most of the error is common to both ends and cancels; where the bike stood between two cells,
    half of what the error walked meanwhile stays.

    Parameters
    ----------
    noise : of the heights
    start_s, end_s : when the heights were passed, shape (k,) [s]

    Returns
    -------
    Standard uncertainty, shape (k,) [m].
    """
    if noise.slow_m == 0:
        return np.zeros(len(start_s))
    cell_m = float(noise.distance_m[1] - noise.distance_m[0])
    reach = max(round(3 * noise.smoothing_m / cell_m), 1)
    moments_s, weights = [], []
    for bound_s, sign in ((start_s, 1.0), (end_s, -1.0)):
        place_m = noise.where_m(bound_s)[:, None]
        cells = np.round((place_m - noise.distance_m[0]) / cell_m).astype(int) + np.arange(-reach, reach + 1)
        cells = np.clip(cells, 0, len(noise.distance_m) - 1)
        kernel = np.exp(-0.5 * ((noise.distance_m[cells] - place_m) / noise.smoothing_m) ** 2)
        moments_s.append(noise.passed_s[cells])
        weights.append(sign * kernel / kernel.sum(axis=1, keepdims=True))
    at_s, weight = np.concatenate(moments_s, axis=1), np.concatenate(weights, axis=1)
    u_m = np.zeros(len(at_s))
    for k in range(0, len(at_s), MOST_DROPS):
        part = slice(k, k + MOST_DROPS)
        alike = np.exp(-np.abs(at_s[part, :, None] - at_s[part, None, :]) / noise.memory_s)
        u_m[part] = np.sqrt(np.maximum(np.einsum("ki,kij,kj->k", weight[part], alike, weight[part]), 0.0))
    return np.asarray(noise.slow_m * u_m)
