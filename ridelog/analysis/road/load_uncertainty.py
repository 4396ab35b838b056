"""How sure it is what braking had available: mass, air, rolling, wind, speed and height, and what they share.

The energy that a run of braking offered is a sum of products of what is the same for the whole ride (mass, CdA, Crr,
air density, wind, errors of speed and height scale) and of integrals over the run. The integrals are taken once; draws
of the common values (JCGM 101:2008) then give every run by one product of matrices, and keep what the runs share: a
mass that is too large makes all of them too large.
"""

import math
from collections.abc import Collection
from dataclasses import dataclass

import numpy as np

from ridelog.analysis.road.height_uncertainty import HeightNoise
from ridelog.analysis.road.load import DEFAULTS, STANDARD_GRAVITY, RoadLoad, air_density
from ridelog.analysis.road.motion import Motion
from ridelog.arrays import Floats, Runs
from ridelog.settings.bike import Bike
from ridelog.uncertain.monte_carlo import coverage_interval
from ridelog.uncertain.quantity import Quantity

N_DRAWS = 4000
SEED = 20_301  # no other draws of ridelog may repeat these

# Half-widths where the bike file gives a value without its limit. Mass: what clothes, water and a shopping bag add
# between weighing and riding. CdA, Crr: a value taken from a table or another ride fits this rider and this road no
# better; roughness alone moves rolling by a third (Turner 2024, arXiv 2405.00019, says more than rolling itself).
# Weather: a station's values some kilometres and an hour away; wind at a rider's height is gusty and sheltered.
GIVEN_LIMIT_RATIOS = {"bike.total_mass_kg": 0.03, "bike.rotating_mass_kg": 0.3, "road.cda_m2": 0.25, "road.crr": 0.40}
GIVEN_LIMITS = {"road.air_temperature_c": 3.0, "road.air_pressure_hpa": 5.0, "road.wind_mps": 1.5}
OWN_LIMITS = {"bike.total_mass_kg": "total_mass_limit_kg", "road.cda_m2": "cda_limit_m2", "road.crr": "crr_limit"}

# Half-width of the speed's scale error by source: 1 to 2 % for a rolling circumference, which load, tyre pressure and
# wear change; satellites measure speed without a scale.
SPEED_LIMIT_RATIOS = {"wheel": 0.015, "device": 0.015, "positions": 0.003}
DEFAULT_SPEED_LIMIT_RATIO = 0.015

# The errors that can act, for budgets that let one act at a time.
ERRORS = ("mass", "rolling", "air drag", "air density", "wind", "speed", "height", "bounds")


def road_limits(bike: Bike) -> dict[str, float]:
    """Half-widths of the rectangular distributions of what the road load is made of, by key of `DEFAULTS`.

    The bike file's limit where it gives the value and its limit; a stated fraction where it gives the value alone
    (`GIVEN_LIMIT_RATIOS`, `GIVEN_LIMITS`); that of `DEFAULTS` where it gives no value.
    """
    limits = {}
    for key, (_, default_limit) in DEFAULTS.items():
        section, name = key.split(".")
        value = getattr(getattr(bike, section), name)
        own = getattr(getattr(bike, section), OWN_LIMITS[key]) if key in OWN_LIMITS else None
        if value is None:
            limits[key] = default_limit
        elif own is not None:
            limits[key] = float(own)
        else:
            limits[key] = GIVEN_LIMITS[key] if key in GIVEN_LIMITS else GIVEN_LIMIT_RATIOS[key] * abs(float(value))
    return limits


@dataclass(frozen=True)
class RoadDraws:
    """Draws of what is the same for the whole ride, each shape (n_draws,), about the road load ``load``.

    ``speed_ratio`` : its true scale over the recorded one · ``along_mps``, ``across_mps`` : the error of the wind along
    north and east, or along and across the way where no heading is known; each within the limit of the head wind
    """

    load: RoadLoad
    mass_kg: Floats
    rotating_kg: Floats
    cda_m2: Floats
    crr: Floats
    density: Floats
    north_mps: Floats
    east_mps: Floats
    speed_ratio: Floats
    seed: int

    @property
    def n(self) -> int:
        """How many draws."""
        return len(self.mass_kg)


