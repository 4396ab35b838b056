"""What may be wrong with one run of braking by itself: single speeds and heights, its bounds, and gusts.

Every error is drawn by its place in the ride, so that runs that meet in a sample have its speed and height in common.
"""

import math
from collections.abc import Collection

import numpy as np
from numpy.typing import NDArray

from ridelog.analysis.braking.height_trials import GUST, SPEED, between_bounds, drop_trials
from ridelog.analysis.braking.way_sums import way_sums
from ridelog.analysis.road.height_noise import HeightNoise
from ridelog.analysis.road.load import RoadLoad
from ridelog.analysis.road.load_uncertainty import RoadTrials, gust_u_ratio
from ridelog.analysis.road.motion import Motion
from ridelog.arrays import Floats, Runs
from ridelog.constants import STANDARD_GRAVITY
from ridelog.uncertain.places import Trials, normal_at

# The errors that can act, for budgets that let one act at a time.
ERRORS = ("mass", "rolling", "air drag", "air density", "wind", "gusts", "speed", "height", "bounds")
MOST_AT_ONCE = 64  # runs whose own errors are drawn together, which takes 16 kB each three times over


def own_u_wh(motion: Motion, noise: HeightNoise, runs: Runs, road: RoadTrials) -> Floats:
    """Standard uncertainty of what each run had available, by what is its own.

    Parameters
    ----------
    motion : how the bike moved
    noise : of the heights
    runs : first and last sample of each, at least one
    road : trials of what is common to the ride, for their number and the best values

    Returns
    -------
    Shape (n_runs,) [Wh].
    """
    parts = (own_parts(motion, noise, some, road, ERRORS) for some in _few(runs))
    spreads = [(moved + raised + blown).std(axis=1, dtype=float) for moved, raised, blown in parts]
    return np.asarray(np.concatenate(spreads) / 3600)


def _few(runs: Runs) -> list[Runs]:
    """The runs, few at a time."""
    return [runs[start : start + MOST_AT_ONCE] for start in range(0, len(runs), MOST_AT_ONCE)]


def own_parts(
    motion: Motion, noise: HeightNoise, runs: Runs, road: RoadTrials, acting: Collection[str]
) -> tuple[Trials, Trials, Trials]:
    """What single speeds and the bounds of the runs, single heights, and gusts add.

    Every error is drawn by its place in the ride: runs that meet in a sample have its speed and height in common.

    Parameters
    ----------
    motion : how the bike moved
    noise : of the heights
    runs : first and last sample of each, not empty
    road : trials of what is common to the ride
    acting : errors that act (`ERRORS`)

    Returns
    -------
    Each of shape (n_runs, n_trials), or (1,) where it does not act [J].
    """
    load, v = road.load, motion.speed_mps
    first, last = np.array(runs).T
    raised = blown = np.zeros(1, dtype=np.float32)
    if "height" in acting:
        raised = drop_trials(motion, noise, runs, seed=road.seed, n=road.n)
        raised *= load.mass_kg * STANDARD_GRAVITY
    u_first, u_last = np.zeros((2, len(runs)))
    if "speed" in acting:
        u_j = load.effective_mass_kg * motion.speed_u_mps
        u_first, u_last = u_j * v[first], u_j * v[last]
    if "bounds" in acting:
        u_first, u_last = np.hypot((u_first, u_last), _bounds_u_j(motion, first, last, load))
    moved = between_bounds(road.seed, runs, u_first, -u_last, part=SPEED, n=road.n)
    if "gusts" in acting:
        gusts, blowing_mps = gusts_u_js_per_m(motion, runs, load), road.blowing_mps.astype(np.float32)
        blown = np.stack(
            [
                u * normal_at(road.seed, at, GUST, road.n)
                for u, (at, _) in zip(gusts.astype(np.float32), runs, strict=True)
            ]
        )
        blown *= blowing_mps
    return moved, raised, blown


def own_together(
    motion: Motion, noise: HeightNoise, runs: Runs, road: RoadTrials, acting: Collection[str]
) -> tuple[Trials, Trials, Trials]:
    """As `own_parts`, of all runs together.

    Parameters
    ----------
    motion, noise, runs, road, acting : as there

    Returns
    -------
    Each of shape (n_trials,), or (1,) where it does not act [J].
    """
    sums: list[list[Trials]] = [[], [], []]
    for some in _few(runs):
        for known, part in zip(sums, own_parts(motion, noise, some, road, acting), strict=True):
            known[:] = [np.concatenate([*known, np.atleast_2d(part)]).sum(axis=0, keepdims=True)]
    moved, raised, blown = (known[0][0] for known in sums)
    return moved, raised, blown


def gusts_u_js_per_m(motion: Motion, runs: Runs, load: RoadLoad) -> Floats:
    """What the wind of each run by itself may add or take beside that of the ride, over how fast that blows.

    Parameters
    ----------
    motion : how the bike moved
    runs : first and last sample of each
    load : of the road

    Returns
    -------
    Standard uncertainty, shape (n_runs,) [J s/m].
    """
    first, last = np.array(runs).T
    swept = way_sums(motion, load.wind_mps).over(runs)
    pressed = swept.square + load.wind_mps * swept.first
    gust_ratio = gust_u_ratio(motion.time_s[last] - motion.time_s[first])
    return np.asarray(load.density * load.cda_m2 * pressed * gust_ratio)


def _bounds_u_j(motion: Motion, first: NDArray[np.intp], last: NDArray[np.intp], load: RoadLoad) -> Floats:
    """What the true bounds of a run, anywhere in the steps at its ends, may add or take there, shape (2, n_runs) [J].

    A bound lies anywhere within one step (rectangular, half a step either way); there the brakes took what the energy
    changed by in the step inside.
    """
    inside = np.maximum(last - 1, first)
    at = np.minimum(np.stack([[first, inside], [first + 1, inside + 1]]), len(motion.time_s) - 1)
    energy = load.effective_mass_kg * motion.speed_mps[at] ** 2 / 2
    energy = energy + load.mass_kg * STANDARD_GRAVITY * np.nan_to_num(motion.height_m[at])
    ends = np.abs(energy[1] - energy[0])
    return np.asarray(np.nan_to_num(ends) / math.sqrt(12))
