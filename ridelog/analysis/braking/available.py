"""What braking had available at the wheel: loss of kinetic and potential energy less air and rolling, and how sure.

The energy that a run of braking had available is a sum of products of what is the same for the whole ride (mass, CdA,
Crr, air density, wind, errors of speed and height scale) and of integrals over the run. The integrals are taken once;
trials of the common values (JCGM 101:2008) then give every run by one product of matrices, and keep what the runs
share: a mass that is too large makes all of them too large.
"""

from collections.abc import Collection, Sequence
from weakref import WeakKeyDictionary

import numpy as np

from ridelog.analysis.braking.force import BrakingForce
from ridelog.analysis.braking.own_errors import ERRORS, own_parts, own_together
from ridelog.analysis.braking.way_sums import way_sums
from ridelog.analysis.road.height_noise import HeightNoise
from ridelog.analysis.road.load import RoadLoad
from ridelog.analysis.road.load_uncertainty import RoadTrials
from ridelog.analysis.road.motion import Motion
from ridelog.analysis.scene import Scene
from ridelog.arrays import Floats, Runs
from ridelog.constants import STANDARD_GRAVITY
from ridelog.uncertain.trials import UNKNOWN, Uncertain, combined, exact, total, unevaluated

SOURCES = frozenset(ERRORS)
OF_THE_ROAD = {"mass", "rolling", "air drag", "air density", "wind", "speed"}
PARTS = ("kinetic", "potential", "rolling", "air")
TERMS = (slice(0, 1), slice(1, 2), slice(2, 3), slice(3, None))  # of each part, see `_by_run`


def available_wh(force: BrakingForce, first: int, last: int, *, moved_wh: float = 0.0) -> float | None:
    """Loss of kinetic and potential energy less air and rolling loss, at least 0; ``None`` where not known [Wh].

    Parameters
    ----------
    force : what slowed the bike, with the energy that it held
    first, last : samples of a run
    moved_wh : what the ride itself told to add to it [Wh]

    Returns
    -------
    Energy at the wheel [Wh].
    """
    joules = force.state_j[first] - force.state_j[last]
    return max(0.0, float(joules) / 3600 + moved_wh) if force.tells_available and np.isfinite(joules) else None


def available_in(scene: Scene, runs: Runs) -> tuple[Uncertain, ...]:
    """What each run had available, unknown where its ends have no height; the errors that the runs share are kept [Wh].

    The trials may lie below 0, where nothing can be available: cut off one by one, their errors would add up in a sum
    instead of averaging out. At the border they are told as at least 0.
    """
    if scene.heights is None or not runs:
        return tuple(unevaluated(available_wh(scene.force, first, last)) for first, last in runs)
    moved_wh = np.sum(list(moved_parts_wh(scene, runs).values()), axis=0)
    values = [
        available_wh(scene.force, first, last, moved_wh=-float(moved))
        for (first, last), moved in zip(runs, moved_wh, strict=True)
    ]
    rows = available_trials(scene.motion, scene.heights.noise, runs, scene.road)
    return tuple(
        UNKNOWN if value is None else Uncertain(value, row, SOURCES) for value, row in zip(values, rows, strict=True)
    )


def together(scene: Scene, parts: Sequence[Uncertain]) -> Uncertain:
    """What all runs had available: the sum of what is known [Wh]."""
    known = [part for part in parts if part.known]
    if known:
        return total(known)
    seen = scene.force.tells_available and bool(np.isfinite(scene.force.state_j).any())
    return exact(0.0) if seen and not parts else UNKNOWN


def gained(scene: Scene, runs: Runs) -> list[dict[str, Uncertain]]:
    """Where the energy of each run went at the wheel.

    Parameters
    ----------
    scene : with heights
    runs : first and last sample of each, both with height and speed

    Returns
    -------
    Of each run, kinetic and potential energy gained, and what rolling and air took, by `PARTS` [Wh].

    Raises
    ------
    ValueError : a scene without heights
    """
    if scene.heights is None:
        raise ValueError("without heights nothing is known of the energy at the wheel")
    if not runs:
        return []
    rows = part_trials(scene.motion, scene.heights.noise, runs, scene.road)
    best, moved = part_values_wh(scene, runs), moved_parts_wh(scene, runs)
    values = {name: (best[name] + moved[name]).tolist() for name in PARTS}
    return [{name: Uncertain(values[name][k], rows[name][k], SOURCES) for name in PARTS} for k in range(len(runs))]


