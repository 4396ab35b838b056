"""What is wrong with the heights of a ride: how large their errors are, as far as the track itself shows it.

The error of a recorded height is not white: it wanders, and forgets where it was over minutes, so that neighbouring
heights are off alike. A drop over T seconds therefore errs by σ √(2 (1 − e^(−T/τ))), little over a short event and
σ √2 over a long hill (a first-order autoregressive error; Sahlholm and Wänglund found errors of recorded heights to be
autoregressive, ITS World Congress 2009).
"""

import math
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from ridelog.analysis.road.no_road import leaping_m2
from ridelog.analysis.road.plane import passes_of_one_road
from ridelog.analysis.road.profile import Profile
from ridelog.arrays import Floats, mask_runs, robust_scale
from ridelog.lazy import dataclass
from ridelog.uncertain.special import erf

HeightKind = Literal["barometric", "satellite"]


@dataclass(frozen=True)
class HeightDefault:
    """What is held of a kind of height before the track is looked at.

    ``slow_m`` : standard deviation of the slow error [m] · ``scale_ratio`` : half-width of its scale error [1]
    """

    slow_m: float
    scale_ratio: float


# Slow errors: judgement. Scale: a barometric height is reckoned with the temperature of the standard atmosphere and is
# off by 1 part in 288 for each kelvin that the air is off it; 10 K. Satellites know no such error.
HEIGHT_DEFAULTS: dict[HeightKind, HeightDefault] = {
    "barometric": HeightDefault(slow_m=0.7, scale_ratio=0.035),
    "satellite": HeightDefault(slow_m=3.0, scale_ratio=0.0),
}
PRIOR_DOF = 3.0  # what such a default weighs: three independent looks at the error


@dataclass(frozen=True)
class HeightSettings:
    """Thresholds of the look at the height's errors, each with its reason.

    Attributes
    ----------
    memory_s : time over which the slow error forgets itself; minutes, by judgement. Errors over less depend on
        ``slow_m²/memory_s`` only, which the stops show whatever the memory is [s]
    satellite_m : a quick error above this (standard deviation) is that of a satellite height; a barometer's last
        digit gives 0.06 to 0.3 m [m]
    least_stop_s : shorter stops show nothing but the last digit [s]
    smoothing_m, grid_m : of the profile (see `ridelog.analysis.road.profile.height_profile`) [m]
    bend_m : over this length on either side the road's bends up and down are held against those that its errors make;
        shorter ones smoothing has taken out, over longer ones roads bend [m]
    short_bend_m : over this length and twice it, errors are told from a road that bends everywhere; smoothing leaves
        half of what a height wanders over it [m]
    near_m : passes closer than this to each other are of one road: twice the error of a satellite position [m]
    apart_m : less along the ride is no second pass [m]
    """

    memory_s: float = 300.0
    satellite_m: float = 0.5
    least_stop_s: float = 8.0
    smoothing_m: float = 12.0
    grid_m: float = 5.0
    bend_m: float = 50.0
    short_bend_m: float = 25.0
    near_m: float = 12.0
    apart_m: float = 300.0


DEFAULT_SETTINGS = HeightSettings()


@dataclass(frozen=True)
class Track:
    """Where the bike was, and when; arrays of shape (n,) on one clock, NaN where not known.

    ``altitude_m`` is the height as recorded, not smoothed; ``east_m`` and ``north_m`` are ``None`` without positions.
    """

    time_s: Floats
    distance_m: Floats
    altitude_m: Floats
    speed_mps: Floats
    east_m: Floats | None = None
    north_m: Floats | None = None


