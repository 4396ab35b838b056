"""What coasting tells of drag: CdA, and rolling and motor drag together, with their intervals."""

import math
from collections.abc import Collection, Sequence
from dataclasses import replace

import numpy as np
import pandas as pd

from ridelog.analysis.coastdown.coasting import DEFAULT_SETTINGS as COASTING_DEFAULTS
from ridelog.analysis.coastdown.coasting import CoastingSettings, CoastingSignals, coasting_runs
from ridelog.analysis.coastdown.findings import HowSeen, coast_findings, less_sure_than_usual, nothing_fitted
from ridelog.analysis.coastdown.fit import N_WAVES, Fit, Priors, Stretch, fit_coasts
from ridelog.analysis.coastdown.roads import Place, roads_of, shared_sines
from ridelog.analysis.road.drag import can_regenerate
from ridelog.analysis.road.height_noise import HeightNoise
from ridelog.analysis.road.load_uncertainty import (
    DEFAULT_SPEED_LIMIT_RATIO,
    SPEED_LIMIT_RATIOS,
    road_limits,
    road_trials,
)
from ridelog.analysis.scene import Scene, grade_over_pct, scene_of
from ridelog.answer.coastdown import CoastDown, CoastedRide, CoastStretch, Measured
from ridelog.arrays import Floats, Runs
from ridelog.constants import NOMINAL_PACK_V, STANDARD_GRAVITY
from ridelog.findings import gravest_first
from ridelog.lazy import dataclass
from ridelog.recording import Ride
from ridelog.settings.bike import Bike
from ridelog.uncertain.coverage import coverage_interval
from ridelog.uncertain.seeds import stream

MEASURED_HERE = ("cda_m2", "cda_limit_m2", "crr", "crr_limit")  # so nothing needs to be assumed of them
SHARPER = 0.5  # kernel of the fit's grade over that which shows braking


@dataclass(frozen=True)
class CoastDownSettings:
    """What the fit holds of what it cannot see.

    Attributes
    ----------
    most_stretches : the longest of them are fitted; more would cost time and tell little
    bin_s : faster logs are averaged over this [s]
    level_grade_u : standard uncertainty of the grade of a road whose height is not logged; a road that looks level is
        within ± 0.5 % (rectangular; judgement), and its waves are half as large [1]
    gust_share, least_gust_mps : a stretch's own wind beside the ride's: this share of the latter's standard
        uncertainty, at least this much (judgement) [1], [m/s]
    drag_limit_ratio : half-width of a motor drag that the bike file states [1]
    rough_ratio, rough_mps : a stretch that scatters this many times as much as the others, and more than this, was
        not coasted (a touch of the brake, a turn of the pedals) and is left out [1], [m/s]
    vague_cda_m2 : a standard uncertainty above this is three times what bikes differ by: nothing was measured [m²]
    """

    most_stretches: int = 60
    bin_s: float = 1.0
    level_grade_u: float = 0.0029
    gust_share: float = 0.3
    least_gust_mps: float = 0.2
    drag_limit_ratio: float = 0.3
    rough_ratio: float = 2.5
    rough_mps: float = 0.15
    vague_cda_m2: float = 0.5


DEFAULT_SETTINGS = CoastDownSettings()


@dataclass(frozen=True)
class CoastScene:
    """The scene of a ride as coasting shows in it.

    Attributes
    ----------
    signals : what tells coasting
    grade_pct : less smoothed than the scene's own, shape (n,): the fit knows what noise of the height does, and a
        kernel rounds off the brow of a hill just where coasting often begins [%]
    whole : the scene of the ride
    """

    signals: CoastingSignals
    grade_pct: Floats
    whole: Scene

    @property
    def distance_m(self) -> Floats:
        """Distance along the ride, shape (n,) [m]."""
        return self.whole.track.distance_m

    @property
    def noise(self) -> HeightNoise | None:
        """Of the heights; ``None`` without any."""
        return self.whole.heights.noise if self.whole.heights is not None else None


@dataclass(frozen=True)
class Coasts:
    """The stretches of a ride that were coasted, where they lie, and the fit to those kept."""

    scene: CoastScene
    runs: Runs
    places: Sequence[Place] = ()
    fit: Fit | None = None
    kept: Sequence[int] = ()


