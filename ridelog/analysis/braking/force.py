"""When was the bike braked: by regen current, and by a force that air, rolling and grade do not explain.

A braking event is found from the force, not from deceleration alone: holding a steady speed on a descent
brakes without decelerating, and coasting decelerates without braking (a bike rolling out at 25 km/h loses
0.2 m/s each second).
"""

from itertools import pairwise

import numpy as np

from ridelog.analysis.road.load import RoadLoad
from ridelog.analysis.road.motion import Motion
from ridelog.answer.braking import EventKind
from ridelog.arrays import (
    Floats,
    Mask,
    Runs,
    hysteresis_mask,
    local_slope,
    mask_runs,
    merge_runs,
    running_integral,
    time_gaps,
)
from ridelog.constants import STANDARD_GRAVITY
from ridelog.lazy import dataclass


@dataclass(frozen=True)
class BrakingSettings:
    """Thresholds of braking and regen detection, each with its reason.

    Attributes
    ----------
    regen_on_a, regen_off_a : regen begins and ends at these currents into the battery; above the zero error and
        the noise of usual sensors [A]
    decel_on_mps2, decel_off_mps2 : braking begins and ends where the force, divided by the mass, passes these;
        0.15 m/s² is what a grade wrong by 1.5 % would feign [m/s²]
    flat_decel_on_mps2 : the deceleration taken for braking where the grade is not known; a rider coasting on
        the flat stays below 0.25 m/s² up to 27 km/h [m/s²]
    slope_window_s : width of the window in which deceleration is evaluated, at least three samples; 1 s keeps the
        0.1 km/h steps of a wheel speed below 0.02 m/s² at 5 Hz and blurs an event by half a second [s]
    moving_on_mps, moving_off_mps : the bike moves from where it passes the one until it falls below the other, so
        that a stop is followed to its end and the noise of a satellite speed at rest is no ride [m/s]
    merge_s : events closer than this are one [s]
    shortest_s : shorter events are dropped [s]
    least_loss_j_per_kg : an event without regen counts if it took at least this from each kilogram; 0.25 J/kg
        is a drop of 2.5 cm, or from 3.6 to 2.4 m/s at the end of a stop 3.6 J/kg [J/kg]
    longest_step_s : with longer steps stops fall between the samples, and what braking had available is not known:
        its interval missed 3 of 72 times at steps of 4 and 5 s, 5 of 30 at 6 s, 16 of 42 at 10 s [s]
    """

    regen_on_a: float = 0.5
    regen_off_a: float = 0.2
    decel_on_mps2: float = 0.15
    decel_off_mps2: float = 0.08
    flat_decel_on_mps2: float = 0.30
    slope_window_s: float = 1.0
    moving_on_mps: float = 0.5
    moving_off_mps: float = 0.1
    merge_s: float = 1.5
    shortest_s: float = 1.0
    least_loss_j_per_kg: float = 0.25
    longest_step_s: float = 5.0


DEFAULT_SETTINGS = BrakingSettings()


@dataclass(frozen=True)
class BrakingForce:
    """What slowed the bike beyond air, rolling and grade, and the energy that was available to it.

    ``force_n`` (shape (n,)) is what slows the bike beyond air, rolling and grade, negative while it is driven.
    ``state_j`` is the kinetic and potential energy plus all that air and rolling took so far; its fall
    from one time to another is the energy that was available between them. ``step_known`` says that the samples are
    close enough to hold all braking.
    """

    force_n: Floats
    state_j: Floats
    height_known: bool
    step_known: bool = True

    @property
    def tells_available(self) -> bool:
        """Whether what braking had available can be worked out."""
        return self.height_known and self.step_known