@dataclass(frozen=True, eq=False)
class HeightNoise:
    """What is wrong with the heights of a ride.

    Attributes
    ----------
    kind : of the height
    slow_m, dof, memory_s : standard deviation of the slow error, its degrees of freedom, and over what time the error
        forgets itself [m], [1], [s]
    fast_m : standard deviation of what smoothing leaves of the quick error [m]
    scale_ratio : half-width of the rectangular scale error [1]
    passed_s, distance_m : when each point of the profile was passed, and where it lies, shape (m,) [s], [m]
    rounding_m : how far smoothing may have moved the height there, shape (m,) [m]
    smoothing_m : of the profile; quick errors closer than this are alike [m]
    n_looks : stops and second passes that showed something
    wander_m2ps : slow_m²/memory_s of the error by how the road bends up and down: at most that, where roads bend too
        [m²/s]
    digit_m : step in which the heights were written, 0 where none shows [m]
    leaping_m2 : variance of the error where heights are no road's, shape (m,), 0 where not given [m²]
    """

    kind: HeightKind
    slow_m: float
    dof: float
    memory_s: float
    fast_m: float
    scale_ratio: float
    passed_s: Floats
    distance_m: Floats
    rounding_m: Floats
    smoothing_m: float = 12.0
    n_looks: int = 0
    wander_m2ps: float = 0.0
    digit_m: float = 0.0
    leaping_m2: Floats | None = None

    def slow_u_m(self, duration_s: Floats | float) -> Floats:
        """What the slow error does to a difference of heights that were passed this long apart [m]."""
        share = -np.expm1(-np.abs(np.asarray(duration_s, dtype=float)) / self.memory_s)
        return np.asarray(self.slow_m * np.sqrt(2 * share))

    def fast_u_m(self, length_m: Floats | float) -> Floats:
        """What the quick error does to a difference of heights this far apart [m]."""
        share = -np.expm1(-((np.asarray(length_m, dtype=float) / (2 * self.smoothing_m)) ** 2))
        return np.asarray(self.fast_m * np.sqrt(2 * share))

    def unsure_m(self, first: int, others: NDArray[np.intp], *, factor: float = 2.0) -> Floats:
        """What height differences from one point of the profile to others may be off by, ``factor`` u [m].

        Parameters
        ----------
        first : index of a point of the profile
        others : indices of others, shape (k,)
        factor : multiple of the standard uncertainty [1]

        Returns
        -------
        Shape (k,) [m].
        """
        length_m = np.abs(self.distance_m[others] - self.distance_m[first])
        kept = walked(length_m, self.smoothing_m) / np.maximum(length_m, 1e-9)  # of the slow error, by the kernel
        slow_m = np.sqrt(kept) * self.slow_u_m(self.passed_s[others] - self.passed_s[first])
        return np.asarray(factor * np.hypot(slow_m, self.fast_u_m(length_m)))

    @property
    def short_walk_m2ps(self) -> float:
        """How fast the error wanders over short times, slow_m²/memory_s, by stops or bends, whichever allows for less.

        Errors that last for longer than assumed do not bend the profile, and a road that bends is no error [m²/s].
        """
        return min(self.slow_m**2 / self.memory_s, self.wander_m2ps)

    def grade_u(self, smoothing_m: float, speed_mps: float) -> float:
        """What the errors do to a grade from heights smoothed by a kernel, at a speed; standard uncertainty [1].

        The slope of a smoothed random walk of variance q a metre has the variance q/(2 √π σ); that of the quick error,
        white at first, falls with σ³.
        """
        walk = 2 * self.short_walk_m2ps / max(speed_mps, 1.0)
        quick = self.fast_m**2 * self.smoothing_m / smoothing_m
        return math.sqrt(walk / (2 * math.sqrt(math.pi) * smoothing_m) + quick / (2 * smoothing_m**2))

    def where_m(self, time_s: Floats | float) -> Floats:
        """Distance along the ride at times [m]."""
        return np.asarray(np.interp(time_s, self.passed_s, self.distance_m))

    def leaping_u_m(self, start_s: Floats | float, end_s: Floats | float) -> Floats:
        """What leaps of the height do to a difference of heights passed at two times [m]."""
        if self.leaping_m2 is None:
            return np.zeros(np.shape(start_s))
        variances = (np.interp(at_s, self.passed_s, self.leaping_m2) for at_s in (start_s, end_s))
        return np.asarray(np.sqrt(sum(variances)))

    def rounding_at_m(self, time_s: Floats | float) -> Floats:
        """How far smoothing may have moved the height at times [m]."""
        return np.asarray(np.interp(time_s, self.passed_s, self.rounding_m))