def coastdown(
    ride: Ride,
    *,
    coasting: CoastingSettings = COASTING_DEFAULTS,
    settings: CoastDownSettings = DEFAULT_SETTINGS,
    only: Collection[int] | None = None,
) -> CoastDown:
    """Find the stretches of a ride that were coasted and fit CdA and constant drag to them.

    Parameters
    ----------
    ride : from `ridelog.load_ride`
    coasting, settings : thresholds
    only : numbers of the stretches to fit, in riding order from 0; the longest that fit together where ``None``

    Returns
    -------
    answer : its numbers are ``None`` where the ride does not hold enough, and a finding says what it holds

    Notes
    -----
    Crr and a constant drag of the motor slow the bike alike, and no coast-down tells them apart; their sum A is what is
    measured. Where the bike file states one of them, or the motor freewheels, the other follows. A part of the motor's
    drag that grows with speed (eddy currents) is shared out between A and CdA.
    """
    coasts = coasts_fitted(ride, coasting=coasting, settings=settings, only=only)
    scene, runs, fit = coasts.scene, coasts.runs, coasts.fit
    seen = HowSeen(motor=scene.signals.motor_seen, pedals=scene.signals.pedals_seen, height=scene.noise is not None)
    if not runs:
        found = nothing_fitted((), seen, speed_known=bool(np.isfinite(scene.signals.speed_mps).any()))
        return CoastDown(CoastedRide(ride.name), findings=gravest_first(found))
    stretches = _records(scene, runs, coasts.places, coasts.kept, fit)
    answer = CoastDown(CoastedRide(ride.name), stretches=stretches)
    if fit is not None:
        answer = _with_numbers(answer, fit, scene, ride.bike, settings)
    if answer.cda_m2 is None:
        found = nothing_fitted(stretches, seen, speed_known=True)
        unused = tuple(replace(one, used=False) for one in stretches)
        return CoastDown(CoastedRide(ride.name), stretches=unused, findings=gravest_first(found))
    assumed = {key: value for key, value in scene.whole.assumed.items() if key not in MEASURED_HERE}
    found = coast_findings(answer, seen, assumed)
    return replace(answer, findings=gravest_first(found))


def coasts_fitted(
    ride: Ride,
    *,
    coasting: CoastingSettings = COASTING_DEFAULTS,
    settings: CoastDownSettings = DEFAULT_SETTINGS,
    only: Collection[int] | None = None,
) -> Coasts:
    """Find the stretches of a ride that were coasted, and fit to them.

    Parameters
    ----------
    ride, coasting, settings, only : as of `coastdown`

    Returns
    -------
    coasts : without a fit where nothing was coasted, or what was says nothing
    """
    scene = _coast_scene(scene_of(ride), ride.bike)
    runs = coasting_runs(scene.signals, scene.whole.gap_mask, settings=coasting) if len(scene.whole.gap_mask) else []
    needed = [scene.distance_m] if scene.noise is None else [scene.distance_m, scene.grade_pct]
    runs = [run for run in runs if all(np.isfinite(part[run[0] : run[1] + 1]).all() for part in needed)]
    if not runs:
        return Coasts(scene, runs)
    axes = scene.whole.plane
    places = roads_of(runs, scene.distance_m, None if axes is None else (axes.east_m, axes.north_m))
    lasts = [scene.signals.time_s[last] - scene.signals.time_s[first] for first, last in runs]
    chosen = sorted(sorted(range(len(runs)), key=lambda number: -lasts[number])[: settings.most_stretches])
    if only is not None:
        chosen = [number for number in range(len(runs)) if number in only]
    if not chosen:
        return Coasts(scene, runs, places)
    fit, kept = _fitted(ride, scene, (runs, places), chosen, settings, sift=only is None)
    return Coasts(scene, runs, places, fit, kept)


def _shown(series: pd.DataFrame, name: str) -> Floats | None:
    """A column of the series, ``None`` where it holds nothing."""
    return series[name].to_numpy(dtype=float) if name in series and series[name].notna().any() else None


