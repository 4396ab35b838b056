"""How sure heights and clocks are: from what the track shows of its errors, and stated limits for the rest.

What the errors of the heights are is found by `ridelog.analysis.road.height_noise`.
"""

import math

import numpy as np

from ridelog.analysis.road.height_noise import HeightNoise
from ridelog.analysis.road.hills.slopes import Slope
from ridelog.analysis.road.motion import Motion
from ridelog.analysis.road.profile import Profile, ascent_descent_m, gaussian, turning_points
from ridelog.arrays import Floats
from ridelog.uncertain.gum import Contribution, combine, coverage_factor, rectangular_u
from ridelog.uncertain.quantity import Quantity
from ridelog.uncertain.seeds import stream


def height_change_q(
    change_m: float, start_s: float, end_s: float, noise: HeightNoise, *, other_u_m: float = 0.0
) -> Quantity:
    """A difference of heights passed at two times, with its 95 % interval (JCGM 100:2008, by `gum.combine`).

    Parameters
    ----------
    change_m : height at the end less that at the start [m]
    start_s, end_s : when they were passed [s]
    noise : of the heights
    other_u_m : standard uncertainty from elsewhere [m]

    Returns
    -------
    Value and interval [m].
    """
    length_m = float(abs(noise.where_m(end_s) - noise.where_m(start_s)))
    return _around(
        change_m,
        [
            Contribution("slow height error", float(noise.slow_u_m(end_s - start_s)), dof=noise.dof),
            Contribution("quick height error", float(noise.fast_u_m(length_m))),
            Contribution("height scale", rectangular_u(noise.scale_ratio), sensitivity=change_m),
            Contribution("leaps", float(noise.leaping_u_m(start_s, end_s))),
            Contribution("other", other_u_m),
        ],
    )


def hill_height_q(slope: Slope, noise: HeightNoise) -> Quantity:
    """Height of a hill with its interval; negative down. `Slope.height_m` takes no rounding of foot and top.

    Next to foot and top the road may be level, so that the last digit of the height hides anything up to half of it.
    """
    start_s, end_s = (float(noise.passed_s[index]) for index in (slope.start, slope.end))
    last_digit_m = math.sqrt(2) * rectangular_u(noise.digit_m / 2)
    return height_change_q(slope.height_m, start_s, end_s, noise, other_u_m=last_digit_m)


def told_slopes(slopes: list[Slope], noise: HeightNoise) -> list[Slope]:
    """The slopes whose height is told from zero: its interval lies on one side of it."""
    heights = (hill_height_q(slope, noise) for slope in slopes)
    return [slope for slope, q in zip(slopes, heights, strict=True) if (q.low95 or 0.0) * (q.high95 or 0.0) > 0]


def drop_q(motion: Motion, run: tuple[int, int], noise: HeightNoise) -> Quantity | None:
    """Height lost from the first to the last sample of a run, with its interval; ``None`` without height.

    Parameters
    ----------
    motion : how the bike moved; the uncertainty of its height's clock moves both ends of the run
    run : first and last sample
    noise : of the heights

    Returns
    -------
    Value and interval, positive down [m].
    """
    first, last = run
    drop_m = float(motion.height_m[first] - motion.height_m[last])
    if not math.isfinite(drop_m):
        return None
    ends = [first, last]
    rate_mps = np.nan_to_num(motion.speed_mps[ends] * motion.grade_pct[ends] / 100)
    rounding_m = float(np.hypot(*noise.rounding_at_m(motion.time_s[ends])))
    other_m = math.hypot(float(np.diff(rate_mps)[0]) * motion.height_clock_u_s, rounding_m)
    change = height_change_q(-drop_m, float(motion.time_s[first]), float(motion.time_s[last]), noise, other_u_m=other_m)
    half_m = (change.high95 or 0.0) - change.value
    return Quantity(drop_m, drop_m - half_m, drop_m + half_m)


def mean_grade_q(
    slope: Slope, profile: Profile, noise: HeightNoise, *, distance_limit_ratio: float = 0.005
) -> Quantity:
    """Mean grade of a hill with its interval [%].

    The grade is height over length. Where foot and top lie is known to about the smoothing and the cell on either
    side; road there is on its way from level to the grade of the hill, so that half of a wrong length counts.

    Parameters
    ----------
    slope, profile, noise : the hill
    distance_limit_ratio : half-width of the rectangular error of the distance [1]

    Returns
    -------
    Value and interval, negative down [%].
    """
    length_m = float(profile.distance_m[slope.end] - profile.distance_m[slope.start])
    height = hill_height_q(slope, noise)
    value = 100 * slope.height_m / length_m
    ends_m = math.sqrt(2) * noise.smoothing_m / 2
    height_u_m = ((height.high95 or 0.0) - height.value) / _factor()
    return _around(
        value,
        [
            Contribution("height", height_u_m, sensitivity=100 / length_m),
            Contribution("distance", rectangular_u(distance_limit_ratio), sensitivity=value),
            Contribution("foot and top", ends_m, sensitivity=value / length_m),
        ],
    )