def height_noise(
    profile: Profile,
    passage: Track,
    *,
    kind: HeightKind | None = None,
    settings: HeightSettings = DEFAULT_SETTINGS,
) -> HeightNoise:
    """What the track shows of its height's errors.

    The quick error is what the record scatters about the smoothed profile. The slow one shows where the true height is
    known not to have changed: from the beginning to the end of a stop, and between two passes of one road. Both are
    looks at one standard deviation, which starts from the kind's default (`HEIGHT_DEFAULTS`), or from what the bends of
    the profile speak for where that is more.

    Parameters
    ----------
    profile : of the passage's heights
    passage : the ride
    kind : of the height; by the size of the quick error where ``None``
    settings : thresholds

    Returns
    -------
    Sizes of slow and quick error, and how sure they are.
    """
    known = np.isfinite(passage.distance_m) & np.isfinite(passage.altitude_m)
    off_m = passage.altitude_m[known] - profile.height_at(passage.distance_m[known])
    quick_m = float(np.sqrt(np.nanmean(np.minimum(np.abs(off_m), 3 * np.nanmedian(np.abs(off_m)) + 0.05) ** 2)))
    kind = kind or ("satellite" if quick_m > settings.satellite_m else "barometric")
    passed_s = np.maximum.accumulate(np.interp(profile.distance_m, passage.distance_m[known], passage.time_s[known]))
    spacing_m = max(settings.grid_m, float(np.ptp(passage.distance_m[known])) / max(int(known.sum()), 1))
    averaged = max(2 * math.sqrt(math.pi) * settings.smoothing_m / spacing_m, 1.0)  # samples under the kernel
    fast_m = quick_m / math.sqrt(averaged)
    wander_m2ps = wander(profile, passed_s, fast_m, settings)
    expected_m = max(HEIGHT_DEFAULTS[kind].slow_m, math.sqrt(wander_m2ps * settings.memory_s))
    looks = [*_stops(passage, quick_m, settings), *_second_passes(profile, passage, passed_s, settings)]
    slow_m, dof = _slow_error(looks, expected_m, settings.memory_s)
    return HeightNoise(
        kind=kind,
        slow_m=slow_m,
        dof=dof,
        memory_s=settings.memory_s,
        fast_m=fast_m,
        scale_ratio=HEIGHT_DEFAULTS[kind].scale_ratio,
        passed_s=passed_s,
        distance_m=profile.distance_m,
        # at a kink of the road the kernel moves the height by σ/√(2π) of the change of grade, which is σ² h''
        rounding_m=np.abs(settings.smoothing_m**2 * np.gradient(profile.grade_pct / 100, profile.distance_m)),
        smoothing_m=settings.smoothing_m,
        n_looks=len(looks),
        wander_m2ps=wander_m2ps,
        digit_m=profile.digit_m,
        leaping_m2=leaping_m2(profile, passed_s, memory_s=settings.memory_s),
    )


def wander(profile: Profile, passed_s: Floats, fast_m: float, settings: HeightSettings = DEFAULT_SETTINGS) -> float:
    """How fast the error of the height wanders, by how much the profile bends up and down: slow_m²/memory_s [m²/s].

    An error that forgets itself slowly is a random walk over short times: the second difference of heights T seconds
    apart has the variance 4 T slow_m²/memory_s, less what the kernel takes off it. Roads bend here and there, errors
    everywhere: the lower quartile is taken, and what is found is the most that the error can do.

    Parameters
    ----------
    profile : the smoothed heights
    passed_s : when each point of it was passed, shape (m,) [s]
    fast_m : standard deviation of the quick error in it [m]
    settings : thresholds

    Returns
    -------
    0 where the profile is too short to show it [m²/s].
    """
    grid_m = float(profile.distance_m[1] - profile.distance_m[0])
    apart = max(round(settings.bend_m / grid_m), 1)
    if len(passed_s) < 6 * apart:
        return 0.0
    height_m, apart_m = profile.height_m, apart * grid_m
    bends_m = np.abs(height_m[2 * apart :] - 2 * height_m[apart:-apart] + height_m[: -2 * apart])
    lasted_s = np.maximum(passed_s[2 * apart :] - passed_s[: -2 * apart], 0.2) / 2
    quartile = float(np.quantile(bends_m / np.sqrt(lasted_s), 0.25)) / 0.31864  # of a standard normal's size
    single, double = walked(np.array([apart_m, 2 * apart_m]), settings.smoothing_m).tolist()
    kept = (4 * single - double) / (2 * apart_m)
    return float(max(quartile**2 - 6 * fast_m**2 / float(np.median(lasted_s)), 0.0) / (4 * kept))


def wander_beside_bends(profile: Profile, noise: HeightNoise, settings: HeightSettings = DEFAULT_SETTINGS) -> float:
    """How fast the error wanders where the road bends everywhere: slow_m²/memory_s [m²/s].

    Squared second differences of a random walk grow with the length over which they are taken, those of a road that
    bends evenly with its fourth power. Two lengths tell one from the other.

    Parameters
    ----------
    profile : the smoothed heights
    noise : of them
    settings : ``short_bend_m``

    Returns
    -------
    Infinity where the profile is too short to show it [m²/s].
    """
    grid_m = float(profile.distance_m[1] - profile.distance_m[0])
    short = max(round(settings.short_bend_m / grid_m), 1)
    if len(profile.height_m) < 24 * short:
        return math.inf
    squares, kept = [], []
    for apart in (short, 2 * short):
        bends_m = profile.height_m[2 * apart :] - 2 * profile.height_m[apart:-apart] + profile.height_m[: -2 * apart]
        lasted_s = np.maximum(noise.passed_s[2 * apart :] - noise.passed_s[: -2 * apart], 0.2) / 2
        lengths_m = grid_m * np.array([apart, 2 * apart])
        alike = np.exp(-((lengths_m / (2 * noise.smoothing_m)) ** 2))  # of the quick error, by the kernel
        quick_m2 = noise.fast_m**2 * (6 - 8 * alike[0] + 2 * alike[1])
        square_m2ps = robust_scale(bends_m / np.sqrt(lasted_s), centre=0.0) ** 2
        squares.append(square_m2ps - quick_m2 / float(np.median(lasted_s)))
        single, double = walked(lengths_m, noise.smoothing_m).tolist()
        kept.append((4 * single - double) / (2 * apart * grid_m))
    # the squares are 4 w kept + c length³, as twice the length takes twice the time
    return float(max(8 * squares[0] - squares[1], 0.0) / (4 * (8 * kept[0] - kept[1])))


