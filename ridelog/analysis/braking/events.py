"""Braking events as records: what each offered, what came back, what was caught."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ridelog.analysis.braking.force import (
    DEFAULT_SETTINGS,
    BrakingSettings,
    Offered,
    braking_runs,
    event_kind,
    took_energy,
)
from ridelog.analysis.electrical.flow import ElectricalFlow, Window
from ridelog.analysis.electrical.flow_model import coverage
from ridelog.analysis.road.height_uncertainty import drop_q
from ridelog.analysis.road.load import RoadLoad
from ridelog.analysis.road.load_uncertainty import Course, RoadDraws, available_draws, available_q, captured_q
from ridelog.analysis.road.motion import Motion
from ridelog.answer.braking import Braking, BrakingEvent
from ridelog.arrays import Floats, Mask, Runs
from ridelog.uncertain.quantity import Quantity, quantity


@dataclass(frozen=True)
class Roadside:
    """How the bike moved, what the road offered its brakes, and how sure that is.

    ``course`` and ``road`` are ``None`` where there is no height: then what was available is not known.
    """

    motion: Motion
    offer: Offered
    gap_mask: Mask
    course: Course | None
    road: RoadDraws | None


def find_events(
    motion: Motion,
    offer: Offered,
    regen_mask: Mask,
    gap_mask: Mask,
    load: RoadLoad,
    *,
    settings: BrakingSettings = DEFAULT_SETTINGS,
) -> Runs:
    """First and last sample of each braking event; arrays as in `ridelog.analysis.braking.force`."""
    runs = braking_runs(
        motion, offer.force_n, regen_mask, gap_mask, load, height_known=offer.height_known, settings=settings
    )
    return [run for run in runs if took_energy(run, offer.state_j, regen_mask, load, settings)]


def braking_record(runs: Runs, roadside: Roadside, flow: ElectricalFlow) -> Braking:
    """All braking events, each and together.

    Braking began and ended somewhere in the steps on either side of a run, so that what came back is counted from the
    sample before it to the sample after it. So is what was available, where those steps gave any up: coasting gives
    none, and what a driven step took in is not the loss of the brakes.
    """
    wide = [widened(run, roadside.gap_mask) for run in runs]
    gave = [giving(run, bounds, roadside.offer) for run, bounds in zip(runs, wide, strict=True)]
    time_s = roadside.motion.time_s
    windows = [flow.between(float(time_s[first]), float(time_s[last])) for first, last in wide]
    available = Available(gave, roadside)
    events = tuple(
        _event(run, roadside, flow.shows_return, window, (available.values[index], available.draws_of(index)))
        for index, (run, window) in enumerate(zip(runs, windows, strict=True))
    )
    energies = [window.energy for window in windows if window.energy is not None] if flow.shows_return else []
    returned = None
    draws = np.sum([energy.returned for energy in energies], axis=0) if energies else None
    if draws is not None:
        returned = coverage(sum(energy.nominal[1] for energy in energies), draws)
    total, total_draws = available.together()
    return Braking(
        available_wh=available_with_bounds(total, total_draws),
        returned_wh=returned,
        captured_pct=captured(returned, draws, total, total_draws),
        events=events,
    )


def widened(run: tuple[int, int], gap_mask: Mask) -> tuple[int, int]:
    """The run with the sample before and the sample after it, where no gap lies between."""
    first, last = run
    before = first - 1 if first > 0 and not gap_mask[first - 1] else first
    after = last + 1 if last < len(gap_mask) and not gap_mask[last] else last
    return before, after


def giving(run: tuple[int, int], wide: tuple[int, int], offer: Offered) -> tuple[int, int]:
    """The run, widened where the steps at its ends gave energy up."""
    first = wide[0] if offer.state_j[wide[0]] > offer.state_j[run[0]] else run[0]
    last = wide[1] if offer.state_j[wide[1]] < offer.state_j[run[1]] else run[1]
    return first, last


class Available:
    """What runs of braking had available, each and together [Wh]; ``None`` where it is not known.

    Parameters
    ----------
    runs : first and last sample of each
    roadside : how the bike moved and what that is uncertain by
    """

    def __init__(self, runs: Sequence[tuple[int, int]], roadside: Roadside) -> None:
        self.values = [available_wh(roadside.offer, first, last) for first, last in runs]
        self._none_wh = 0.0 if roadside.offer.height_known and np.isfinite(roadside.offer.state_j).any() else None
        self._draws: Floats | None = None
        if roadside.course is not None and roadside.road is not None and runs:
            self._draws = available_draws(roadside.course, list(runs), roadside.road)

    def draws_of(self, index: int) -> Floats | None:
        """Draws of one run, shape (n_draws,)."""
        return None if self._draws is None else self._draws[index]

    def together(self) -> tuple[float | None, Floats | None]:
        """The sum of what is known, and its draws; the errors that the runs share add up as they are."""
        known = [index for index, value in enumerate(self.values) if value is not None]
        if not known:
            return (None if self.values else self._none_wh), None
        total = sum(value for value in self.values if value is not None)
        return total, None if self._draws is None else self._draws[known].sum(axis=0)


def available_wh(offer: Offered, first: int, last: int) -> float | None:
    """Loss of kinetic and potential energy less air and rolling loss, at least 0; ``None`` without height [Wh]."""
    joules = offer.state_j[first] - offer.state_j[last]
    return max(0.0, float(joules) / 3600) if offer.height_known and np.isfinite(joules) else None


def available_with_bounds(value: float | None, draws: Floats | None) -> Quantity | None:
    """What was available, with its interval where there are draws."""
    if value is None or draws is None or not np.isfinite(value):
        return quantity(value)
    return available_q(value, draws)


def captured(
    returned: Quantity | None, returned_draws: Floats | None, available: float | None, available_draws: Floats | None
) -> Quantity | None:
    """100 × returned / available; ``None`` where one is not known or nothing was available."""
    if returned is None or returned_draws is None or available is None or not available > 0:
        return None
    if available_draws is None:
        return quantity(100 * returned.value / available)
    return captured_q(returned.value, available, returned_draws, available_draws)


def _event(
    run: tuple[int, int],
    roadside: Roadside,
    shows_return: bool,
    window: Window,
    available: tuple[float | None, Floats | None],
) -> BrakingEvent:
    """The record of one run of braking."""
    first, last = run
    motion = roadside.motion
    start_speed, end_speed = float(motion.speed_mps[first]), float(motion.speed_mps[last])
    course = roadside.course
    drop = drop_q(motion, run, course.noise, clock_u_s=course.clock_u_s) if course is not None else None
    energy = window.energy if shows_return else None
    returned_wh = energy.returned_q() if energy is not None else None
    return BrakingEvent(
        start_s=float(motion.time_s[first]),
        end_s=float(motion.time_s[last]),
        kind=event_kind(start_speed, end_speed, drop.value if drop is not None else None),
        start_speed_mps=start_speed if np.isfinite(start_speed) else None,
        end_speed_mps=end_speed if np.isfinite(end_speed) else None,
        drop_m=drop,
        returned_ah=window.charge.returned_q() if window.charge is not None and shows_return else None,
        returned_wh=returned_wh,
        available_wh=available_with_bounds(*available),
        captured_pct=captured(returned_wh, energy.returned if energy is not None else None, *available),
    )