def offered_in(scene: Scene, runs: Runs) -> Uncertain:
    """What some runs had available together, none less than nothing by its best value; unknown where one's is [Wh]."""
    if not runs or scene.heights is None:
        return exact(0.0) if not runs else UNKNOWN
    more_wh = -np.sum(list(moved_parts_wh(scene, runs).values()), axis=0)
    values = [available_wh(scene.force, *run, moved_wh=wh) for run, wh in zip(runs, more_wh.tolist(), strict=True)]
    known = [value for value in values if value is not None]
    if len(known) < len(values):
        return UNKNOWN
    trials = available_trials(scene.motion, scene.heights.noise, runs, scene.road, together=True)
    return Uncertain(sum(known), trials[0], SOURCES)


def part_values_wh(scene: Scene, runs: Runs) -> dict[str, Floats]:
    """The best values of what each run gained at the wheel and lost to rolling and air, by `PARTS`, (n_runs,) [Wh]."""
    motion, load, (first, last) = scene.motion, scene.load, np.array(runs).T
    speed, height, wind = motion.speed_mps, motion.height_m, load.wind_mps
    swept = way_sums(motion, wind).over(runs)
    weight_n = load.mass_kg * STANDARD_GRAVITY
    joules = {
        "kinetic": load.effective_mass_kg * (speed[last] ** 2 - speed[first] ** 2) / 2,
        "potential": weight_n * (height[last] - height[first]),
        "rolling": load.crr * weight_n * swept.level,
        "air": load.density * load.cda_m2 / 2 * (swept.cube + 2 * wind * swept.square + wind**2 * swept.first),
    }
    return {part: np.asarray(value / 3600) for part, value in joules.items()}


def moved_parts_wh(scene: Scene, runs: Runs) -> dict[str, Floats]:
    """By how much what the ride told of its road moves the best values of what each run gained, by `PARTS` [Wh].

    From the means of mass, air, rolling and wind before to those after, so that a sum moves as its parts do. Shape
    (n_runs,) each.
    """
    if scene.road.moved is None:
        return {name: np.zeros(len(runs)) for name in PARTS}
    before, after = scene.road.moved
    by_run, moved = _by_run(scene.motion, runs, before.load), (_by_trial(after) - _by_trial(before))[:, 0]
    return {name: -np.nan_to_num(by_run[:, term] @ moved[term]) / 3600 for name, term in zip(PARTS, TERMS, strict=True)}


def common_terms_wh(motion: Motion, runs: Runs, road: RoadTrials) -> tuple[Floats, Floats]:
    """What each run had available by what is common to the ride alone: factors, and the trials that they count in.

    Parameters
    ----------
    motion : how the bike moved
    runs : first and last sample of each run, at least one
    road : trials of what is common to the ride

    Returns
    -------
    Shapes (n_runs, k) and (k, n_trials), to be `combined` [Wh].
    """
    return _by_run(motion, runs, road.load) / 3600, _by_trial(road)