def road_draws(
    load: RoadLoad, bike: Bike, *, speed_source: str | None = None, n_draws: int = N_DRAWS, seed: int = SEED
) -> RoadDraws:
    """Draw mass, CdA, Crr, air density, wind and the scale of the speed, independent of each other.

    Parameters
    ----------
    load : the road load with its best values
    bike : the bike file, for the limits
    speed_source : what the speed comes from, a key of `SPEED_LIMIT_RATIOS`; as from a wheel where ``None``
    n_draws, seed : how many, and which
    """
    limits = road_limits(bike)
    rng = np.random.default_rng(seed)

    def about(value: float, limit: float, least: float = -math.inf) -> Floats:
        return np.maximum(value + limit * rng.uniform(-1, 1, n_draws), least)

    mass_kg = about(load.mass_kg, limits["bike.total_mass_kg"], 1.0)
    rotating_kg = about(load.effective_mass_kg - load.mass_kg, limits["bike.rotating_mass_kg"], 0.0)
    cda_m2 = about(load.cda_m2, limits["road.cda_m2"], 0.0)
    crr = about(load.crr, limits["road.crr"], 0.0)
    temperature_c, pressure_hpa = 15.0, load.density / air_density(15.0, 1.0)  # any pair of that density serves
    warmth = about(temperature_c, limits["road.air_temperature_c"])
    pressure = about(pressure_hpa, limits["road.air_pressure_hpa"])
    density = 100 * pressure / (100 * pressure_hpa) * load.density * (temperature_c + 273.15) / (warmth + 273.15)
    north_mps, east_mps = about(0.0, limits["road.wind_mps"]), about(0.0, limits["road.wind_mps"])
    speed_ratio = about(1.0, SPEED_LIMIT_RATIOS.get(speed_source or "", DEFAULT_SPEED_LIMIT_RATIO))
    return RoadDraws(load, mass_kg, rotating_kg, cda_m2, crr, density, north_mps, east_mps, speed_ratio, seed)


@dataclass(frozen=True)
class Course:
    """How the bike moved, and how sure that is.

    Attributes
    ----------
    motion : arrays of shape (n,)
    noise : of the heights
    heading_rad : the way that the bike goes, clockwise from north, shape (n,); ``None`` where it is not known: the wind
        then blows along the way all the time [rad]
    clock_u_s : standard uncertainty of the height's clock against the motion's [s]
    speed_u_mps : standard uncertainty of a single speed; by `speed_noise_mps` where ``None`` [m/s]
    """

    motion: Motion
    noise: HeightNoise
    heading_rad: Floats | None = None
    clock_u_s: float = 0.0
    speed_u_mps: float | None = None


def heading_rad(east_m: Floats, north_m: Floats, *, least_m: float = 10.0) -> Floats:
    """The way that the bike goes, clockwise from north, from positions that lie at least ``least_m`` apart.

    Parameters
    ----------
    east_m, north_m : positions on a plane, shape (n,), NaN where not known [m]
    least_m : closer positions show their own errors [m]

    Returns
    -------
    Shape (n,); held where the bike stands; all 0 where it never moves [rad]
    """
    known = np.flatnonzero(np.isfinite(east_m) & np.isfinite(north_m))
    result = np.zeros(len(east_m))
    if len(known) < 2:
        return result
    kept = [int(known[0])]
    for index in known[1:]:
        if math.hypot(east_m[index] - east_m[kept[-1]], north_m[index] - north_m[kept[-1]]) >= least_m:
            kept.append(int(index))
    if len(kept) < 2:
        return result
    legs = np.arctan2(np.diff(east_m[kept]), np.diff(north_m[kept]))
    result[:] = legs[np.clip(np.searchsorted(kept, np.arange(len(east_m)), side="right") - 1, 0, len(legs) - 1)]
    return result


