"""How sure a distance along the ride is, by what it comes from."""

import math

import numpy as np
from numpy.typing import NDArray

from ridelog.analysis.road.height_noise import Track
from ridelog.arrays import Floats, mask_runs, robust_scale
from ridelog.uncertain.seeds import stream
from ridelog.uncertain.trials import Uncertain, evenly_between

# Half-widths of rectangular distributions. Wheel and whatever counts its turns: air in the tyre, load and wear move a
# rolling circumference by 1 to 2 %. Positions: their noise lengthens, their rounding of bends shortens (judgement).
DISTANCE_LIMITS_PCT = {"wheel": 1.5, "device": 1.5, "speed": 1.5, "positions": 0.5}
DEFAULT_DISTANCE_LIMIT_PCT = 0.5
MOST_PLACES = 100_000  # one a second for more than a day, whatever the samples
SPARSE_FIXES_S = 2.0  # from here on, bends show more than the scatter of fixes does


def position_lengthening_m(track: Track, *, fix_step_s: float = 0.0) -> float:
    """How much the error of positions may have lengthened a distance along them [m].

    Where the bike stands, the way from where a stop began to where it ended is all error. Where it rolls, an error that
    moves a place sideways by q (variance, per second) lengthens each second's way of v metres by q/2v; q is half of the
    squared second differences across the way (a random walk; their median, so that bends do not count). Between sparse
    fixes the way bends as a rule: there q is a sixth of the squared third differences, which hold no steady bend.

    Parameters
    ----------
    track : where the bike was
    fix_step_s : usual time between fixes, where it is more than a second [s]
    """
    east_m, north_m = track.east_m, track.north_m
    if east_m is None or north_m is None:
        return 0.0
    with np.errstate(invalid="ignore"):
        stands = track.speed_mps < 0.1
    stood_m = sum(float(track.distance_m[last] - track.distance_m[first]) for first, last in mask_runs(stands))
    if not math.isfinite(stood_m):
        stood_m = 0.0
    step_s = max(fix_step_s, 1.0)
    time_s = track.time_s
    if (time_s[-1] - time_s[0]) / step_s > MOST_PLACES + 4 * len(time_s):  # weeks without a sample take gigabytes
        time_s = np.concatenate(([0.0], np.cumsum(np.minimum(np.diff(time_s), 3 * step_s))))
    at_s = np.arange(float(time_s[0]), float(time_s[-1]), step_s)
    place = np.interp(at_s, time_s, east_m) + 1j * np.interp(at_s, time_s, north_m)
    speed_mps = np.interp(at_s, time_s, track.speed_mps)
    sideways_m = _sideways_m(place, speed_mps)
    rolls = np.isfinite(sideways_m)
    if rolls.sum() < 10:
        return stood_m
    walk_m2 = robust_scale(sideways_m[rolls], centre=0.0) ** 2 / 2
    if fix_step_s >= SPARSE_FIXES_S:
        changes_m = np.diff(sideways_m)
        changes_m = changes_m[np.isfinite(changes_m)]
        walk_m2 = robust_scale(changes_m, centre=0.0) ** 2 / 6
    return stood_m + float((walk_m2 / (2 * step_s * speed_mps[1:-1][rolls])).sum())


def _sideways_m(place: NDArray[np.complex128], speed_mps: Floats) -> Floats:
    """Second differences of places across the way, shape (n - 2,), NaN where the bike does not roll [m]."""
    way = place[2:] - place[:-2]
    with np.errstate(invalid="ignore"):
        rolls = (speed_mps[1:-1] > 2.0) & np.isfinite(place[1:-1]) & (np.abs(way) > 0)  # 0: positions that stay
    across_m = np.imag((place[2:] - 2 * place[1:-1] + place[:-2]) * np.conj(way))
    return np.where(rolls, across_m / np.where(rolls, np.abs(way), 1.0), np.nan)


def unseen_ends_m(track: Track, fix_step_s: float) -> float:
    """Way at the usual pace before the first and after the last of sparse fixes, where nothing else tells of it [m].

    Parameters
    ----------
    track : where the bike was
    fix_step_s : usual time between fixes; no more than two of them at either end is a matter of their spacing [s]

    Returns
    -------
    0 where fixes lie less than `SPARSE_FIXES_S` apart.
    """
    known = np.flatnonzero(np.isfinite(track.distance_m))
    if fix_step_s < SPARSE_FIXES_S or len(known) < 2:
        return 0.0
    first, last = known[0], known[-1]
    ends_s = track.time_s[first] - track.time_s[0], track.time_s[-1] - track.time_s[last]
    pace_mps = (track.distance_m[last] - track.distance_m[first]) / (track.time_s[last] - track.time_s[first])
    return float(pace_mps * sum(min(end_s, 2 * fix_step_s) for end_s in ends_s))


def ridden_distance(
    distance_m: float, source: str | None = None, *, lengthened_m: float = 0.0, shortened_m: float = 0.0
) -> Uncertain:
    """A distance along the ride: its scale anywhere within the limits of its source (rectangular).

    Parameters
    ----------
    distance_m : between two places [m]
    source : what it comes from, a key of `DISTANCE_LIMITS_PCT`; anything else has the default's limit
    lengthened_m : what errors of positions may have added, from `position_lengthening_m`; twice that is allowed [m]
    shortened_m : what bends between positions may have taken off; twice that is allowed [m]

    Returns
    -------
    distance : with trials [m]
    """
    limit = DISTANCE_LIMITS_PCT.get(source or "", DEFAULT_DISTANCE_LIMIT_PCT) / 100
    low_m = distance_m * (1 - 0.95 * limit) - 2 * lengthened_m
    high_m = distance_m * (1 + 0.95 * limit) + 2 * shortened_m
    beyond_m = (high_m - low_m) / 2 * (1 / 0.95 - 1)  # from the middle 95 % of a rectangle to its ends
    trials = evenly_between(low_m - beyond_m, high_m + beyond_m, stream("distance")).at_least(0.0).trials
    return Uncertain(distance_m, trials, frozenset(("distance",)))