def coasts_of(scene: Scene, bike: Bike) -> Runs:
    """First and last sample of each stretch that a ride coasted, where its log shows what the motor did.

    Parameters
    ----------
    scene : of the ride
    bike : its bike file

    Returns
    -------
    In the order ridden.
    """
    seen = _coast_scene(scene, bike)
    if not seen.signals.motor_seen or not len(scene.gap_mask):
        return []
    runs = coasting_runs(seen.signals, scene.gap_mask)
    return [run for run in runs if np.isfinite(seen.grade_pct[run[0] : run[1] + 1]).all()]


def _coast_scene(scene: Scene, bike: Bike) -> CoastScene:
    series = scene.series
    current = _shown(series, "current_a")
    power = _shown(series, "power_w")
    if current is None and power is not None:
        current = power / NOMINAL_PACK_V
    # a log that clips at zero shows a motor that drives, but no regen, nor therefore that nothing braked
    clipped = current is not None and not (current < 0).any() and (current == 0).sum() >= 3
    sharp = np.full(len(series), np.nan)
    if scene.heights is not None:
        sharp = grade_over_pct(scene.track, scene.heights, SHARPER * scene.heights.grade_over_m)
    others = ("cadence_rpm", "rider_power_w", "brake_ratio", "throttle_ratio")
    shown = {name: _shown(series, name) for name in others}
    standby_a = bike.sensor.standby_draw_a
    signals = CoastingSignals(
        scene.time_s, scene.motion.speed_mps, scene.motion.grade_pct, current, **shown, standby_a=standby_a,
        shows_braking=not clipped,
    )  # fmt: skip
    return CoastScene(signals, sharp, scene)


def _fitted(
    ride: Ride,
    scene: CoastScene,
    found: tuple[Runs, list[Place]],
    chosen: list[int],
    settings: CoastDownSettings,
    *,
    sift: bool = True,
) -> tuple[Fit | None, list[int]]:
    """The fit and the stretches in it; stretches that do not fit in with the others are left out, once."""
    kept = chosen
    fit = None
    for last in (False, True) if sift else (True,):
        stretches, passes = _stretches(scene, found[0], found[1], kept, settings.bin_s)
        priors = _priors(ride, scene, stretches, passes, settings)
        mass_ratio = scene.whole.load.mass_kg / scene.whole.load.effective_mass_kg
        try:
            fit = fit_coasts(stretches, priors, mass_ratio=mass_ratio)
        except np.linalg.LinAlgError:
            return None, []
        limit_mps = max(settings.rough_mps, settings.rough_ratio * float(np.median(fit.rms_mps)))
        good = [number for number, rms in zip(kept, fit.rms_mps, strict=True) if rms <= limit_mps]
        if last or len(good) == len(kept) or not good:
            break
        kept = good
    return fit, kept


def _stretches(
    scene: CoastScene, runs: Runs, places: list[Place], kept: list[int], bin_s: float
) -> tuple[list[Stretch], Floats]:
    """The chosen stretches, averaged to ``bin_s``, on roads counted anew; and how often each road was ridden."""
    numbers = {road: index for index, road in enumerate(dict.fromkeys(places[number].road for number in kept))}
    chosen = [replace(places[number], road=numbers[places[number].road]) for number in kept]
    insides = [slice(runs[number][0], runs[number][1] + 1) for number in kept]
    grades = [np.nan_to_num(scene.grade_pct[inside]) for inside in insides]
    sines, passes = shared_sines(chosen, [np.sin(np.arctan(grade / 100)) for grade in grades])
    headings = scene.whole.motion.heading_rad
    result = []
    for place, inside, sine in zip(chosen, insides, sines, strict=True):
        time_s, speed = scene.signals.time_s[inside], scene.signals.speed_mps[inside]
        ways = [] if headings is None else [np.unwrap(headings[inside])]
        columns = _binned(time_s, [time_s, speed, sine, place.along_m, *ways], bin_s)
        heading = columns[4] if ways else None
        result.append(Stretch(columns[0], columns[1], columns[2], heading, columns[3], place.road, place.way))
    return result, passes