def speed_noise_mps(speed_mps: Floats) -> float:
    """Standard uncertainty of a single speed, from its second differences (median, so that braking does not count).

    White noise σ gives second differences of the standard deviation σ √6. Where most of them are 0 the last digit
    hides the noise; the smallest step of the speed over √12 is then the answer.
    """
    bends = np.abs(np.diff(speed_mps, 2))
    moving = np.isfinite(bends) & (speed_mps[1:-1] > 0.5)
    if moving.sum() < 10:
        return 0.0
    steps = np.abs(np.diff(speed_mps))
    steps = steps[np.isfinite(steps) & (steps > 1e-6)]
    digit = float(np.quantile(steps, 0.01)) if len(steps) else 0.0
    return max(1.4826 * float(np.median(bends[moving])) / math.sqrt(6), digit / math.sqrt(12))


def available_draws(course: Course, runs: Runs, road: RoadDraws, *, acting: Collection[str] = ERRORS) -> Floats:
    """Draws of what each run of braking had available, kinetic and potential energy less air and rolling.

    Parameters
    ----------
    course : how the bike moved
    runs : first and last sample of each run
    road : draws of what is common to the ride
    acting : errors that act (`ERRORS`); the others stand at their best values

    Returns
    -------
    Shape (n_runs, n_draws) [Wh]; NaN in the rows of runs whose ends have no height or no speed. Rows belong together:
    draws of a sum are the sum of the draws. They may lie below 0, where nothing can be available: cut off one by one,
    their errors would add up instead of averaging out.

    Notes
    -----
    The side on which the air presses is that of the best wind. A tail wind error w that turns it round while the
    bike rolls slower than w is so mistaken by at most 0.3 ρ CdA w³/2, 3 W at 3 m/s.
    """
    unknown = sorted(set(acting) - set(ERRORS))
    if unknown:
        raise ValueError(f"no such error: {', '.join(unknown)}")
    if not runs:
        return np.empty((0, road.n))
    by_run, by_draw = _common_terms(course, runs, road, acting)
    moved, raised = _own_parts(course, runs, road, acting)
    joules: Floats = by_run @ by_draw + moved + raised
    return joules / 3600


PARTS = ("kinetic", "potential", "rolling", "air")


def part_draws(course: Course, runs: Runs, road: RoadDraws) -> dict[str, Floats]:
    """Draws of what each run gained of kinetic and potential energy and lost to rolling and air, by `PARTS`.

    By the same draws as `available_draws`, whose opposite their sum is; what the bounds may add counts as kinetic. Each
    of shape (n_runs, n_draws) [Wh], ``runs`` not empty.
    """
    by_run, by_draw = _common_terms(course, runs, road, ERRORS)
    own = (*_own_parts(course, runs, road, ERRORS), np.zeros(1), np.zeros(1))
    terms = (slice(0, 1), slice(1, 2), slice(2, 3), slice(3, None))
    return {
        name: -(by_run[:, term] @ by_draw[term] + more) / 3600
        for name, term, more in zip(PARTS, terms, own, strict=True)
    }


def _acting(road: RoadDraws, acting: Collection[str]) -> RoadDraws:
    """The draws with what does not act at its best value."""
    load, still = road.load, np.zeros(road.n)

    def either(name: str, draws: Floats, value: float) -> Floats:
        return draws if name in acting else still + value

    return RoadDraws(
        load,
        either("mass", road.mass_kg, load.mass_kg),
        either("mass", road.rotating_kg, load.effective_mass_kg - load.mass_kg),
        either("air drag", road.cda_m2, load.cda_m2),
        either("rolling", road.crr, load.crr),
        either("air density", road.density, load.density),
        either("wind", road.north_mps, 0.0),
        either("wind", road.east_mps, 0.0),
        either("speed", road.speed_ratio, 1.0),
        road.seed,
    )