def walked(length_m: Floats, smoothing_m: float) -> Floats:
    """Mean square difference over a length of a random walk of 1 a metre that a Gaussian kernel has smoothed."""
    ratio = length_m / (2 * smoothing_m)
    return np.asarray(length_m * erf(ratio) + 2 * smoothing_m / math.sqrt(math.pi) * np.expm1(-(ratio**2)))


@dataclass(frozen=True)
class _Look:
    """Two heights of one place: how long apart, by how much they differ, and what else may have made them differ."""

    apart_s: float
    change_m: float
    floor_m: float


def _stops(passage: Track, quick_m: float, settings: HeightSettings, *, edge_s: float = 3.0) -> list[_Look]:
    """Heights at the beginning and at the end of each stop, as means over ``edge_s``."""
    looks = []
    with np.errstate(invalid="ignore"):
        standing = passage.speed_mps < 0.1  # as `BrakingSettings.moving_off_mps`
    for first, last in mask_runs(standing & np.isfinite(passage.altitude_m)):
        start_s, end_s = float(passage.time_s[first]), float(passage.time_s[last])
        if end_s - start_s < settings.least_stop_s:
            continue
        time_s, height_m = passage.time_s[first : last + 1], passage.altitude_m[first : last + 1]
        change_m = float(height_m[time_s >= end_s - edge_s].mean() - height_m[time_s <= start_s + edge_s].mean())
        looks.append(_Look(end_s - start_s - edge_s, change_m, math.sqrt(2) * quick_m))
    return looks


def _second_passes(
    profile: Profile, passage: Track, passed_s: Floats, settings: HeightSettings, *, every_m: float = 20.0
) -> list[_Look]:
    """Differences of height between passes of one road, one for each memory of the error."""
    if passage.east_m is None or passage.north_m is None:
        return []
    known = np.isfinite(passage.distance_m) & np.isfinite(passage.east_m) & np.isfinite(passage.north_m)
    chosen = slice(None, None, max(round(every_m / float(profile.distance_m[1] - profile.distance_m[0])), 1))
    along_m, height_m, grade_pct = (part[chosen] for part in (profile.distance_m, profile.height_m, profile.grade_pct))
    if known.sum() < 3 or len(along_m) < 3:
        return []
    axes = (np.interp(along_m, passage.distance_m[known], axis[known]) for axis in (passage.east_m, passage.north_m))
    here, there, beyond_m = passes_of_one_road(
        np.column_stack(list(axes)), along_m, near_m=settings.near_m, apart_m=settings.apart_m
    )
    change_m = height_m[there] - height_m[here] - grade_pct[here] / 100 * beyond_m
    here_s, there_s = passed_s[chosen][here], passed_s[chosen][there]
    # a position that is off by 2 m along the road, and what the quick error leaves
    floor_m = np.hypot(0.05, 0.02 * np.abs(grade_pct[here]))
    block = np.floor(here_s / settings.memory_s)
    middle = [inside[len(inside) // 2] for inside in (np.flatnonzero(block == each) for each in np.unique(block))]
    return [_Look(float(abs(there_s[k] - here_s[k])), float(change_m[k]), float(floor_m[k])) for k in middle]


def _slow_error(looks: list[_Look], expected_m: float, memory_s: float) -> tuple[float, float]:
    """Standard deviation of the slow error and its degrees of freedom, from looks at it and from what is expected.

    Posterior on a logarithmic grid; the expectation is a scaled inverse chi-squared distribution of `PRIOR_DOF`. A
    variance known with ν degrees of freedom has a logarithm of the variance 2/ν, nearly, which gives ν back.
    """
    log_s2 = np.linspace(2 * math.log(0.02), 2 * math.log(30.0), 400)
    s2 = np.exp(log_s2)
    log_p = -PRIOR_DOF / 2 * (log_s2 + expected_m**2 / s2)
    for look in looks:
        variance = s2 * 2 * -math.expm1(-look.apart_s / memory_s) + look.floor_m**2
        log_p -= 0.5 * (np.log(variance) + look.change_m**2 / variance)
    weight = np.exp(log_p - log_p.max())
    weight /= weight.sum()
    mean = float((weight * log_s2).sum())
    spread = float((weight * (log_s2 - mean) ** 2).sum())
    dof = max(2 / spread, 1.0)
    return math.exp((mean - 1 / dof) / 2), dof  # E ln s² = ln σ² + 1/ν for an inverse chi-squared variable
