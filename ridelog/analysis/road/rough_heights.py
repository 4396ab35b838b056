"""Heights too rough for grades: over what stretch a grade is sure, and what the rider must know of it."""

import math

import numpy as np

from ridelog.analysis.road.height_noise import HeightNoise
from ridelog.arrays import Floats
from ridelog.findings import Fact, Finding

GRADE_LIMIT = 0.01  # standard uncertainty; a grade wrong by 1.5 % feigns braking (`force.BrakingSettings`)
WIDTH = 2 * math.sqrt(2 * math.log(2))  # of a Gaussian kernel at half its height, in standard deviations


def usual_pace_mps(speed_mps: Floats, *, moving_mps: float = 0.5, unknown_mps: float = 5.0) -> float:
    """Median speed while moving [m/s]; ``unknown_mps`` where no speed is known.

    Parameters
    ----------
    speed_mps : shape (n,) [m/s]
    moving_mps : slower is standing [m/s]
    unknown_mps : taken where no speed is known [m/s]

    Returns
    -------
    Median [m/s].
    """
    moving = speed_mps[speed_mps > moving_mps]
    return float(np.median(moving)) if len(moving) else unknown_mps


def grade_smoothing_m(
    noise: HeightNoise, pace_mps: float, *, limit: float = GRADE_LIMIT, longest_m: float = 60.0
) -> float:
    """Kernel over which a grade is sure to ``limit`` [m]: the profile's own, or a longer one.

    Parameters
    ----------
    noise : of the heights
    pace_mps : usual speed; the error walks in time [m/s]
    limit : standard uncertainty of the grade [1]
    longest_m : a longer kernel would take hills of 100 to 200 m for level road [m]

    Returns
    -------
    Standard deviation of the kernel [m].
    """
    smoothing_m = noise.smoothing_m
    while noise.grade_u(smoothing_m, pace_mps) > limit and smoothing_m < longest_m:
        smoothing_m = min(1.1 * smoothing_m, longest_m)
    return smoothing_m


def roughness_m(noise: HeightNoise, pace_mps: float, *, length_m: float = 100.0) -> float:
    """How far the height may wander over a length, half-width of 95 % [m].

    Parameters
    ----------
    noise : of the heights
    pace_mps : usual speed [m/s]
    length_m : of road [m]

    Returns
    -------
    Half-width [m].
    """
    walk_m2 = 2 * noise.short_walk_m2ps * length_m / max(pace_mps, 1.0)
    return 1.96 * math.hypot(math.sqrt(walk_m2), math.sqrt(2) * noise.fast_m)


def height_findings(noise: HeightNoise, pace_mps: float, smoothing_m: float) -> list[Finding]:
    """A finding where grades had to be taken over a longer stretch than usual; a warning where even that is unsure.

    Parameters
    ----------
    noise : of the heights
    pace_mps : usual speed [m/s]
    smoothing_m : kernel over which grades were taken [m]

    Returns
    -------
    One finding at most.
    """
    if smoothing_m <= noise.smoothing_m:
        return []
    left_pct = 100 * noise.grade_u(smoothing_m, pace_mps)
    unsure = left_pct > 105 * GRADE_LIMIT
    facts: dict[str, Fact] = {
        "wander_m": roughness_m(noise, pace_mps),
        "road_m": 100.0,
        "over_m": WIDTH * smoothing_m,
        "usual_m": WIDTH * noise.smoothing_m,
        "grade_error_pct": 1.96 * left_pct,
        "unsure": unsure,
    }
    return [Finding("height-rough", "warning" if unsure else "note", facts)]