def _common_terms(course: Course, runs: Runs, road: RoadDraws, acting: Collection[str]) -> tuple[Floats, Floats]:
    """What the runs offered by the common draws as factors of shapes (n_runs, 13) and (13, n_draws) [J].

    The first is kinetic, the second potential energy, the third rolling, all others air.

    Air takes ½ρ CdA ∫ (v + w)² v dt with the head wind w = w0 + n·cos h + e·sin h; multiplied out, each term is an
    integral over the run times draws.
    """
    motion, load = course.motion, road.load
    draws = _acting(road, acting)
    first, last = np.array(runs).T
    v = motion.speed_mps
    side = np.sign(v + load.wind_mps)
    heading = course.heading_rad
    c, s = (np.cos(heading), np.sin(heading)) if heading is not None else (np.ones_like(v), np.zeros_like(v))

    def over(values: Floats) -> Floats:
        return _over_runs(motion.time_s, values, first, last)

    w0, scale = load.wind_mps, draws.speed_ratio
    north, east = draws.north_mps, draws.east_mps
    air = -0.5 * draws.density * draws.cda_m2 * scale
    gravity = draws.mass_kg * STANDARD_GRAVITY
    level = np.cos(np.arctan(np.nan_to_num(motion.grade_pct) / 100))
    by_run = [
        (v[first] ** 2 - v[last] ** 2) / 2,
        motion.height_m[first] - motion.height_m[last],
        over(v * level),
        over(side * v**3),
        over(side * 2 * w0 * v**2),
        over(side * w0**2 * v),
        *(over(side * 2 * v**2 * part) for part in (c, s)),
        *(over(side * 2 * w0 * v * part) for part in (c, s)),
        *(over(side * v * part) for part in (c * c, 2 * c * s, s * s)),
    ]
    by_draw = [
        (draws.mass_kg + draws.rotating_kg) * scale**2,
        gravity,
        -draws.crr * gravity * scale,
        air * scale**2,
        air * scale,
        air,
        *(air * scale * part for part in (north, east)),
        *(air * part for part in (north, east)),
        *(air * part for part in (north**2, north * east, east**2)),
    ]
    return np.stack(by_run, axis=1), np.stack(by_draw)


def _over_runs(time_s: Floats, values: Floats, first: Floats, last: Floats) -> Floats:
    """Integrals over the runs by trapezoids; as in `braking.offered`, what is not known adds nothing."""
    known = np.nan_to_num(values)
    running = np.concatenate(([0.0], np.cumsum((known[1:] + known[:-1]) / 2 * np.diff(time_s))))
    return np.asarray(running[last] - running[first])


def _own_parts(course: Course, runs: Runs, road: RoadDraws, acting: Collection[str]) -> tuple[Floats, Floats]:
    """What single speeds and the bounds of the runs, and what single heights add, each (n_runs, n_draws) [J]."""
    motion, load = course.motion, road.load
    rng = np.random.default_rng([road.seed, len(runs), road.n])
    first, last = np.array(runs).T
    potential = np.zeros((len(runs), road.n))
    if "height" in acting:
        potential += load.mass_kg * STANDARD_GRAVITY * _height_draws(course, first, last, rng, road.n)
    own = np.zeros(len(runs))
    if "speed" in acting:
        u_mps = course.speed_u_mps if course.speed_u_mps is not None else speed_noise_mps(motion.speed_mps)
        own += (load.effective_mass_kg * u_mps) ** 2 * (motion.speed_mps[first] ** 2 + motion.speed_mps[last] ** 2)
    if "bounds" in acting:
        own += _bounds_u_j(course, first, last, load) ** 2
    return np.sqrt(own)[:, None] * rng.standard_normal(potential.shape), potential