def braking_force(motion: Motion, load: RoadLoad, *, settings: BrakingSettings = DEFAULT_SETTINGS) -> BrakingForce:
    """Braking force and available energy along the ride.

    F = −m_e dv/dt − ½ρ CdA v_a|v_a| − Crr m g cosθ − m g sinθ, the road-cycling equation solved for the force that
    is neither air, nor rolling, nor grade.

    Parameters
    ----------
    motion : how the bike moved
    load : of the road
    settings : thresholds

    Returns
    -------
    Force and the energy that the bike held, at the samples.

    References
    ----------
    Martin, Milliken, Cobb, McFadden, Coggan, "Validation of a mathematical model for road cycling power",
    J. Appl. Biomech. 14 (1998) 276-291.
    """
    time_s, speed = motion.time_s, motion.speed_mps
    step_s = float(np.median(np.diff(time_s))) if len(time_s) > 1 else 1.0
    slope = local_slope(time_s, speed, window_s=max(settings.slope_window_s, 2.2 * step_s))
    height_known = bool(np.isfinite(motion.height_m).any())
    grade = motion.grade_pct if height_known else np.zeros_like(speed)
    loss_n = load.air_n(speed) + load.rolling_n(grade)
    force_n = -load.effective_mass_kg * slope - loss_n - load.climbing_n(grade)
    lost_j = running_integral(time_s, loss_n * speed)
    potential_j = load.mass_kg * STANDARD_GRAVITY * motion.height_m if height_known else 0.0
    state_j = 0.5 * load.effective_mass_kg * speed**2 + potential_j + lost_j
    return BrakingForce(force_n, state_j, height_known, step_known=step_s <= settings.longest_step_s)


def regen_runs(
    time_s: Floats, current_a: Floats, gap_mask: Mask, *, settings: BrakingSettings = DEFAULT_SETTINGS
) -> Runs:
    """Stretches with current into the battery, with hysteresis, on the electrical samples.

    Parameters
    ----------
    time_s, current_a : shape (n,) [s], [A]
    gap_mask : shape (n-1,), steps across which nothing is known; a run never spans one
    settings : thresholds

    Returns
    -------
    First and last sample of each.
    """
    mask = hysteresis_mask(-current_a, on=settings.regen_on_a, off=settings.regen_off_a)
    return _merged_within_gaps(mask_runs(mask), time_s, gap_mask, settings.merge_s)


def regen_at(at_s: Floats, time_s: Floats, current_a: Floats) -> Mask:
    """Whether current flows into the battery at given times: within the stretches of `regen_runs`.

    Parameters
    ----------
    at_s : wanted times, also such between two known samples, shape (m,) [s]
    time_s, current_a : known samples, shape (n,) [s], [A]

    Returns
    -------
    Mask, shape (m,).
    """
    runs = regen_runs(time_s, current_a, time_gaps(time_s))
    if not runs:
        return np.zeros(len(at_s), dtype=bool)
    first, last = (np.array([time_s[run[side]] for run in runs]) for side in (0, 1))
    latest = np.searchsorted(first, at_s, side="right") - 1
    mask: Mask = (latest >= 0) & (at_s <= last[np.maximum(latest, 0)])
    return mask


def braking_runs(
    motion: Motion,
    force: BrakingForce,
    regen_mask: Mask,
    gap_mask: Mask,
    load: RoadLoad,
    *,
    settings: BrakingSettings = DEFAULT_SETTINGS,
) -> Runs:
    """Stretches in which the bike was braked, by regen or by anything else.

    Parameters
    ----------
    motion : shape (n,)
    force : from `braking_force`; without height the threshold is that of a strong deceleration
    regen_mask : current flowed into the battery, shape (n,)
    gap_mask : steps across which nothing is known, shape (n-1,)
    load : the road load; the force counts by the mass that it slows
    settings : thresholds

    Returns
    -------
    First and last sample of each. One that runs on to where heights or speed end is cut there, so that what is not
    known of the rest hides nothing of what is; the two parts share that sample.
    """
    decel_on = settings.decel_on_mps2 if force.height_known else settings.flat_decel_on_mps2
    mass_kg = load.effective_mass_kg
    by_force = hysteresis_mask(force.force_n, on=decel_on * mass_kg, off=settings.decel_off_mps2 * mass_kg)
    moving = hysteresis_mask(motion.speed_mps, on=settings.moving_on_mps, off=settings.moving_off_mps)
    moving[1:] |= moving[:-1]  # the sample at which it comes to stand still belongs to the stop
    mask = (by_force & moving) | (regen_mask & (moving | np.isnan(motion.speed_mps)))
    merged = _merged_within_gaps(mask_runs(mask), motion.time_s, gap_mask, settings.merge_s)
    told_mask = np.isfinite(force.state_j)
    runs = [part for run in merged for part in _cut_where_told(run, told_mask)]
    return [run for run in runs if motion.time_s[run[1]] - motion.time_s[run[0]] >= settings.shortest_s]