def available_trials(
    motion: Motion,
    noise: HeightNoise,
    runs: Runs,
    road: RoadTrials,
    *,
    acting: Collection[str] = ERRORS,
    together: bool = False,
) -> Floats:
    """Trials of what each run of braking had available, kinetic and potential energy less air and rolling.

    Parameters
    ----------
    motion : how the bike moved
    noise : of the heights
    runs : first and last sample of each run
    road : trials of what is common to the ride
    acting : errors that act (`ERRORS`); the others stand at their best values
    together : all runs in one row

    Returns
    -------
    Shape (n_runs or 1, n_trials) [Wh]; NaN where the ends of a run have no height or no speed. Rows belong together:
    trials of a sum are the sum of the trials. They may lie below 0, where nothing can be available: cut off one by one,
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
    by_trial = _by_trial(road if set(acting) >= OF_THE_ROAD else _acting(road, acting))
    by_run = _by_run(motion, runs, road.load)
    if together:
        by_run = by_run.sum(axis=0, keepdims=True)
        own = own_together(motion, noise, runs, road, acting)
    else:
        own = own_parts(motion, noise, runs, road, acting)
    joules: Floats = combined(by_run, by_trial)
    for part in own:
        joules += part
    joules /= 3600
    return joules


def part_trials(motion: Motion, noise: HeightNoise, runs: Runs, road: RoadTrials) -> dict[str, Floats]:
    """Trials of what each run gained of kinetic and potential energy and lost to rolling and air, by `PARTS`.

    By the same trials as `available_trials`, whose opposite their sum is; what the bounds may add counts as kinetic.
    Each of shape (n_runs, n_trials) [Wh], ``runs`` not empty.

    Parameters
    ----------
    motion : how the bike moved
    noise : of the heights
    runs : first and last sample of each
    road : trials of what is common to the ride

    Returns
    -------
    Trials by name of the part.
    """
    by_run, by_trial = _by_run(motion, runs, road.load), _by_trial(road)
    moved, raised, blown = own_parts(motion, noise, runs, road, ERRORS)
    parts = {name: combined(by_run[:, term], by_trial[term]) for name, term in zip(PARTS, TERMS, strict=True)}
    for name, own in (("kinetic", moved), ("potential", raised), ("air", blown)):
        parts[name] += own
    for name in PARTS:
        parts[name] /= -3600
    return parts


def _acting(road: RoadTrials, acting: Collection[str]) -> RoadTrials:
    """The trials with what does not act at its best value."""
    load, still = road.load, np.zeros(road.n)

    def either(name: str, trials: Floats, value: float) -> Floats:
        return trials if name in acting else still + value

    return RoadTrials(
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


def _by_run(motion: Motion, runs: Runs, load: RoadLoad) -> Floats:
    """What each run offered for each unit of the common values, see `_by_trial`, shape (n_runs, 13).

    The first is kinetic, the second potential energy, the third rolling, all others air.
    """
    v, w0 = motion.speed_mps, load.wind_mps
    first, last = np.array(runs).T
    swept = way_sums(motion, w0).over(runs)
    terms = [
        (v[first] ** 2 - v[last] ** 2) / 2,
        motion.height_m[first] - motion.height_m[last],
        swept.level,
        swept.cube,
        2 * w0 * swept.square,
        w0**2 * swept.first,
        2 * swept.square_c,
        2 * swept.square_s,
        2 * w0 * swept.first_c,
        2 * w0 * swept.first_s,
        swept.first_cc,
        2 * swept.first_cs,
        swept.first_ss,
    ]
    return np.stack(terms, axis=1)


_BY_TRIAL: WeakKeyDictionary[RoadTrials, Floats] = WeakKeyDictionary()


def _by_trial(road: RoadTrials) -> Floats:
    """Trials of the common values that what a run offered is made of, shape (13, n_trials); times `_by_run` in J.

    Air takes ½ρ CdA ∫ (v + w)² v dt with the head wind w = w0 + n·cos h + e·sin h; multiplied out, each term is an
    integral over the run times trials. Every hill asks for the same: kept as long as the road is.
    """
    if road in _BY_TRIAL:
        return _BY_TRIAL[road]
    scale, north, east = road.speed_ratio, road.north_mps, road.east_mps
    air = -0.5 * road.density * road.cda_m2 * scale
    gravity = road.mass_kg * STANDARD_GRAVITY
    terms = [
        (road.mass_kg + road.rotating_kg) * scale**2,
        gravity,
        -road.crr * gravity * scale,
        air * scale**2,
        air * scale,
        air,
        *(air * scale * part for part in (north, east)),
        *(air * part for part in (north, east)),
        *(air * part for part in (north**2, north * east, east**2)),
    ]
    _BY_TRIAL[road] = np.stack(terms)
    return _BY_TRIAL[road]