def _height_draws(course: Course, first: Floats, last: Floats, rng: np.random.Generator, n: int) -> Floats:
    """Draws of the error of each run's drop, shape (n_runs, n_draws) [m]; the slow error walks from run to run."""
    noise, motion = course.noise, course.motion
    start_s, end_s = motion.time_s[first], motion.time_s[last]
    times_s, place = np.unique(np.concatenate((start_s, end_s)), return_inverse=True)
    keep = np.exp(-np.diff(times_s) / noise.memory_s)
    slow = rng.standard_normal((len(times_s), n))
    for k, share in enumerate(keep, start=1):
        slow[k] = share * slow[k - 1] + math.sqrt(1 - share**2) * slow[k]
    if math.isfinite(noise.dof):  # the size of the error is not known either: Student's t
        slow *= np.sqrt(noise.dof / rng.chisquare(noise.dof, n))
    drop = noise.slow_m * (slow[place[: len(first)]] - slow[place[len(first) :]])
    length_m = noise.where_m(end_s) - noise.where_m(start_s)
    quick_m = noise.fast_u_m(length_m)
    rounding_m = np.hypot(noise.rounding_at_m(start_s), noise.rounding_at_m(end_s))
    drop += np.hypot(quick_m, rounding_m)[:, None] * rng.standard_normal(drop.shape)
    height_m = motion.height_m[first] - motion.height_m[last]
    drop += height_m[:, None] * (noise.scale_ratio * rng.uniform(-1, 1, n))
    rate_mps = np.nan_to_num(motion.speed_mps * motion.grade_pct / 100)
    drop += (rate_mps[first] - rate_mps[last])[:, None] * (course.clock_u_s * rng.standard_normal(n))
    return drop


def _bounds_u_j(course: Course, first: Floats, last: Floats, load: RoadLoad) -> Floats:
    """What the true bounds of a run, anywhere in the steps at its ends, may add or take, shape (n_runs,) [J].

    A bound lies anywhere within one step (rectangular, half a step either way); there the brakes took what the energy
    changed by in the step inside.
    """
    motion = course.motion
    energy = load.effective_mass_kg * motion.speed_mps**2 / 2
    energy = energy + load.mass_kg * STANDARD_GRAVITY * np.nan_to_num(motion.height_m)
    change = np.abs(np.diff(energy))
    inside = np.maximum(last - 1, first)
    inside = np.minimum(inside, len(change) - 1)
    ends = change[np.minimum(first, len(change) - 1)] ** 2 + change[inside] ** 2
    return np.asarray(np.sqrt(np.nan_to_num(ends) / 12))


def available_q(value_wh: float, draws_wh: Floats) -> Quantity:
    """What was available with its 95 % interval; bounds ``None`` where a draw, shape (n_draws,), is not known."""
    if not np.isfinite(draws_wh).all():
        return Quantity(value_wh)
    low, high = coverage_interval(draws_wh)
    return Quantity(value_wh, max(low, 0.0), max(high, 0.0))


def captured_q(
    returned_wh: float, available_wh: float, returned_draws: Floats, available_draws: Floats, *, least_wh: float = 1e-3
) -> Quantity | None:
    """100 × returned / available with its interval, draw by draw; ``None`` where nothing was available.

    Parameters
    ----------
    returned_wh, available_wh : the best values
    returned_draws, available_draws : shape (n_draws,), draws of the same errors of the ride in the same order
    least_wh : draws with less available than this, 4 J, have no share; where more than 2.5 % have none, there is no
        upper bound [Wh]
    """
    if available_wh <= 0:
        return None
    value = 100 * returned_wh / available_wh
    if not np.isfinite(available_draws).all():
        return Quantity(value)
    some = available_draws > least_wh
    shares = 100 * returned_draws / np.where(some, available_draws, least_wh)
    low, high = coverage_interval(shares)
    return Quantity(value, low, high if np.mean(some) > 0.975 else None)