def _binned(time_s: Floats, columns: list[Floats], bin_s: float) -> list[Floats]:
    """Means over whole numbers of samples that last about ``bin_s``; as they are where samples are further apart."""
    size = max(round(bin_s / float(np.median(np.diff(time_s)))), 1)
    whole = len(time_s) // size * size
    return [column[:whole].reshape(-1, size).mean(axis=1) for column in columns]


def _priors(
    ride: Ride, scene: CoastScene, stretches: list[Stretch], passes: Floats, settings: CoastDownSettings
) -> Priors:
    wind_u = road_limits(ride.bike)["road.wind_mps"] / math.sqrt(3)
    speed_limit = SPEED_LIMIT_RATIOS.get(ride.speed_source or "", DEFAULT_SPEED_LIMIT_RATIO)
    gust = max(settings.gust_share * wind_u, settings.least_gust_mps)
    grade_u, alike = np.empty((len(passes), N_WAVES)), np.ones((len(passes), N_WAVES))
    for road, times in enumerate(passes):
        members = [stretch for stretch in stretches if stretch.road == road]
        places = np.concatenate([stretch.along_m for stretch in members])
        pace = float(np.mean(np.concatenate([stretch.speed_mps for stretch in members])))
        length_m = max(float(np.ptp(places)), 10.0)
        if scene.noise is None:
            grade_u[road] = settings.level_grade_u * math.sqrt(length_m) * np.array([1.0, *[0.5] * (N_WAVES - 1)])
            continue
        ends_s = np.array([[stretch.time_s[0], stretch.time_s[-1]] for stretch in members])
        rounding_m = SHARPER * float(np.sqrt(np.mean(scene.noise.rounding_at_m(ends_s) ** 2)))
        grade_u[road], alike[road] = _grade_u(scene.noise, length_m, pace, float(times), rounding_m)
    return Priors(
        wind_mps=math.hypot(wind_u, scene.whole.load.wind_mps / math.sqrt(2)),  # from wherever it blows
        head_mps=scene.whole.load.wind_mps,
        head_u_mps=wind_u,
        gust_mps=gust if scene.whole.plane is not None else max(wind_u, gust),
        speed_ratio=speed_limit / math.sqrt(3),
        height_ratio=scene.noise.scale_ratio / math.sqrt(3) if scene.noise is not None else 0.0,
        grade_u=grade_u,
        grade_alike=alike,
    )


def _grade_u(
    noise: HeightNoise, length_m: float, pace_mps: float, passes: float, rounding_m: float
) -> tuple[Floats, Floats]:
    """Standard uncertainties of the waves of a road's grade [√m], and the part of their variance that is the road's.

    The slow error of the height is a random walk over short times, whose slope is white along the road. The quick error
    is alike over the kernel's width, and its slope grows with the number of the wave. Where the road bends at the ends
    of a stretch, smoothing has moved the height there by up to ``rounding_m``, on every pass alike.
    """
    number = np.arange(N_WAVES)
    walk = noise.slow_m**2 / noise.memory_s * noise.dof / max(noise.dof - 2, 1.0)  # Student's variance
    kernel_m = 2 * math.sqrt(math.pi) * noise.smoothing_m
    waves = np.where(number > 0, kernel_m * (math.pi * number / length_m) ** 2, 2 / length_m)
    noisy = (2 * walk / max(pace_mps, 1.0) + noise.fast_m**2 / SHARPER * waves) / passes
    rounded = rounding_m**2 * waves
    return np.asarray(np.sqrt(noisy + rounded)), np.asarray(rounded / (noisy + rounded))


def _records(
    scene: CoastScene, runs: Runs, places: Sequence[Place], kept: Sequence[int], fit: Fit | None
) -> tuple[CoastStretch, ...]:
    headings = scene.whole.motion.heading_rad
    off = dict(zip(kept, fit.rms_mps.tolist(), strict=True)) if fit is not None else {}
    result = []
    for number, (first, last) in enumerate(runs):
        grade = scene.signals.grade_pct[first : last + 1]
        middle = (first + last) // 2
        result.append(
            CoastStretch(
                start_s=float(scene.signals.time_s[first]),
                end_s=float(scene.signals.time_s[last]),
                start_speed_mps=float(scene.signals.speed_mps[first]),
                end_speed_mps=float(scene.signals.speed_mps[last]),
                length_m=float(scene.distance_m[last] - scene.distance_m[first]),
                mean_grade_pct=float(np.nanmean(grade)) if np.isfinite(grade).any() else None,
                heading_deg=None if headings is None else float(np.degrees(headings[middle]) % 360),
                road=places[number].road,
                way=places[number].way,
                used=number in off,
                off_mps=off.get(number),
            )
        )
    return tuple(result)


