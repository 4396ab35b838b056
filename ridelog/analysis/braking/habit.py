"""Whether the brakes of this bike bring regen each time: then a stretch without any was not braked.

Without a measured drag area, a descent against the wind looks as if it were braked. To count such stretches only where
the force seems large enough picks those in which it seems larger than it is, so that what all of them had available is
too much. The ride itself helps: of its braking that nothing else explains, how often came something back? Where that is
so each time, whatever looks like braking and brought nothing counts only as far as the force is sure.
"""

from dataclasses import replace

import numpy as np

from ridelog.analysis.braking.force import BrakingForce
from ridelog.analysis.road.height_noise import HeightNoise
from ridelog.analysis.road.load_uncertainty import GUST_RATIO, RoadTrials
from ridelog.analysis.road.motion import Motion
from ridelog.arrays import Floats, Mask, hysteresis_mask, mask_runs
from ridelog.constants import STANDARD_GRAVITY
from ridelog.lazy import dataclass


@dataclass(frozen=True)
class HabitSettings:
    """When brakes are taken to bring regen each time, each threshold with its reason.

    Attributes
    ----------
    sure_factor : a force is sure by this many standard uncertainties
    hard_on_mps2, hard_off_mps2 : braking that nothing else explains passes these beyond what is unsure; half of what a
        rider brakes with at a stop [m/s²]
    from_mps : and begins at this speed at least; motors return nothing below walking pace [m/s]
    shortest_s : and lasts as long, so that regen has time to come [s]
    most_without_share : a new braking brings none with at most this probability, by the rule of succession: none of 3
        without, or one of 8 (judgement) [1]
    """

    sure_factor: float = 2.0
    hard_on_mps2: float = 0.5
    hard_off_mps2: float = 0.2
    from_mps: float = 3.0
    shortest_s: float = 1.0
    most_without_share: float = 0.2


DEFAULT_SETTINGS = HabitSettings()


def force_u_n(motion: Motion, road: RoadTrials, noise: HeightNoise | None, grade_over_m: float) -> Floats:
    """Standard uncertainty of the braking force, from air, wind, rolling and grade.

    Parameters
    ----------
    motion : how the bike moved
    road : trials of what is common to the ride
    noise : of the heights; ``None`` without any
    grade_over_m : stretch over which grades are taken [m]

    Returns
    -------
    Shape (n,) [N].
    """
    load, speed = road.load, np.nan_to_num(motion.speed_mps)
    pushed = load.density * np.abs(speed + load.wind_mps)  # of the air against the bike [kg/(m² s)]
    ahead_m2ps2 = (road.north_mps.var() + road.east_mps.var()) / 2  # a wind from any side alike
    wind_u_mps = np.sqrt(ahead_m2ps2 + GUST_RATIO**2 * np.mean(road.blowing_mps**2))
    square = np.square(pushed * np.abs(speed + load.wind_mps) / 2 * road.cda_m2.std())  # by area
    square += np.square(np.abs(load.air_n(speed)) * road.density.std() / load.density)  # by density
    square += np.square(pushed * load.cda_m2 * wind_u_mps)
    square += np.square(load.mass_kg * STANDARD_GRAVITY * road.crr.std())  # by rolling
    pace_mps = float(np.mean(speed[speed > 1.0])) if (speed > 1.0).any() else 1.0
    grade_u = noise.grade_u(grade_over_m, pace_mps) if noise is not None and grade_over_m > 0 else 0.0
    square += np.square(load.mass_kg * STANDARD_GRAVITY * grade_u)
    return np.asarray(np.sqrt(square, out=square))


def brakes_bring_regen(
    motion: Motion,
    sure: BrakingForce,
    regen_mask: Mask,
    mass_kg: float,
    *,
    settings: HabitSettings = DEFAULT_SETTINGS,
) -> bool:
    """Whether something came back each time that the bike was surely braked.

    Parameters
    ----------
    motion : how the bike moved
    sure : the force less what of it is unsure
    regen_mask : samples at which current flows into the battery, shape (n,)
    mass_kg : effective mass
    settings : thresholds

    Returns
    -------
    ``False`` where too few brakings are sure to tell.

    References
    ----------
    Laplace's rule of succession: of n, k were without, so the next one is with the probability (k + 1)/(n + 2).
    """
    hard = hysteresis_mask(sure.force_n, on=settings.hard_on_mps2 * mass_kg, off=settings.hard_off_mps2 * mass_kg)
    n = without = 0
    for first, last in mask_runs(hard):
        lasts_s = motion.time_s[last] - motion.time_s[first]
        if lasts_s >= settings.shortest_s and motion.speed_mps[first] >= settings.from_mps:
            n += 1
            without += not regen_mask[first : last + 1].any()
    return (without + 1) / (n + 2) <= settings.most_without_share


def sure_force(
    motion: Motion,
    force: BrakingForce,
    regen_mask: Mask,
    u_n: Floats,
    mass_kg: float,
    *,
    settings: HabitSettings = DEFAULT_SETTINGS,
) -> BrakingForce:
    """The force that tells braking: where the brakes bring regen each time, less what of it is unsure.

    Parameters
    ----------
    motion : how the bike moved
    force : what slowed the bike
    regen_mask : samples at which current flows into the battery, shape (n,)
    u_n : standard uncertainty of the force, shape (n,) [N]
    mass_kg : effective mass
    settings : thresholds

    Returns
    -------
    The force as it was where the brakes may have braked without regen, or no height is known.
    """
    sure = replace(force, force_n=force.force_n - settings.sure_factor * u_n)
    if force.height_known and brakes_bring_regen(motion, sure, regen_mask, mass_kg, settings=settings):
        return sure
    return force