def find_events(
    motion: Motion,
    force: BrakingForce,
    regen_mask: Mask,
    gap_mask: Mask,
    load: RoadLoad,
    *,
    settings: BrakingSettings = DEFAULT_SETTINGS,
) -> Runs:
    """First and last sample of each braking event: the runs of `braking_runs` that took energy, or returned some.

    Parameters
    ----------
    motion, force, regen_mask, gap_mask, load, settings : as for `braking_runs`

    Returns
    -------
    First and last sample of each.
    """
    runs = braking_runs(motion, force, regen_mask, gap_mask, load, settings=settings)
    return [run for run in runs if took_energy(run, force.state_j, regen_mask, load, settings)]


def _merged_within_gaps(runs: Runs, time_s: Floats, gap_mask: Mask, merge_s: float) -> Runs:
    """Runs cut at gaps, then merged where no gap lies between."""
    gaps = np.flatnonzero(gap_mask)
    blocks: list[Runs] = [[] for _ in range(len(gaps) + 1)]
    for first, last in runs:
        inner = gaps[(gaps >= first) & (gaps < last)]
        for start, end in zip([first, *(inner + 1).tolist()], [*inner.tolist(), last], strict=True):
            blocks[int(np.searchsorted(gaps, start, side="left"))].append((start, end))
    return [run for block in blocks for run in merge_runs(block, time_s, gap_s=merge_s)]


def _cut_where_told(run: tuple[int, int], told_mask: Mask) -> Runs:
    """A run, its part from the first to the last sample that is told by itself."""
    first, last = run
    told = np.flatnonzero(told_mask[first : last + 1])
    if not len(told):
        return [run]
    cuts = sorted({first, first + int(told[0]), first + int(told[-1]), last})
    return list(pairwise(cuts)) or [run]


def took_energy(
    run: tuple[int, int], state_j: Floats, regen_mask: Mask, load: RoadLoad, settings: BrakingSettings
) -> bool:
    """Whether a run without regen took enough energy to be braking at all, not noise of speed or grade.

    Parameters
    ----------
    run : first and last sample
    state_j : energy that the bike held, less what air and rolling took, shape (n,) [J]
    regen_mask : current flows into the battery, shape (n,)
    load : of the road, for the mass
    settings : thresholds

    Returns
    -------
    ``True`` with regen anywhere in the run.
    """
    first, last = run
    if regen_mask[first : last + 1].any():
        return True
    loss_j = state_j[first] - state_j[last]
    return bool(loss_j >= settings.least_loss_j_per_kg * load.mass_kg)


def event_kind(
    start_speed_mps: float, end_speed_mps: float, drop_m: float | None, *, stopped_mps: float = 1.0
) -> EventKind | None:
    """Stop (ends below walking pace), holding (lost more height than speed) or slowing; ``None`` without speed.

    Energies are compared per kilogram: g·drop against (v0² − v1²)/2.

    Parameters
    ----------
    start_speed_mps, end_speed_mps : at the ends of the event [m/s]
    drop_m : height lost; ``None`` where not known [m]
    stopped_mps : a slower end is a stop [m/s]

    Returns
    -------
    The kind.
    """
    if not (np.isfinite(start_speed_mps) and np.isfinite(end_speed_mps)):
        return None
    if end_speed_mps < stopped_mps:
        return "stop"
    kinetic = (start_speed_mps**2 - end_speed_mps**2) / 2
    potential = STANDARD_GRAVITY * drop_m if drop_m is not None and np.isfinite(drop_m) else 0.0
    return "holding" if potential > kinetic or kinetic <= 0 else "slowing"