def _with_numbers(
    answer: CoastDown, fit: Fit, scene: CoastScene, bike: Bike, settings: CoastDownSettings, *, n_trials: int = 20_000
) -> CoastDown:
    """The fit's figures in newtons and square metres, by trials of mass, air density and of themselves."""
    load = scene.whole.load
    rng = stream("coast-down")
    road = road_trials(load, bike, n_trials=n_trials, seed="coast-down road")
    drag, area = _pair_trials(fit, rng, n_trials)
    whole_kg = road.mass_kg + road.rotating_kg
    constant_n, cda_m2 = drag * whole_kg, 2 * area * whole_kg / road.density
    weight_n = road.mass_kg * STANDARD_GRAVITY
    best_n, best_weight_n = fit.drag * load.effective_mass_kg, load.mass_kg * STANDARD_GRAVITY
    cda = _measured(2 * fit.drag_area * load.effective_mass_kg / load.density, cda_m2)
    crr_with_drag = _measured(best_n / best_weight_n, constant_n / weight_n)
    pushed = best_n <= 0  # no drag does that: the road fell more than is known of it
    if pushed or cda.u > settings.vague_cda_m2 or _absurd(cda, 0.1, 1.5) or _absurd(crr_with_drag, 0.001, 0.04):
        return answer
    answer = replace(
        answer,
        cda_m2=cda,
        constant_n=_measured(best_n, constant_n),
        crr_with_drag=crr_with_drag,
        correlation=float(np.corrcoef(constant_n, cda_m2)[0, 1]),
        speed_noise_mps=fit.noise_mps,
    )
    answer = replace(answer, settled=not less_sure_than_usual(answer))
    known_n = _known_drag_n(bike)
    if known_n is not None:
        off = 1 + settings.drag_limit_ratio * rng.uniform(-1, 1, n_trials)
        crr = _measured((best_n - known_n) / best_weight_n, (constant_n - known_n * off) / weight_n)
        return replace(answer, crr=crr, drag_known_n=known_n)
    if bike.road.crr is not None:
        left_n = _measured(best_n - bike.road.crr * best_weight_n, constant_n - road.crr * weight_n)
        return replace(answer, motor_drag_n=left_n)
    return answer


def _pair_trials(fit: Fit, rng: np.random.Generator, n_trials: int) -> tuple[Floats, Floats]:
    """Trials of a and b, whose sizes differ by far too much for general routines."""
    u_drag, u_area = np.sqrt(np.diag(fit.covariance)).tolist()
    r = float(np.clip(fit.covariance[0, 1] / (u_drag * u_area), -1.0, 1.0))
    first, second = rng.standard_normal((2, n_trials))
    return fit.drag + u_drag * first, fit.drag_area + u_area * (r * first + math.sqrt(1 - r * r) * second)


def _known_drag_n(bike: Bike) -> float | None:
    """The motor's drag where it is known: stated, or none as the motor freewheels [N]."""
    if bike.road.motor_drag_n is not None:
        return bike.road.motor_drag_n
    return 0.0 if can_regenerate(bike.motor.kind) is False else None


def _absurd(measured: Measured, least: float, most: float) -> bool:
    """The whole interval lies where no bicycle does: something else acted (a brake, pedals, a gale)."""
    low, high = measured.quantity.low95, measured.quantity.high95
    return (high is not None and high < least) or (low is not None and low > most)


def _measured(value: float, trials: Floats) -> Measured:
    """A drag with its interval, which ends at 0: nothing drags less than nothing."""
    low, high = coverage_interval(trials)
    least = 0.0 if value >= 0 else -math.inf  # a best value below 0 says that nothing was measured; it stays visible
    return Measured(value, max(min(low, value), least), max(high, value), float(trials.std(ddof=1)))