def ascent_q(
    profile: Profile, noise: HeightNoise, *, reversal_m: float = 2.0, finer_m: float = 1.0
) -> tuple[Quantity, Quantity]:
    """Metres climbed and metres descended with their intervals.

    They are sums of heights at turning points, with signs; the covariances of the slow error between all of them are
    kept. The interval reaches further down by what noise may have added, found by adding more of it, and further up by
    rises that were ignored as too small but may be real.

    Parameters
    ----------
    profile, noise : the heights
    reversal_m : smaller reversals are ignored [m]
    finer_m : reversals between this and ``reversal_m`` may be real; below, heights show little but noise [m]

    Returns
    -------
    Climbed and descended, both positive [m].
    """
    points = turning_points(profile.height_m, reversal_m=reversal_m)
    steps_m = np.diff(profile.height_m[points])
    kept = np.exp(-np.diff(noise.passed_s[points]) / noise.memory_s)
    finer = ascent_descent_m(profile.height_m, reversal_m=finer_m)
    feigned_m = _feigned_climb_m(profile, noise, reversal_m)
    results = []
    for side, sign in enumerate((1.0, -1.0)):
        legs = np.where(sign * steps_m > 0, sign, 0.0)
        weight = np.concatenate(([0.0], legs)) - np.concatenate((legs, [0.0]))
        metres = float((legs * steps_m).sum())
        slow_m = noise.slow_m * math.sqrt(max(_sum_of_alike(weight, kept), 0.0))
        half_m = combine(
            [
                Contribution("slow height error", slow_m, dof=noise.dof),
                Contribution("quick height error", noise.fast_m * float(np.sqrt((weight**2).sum()))),
                Contribution("height scale", rectangular_u(noise.scale_ratio), sensitivity=metres),
            ]
        ).expanded
        low_m, high_m = metres - half_m - feigned_m[side], metres + half_m + max(finer[side] - metres, 0.0)
        results.append(Quantity(metres, max(low_m, 0.0), high_m))
    return results[0], results[1]


def _sum_of_alike(weight: Floats, kept: Floats) -> float:
    """The variance of a weighted sum of errors of variance 1, shape (n,), of which each keeps a part of the one before.

    ``kept`` has shape (n - 1,): what two errors have in common is the product of all between them.
    """
    variance, before = float((weight**2).sum()), 0.0
    for one, next_one, part in zip(weight.tolist(), weight[1:].tolist(), kept.tolist(), strict=False):
        before = (before + one) * part
        variance += 2 * next_one * before
    return variance


def _feigned_climb_m(
    profile: Profile, noise: HeightNoise, reversal_m: float, *, n_paths: int = 12
) -> tuple[float, float]:
    """What the noise of the heights may have added to ascent and descent [m].

    Noise added to a profile that holds as much already adds √2 − 1 = 0.41 of what the first did, if that stood alone
    on a level road; on a slope both add nothing.
    """
    rng = stream("ascent")
    keep = np.exp(-np.diff(noise.passed_s) / noise.memory_s)
    path = rng.standard_normal((len(noise.passed_s), n_paths))
    path[1:] *= np.sqrt(1 - keep**2)[:, None]
    kept = np.concatenate(([0.0], keep))[:, None]  # of what each was so many steps before: 1, then 2, 4, …
    for step in (1 << k for k in range(len(keep).bit_length())):
        path[step:] += kept[step:] * path[:-step]
        kept[step:] *= kept[:-step].copy()
    sigma = noise.smoothing_m / float(profile.distance_m[1] - profile.distance_m[0])
    noisy = [profile.height_m + gaussian(noise.slow_m * one, sigma) for one in path.T]
    more = np.mean([ascent_descent_m(height_m, reversal_m=reversal_m) for height_m in noisy], axis=0)
    added = (more - np.array(ascent_descent_m(profile.height_m, reversal_m=reversal_m))) / (math.sqrt(2) - 1)
    return max(float(added[0]), 0.0), max(float(added[1]), 0.0)


def _factor() -> float:
    return coverage_factor()


def _around(value: float, contributions: list[Contribution]) -> Quantity:
    half = combine(contributions).expanded
    return Quantity(value, value - half, value + half)
