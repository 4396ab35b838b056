"""Where the energy of a ride went: battery and rider against air, rolling, height, speed, brakes and losses.

A log tells the battery's side at the terminals and, with speed and height, the wheel's side by the road load. Outside
the braking events the wheel took what battery and rider brought to it; in them it gave up what was available. What
lies between terminals and wheel is not measured. Driving, the losses of motor and controller and the rider's work,
where no power meter logged it, are one unexplained rest. Braking, what was available and not returned can only be
split into friction brakes and losses on the way to the battery by a stated efficiency of the motor as a generator.
"""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any, Literal

import numpy as np

from ridelog.analysis.braking.events import Roadside, available_wh, giving, widened
from ridelog.analysis.electrical.flow import ElectricalFlow
from ridelog.analysis.electrical.flow_model import Draws, coverage
from ridelog.analysis.road.drag import Drag
from ridelog.analysis.road.load import STANDARD_GRAVITY
from ridelog.analysis.road.load_uncertainty import N_DRAWS, available_draws, available_q, part_draws
from ridelog.answer.hills import Hill
from ridelog.answer.ledger import LedgerEntry
from ridelog.arrays import Floats, Runs
from ridelog.uncertain.quantity import Quantity

# Wheel to battery. No log tells it; an equivalent direct-current machine (1.2 N m/A, 0.2 ohm, wheel of 0.34 m) gives
# 0.92 at 25 km/h and 10 A, 0.59 at 10 km/h and 20 A, 0.18 at 5 km/h and 20 A, of which a stop has some of each; the
# controller takes some per cent more. A judgement, rectangular.
GENERATOR_EFFICIENCY = (0.45, 0.92)
RIDER_LIMIT_RATIO = 0.03  # of a power meter: 1 to 2 % by makers' word, and where at the pedals it measures
LEAST_RIDER_SHARE = 0.95  # of the moving time that must hold rider power for the rider's work to be known
MOST_RUNS = 200  # whose draws are held at once
SEED = 31_415

Told = Floats | None  # shape (1 + n_draws,): the best value, then draws of it; None where it is not known


@dataclass(frozen=True)
class Basis:
    """What a ledger is drawn up from.

    Attributes
    ----------
    roadside : how the bike moved, with ``course`` and ``road`` (see `Roadside`)
    flow : what went through the battery terminals
    braking : first and last sample of each braking event
    drag : of the unpowered motor, ``None`` where it is not known
    rider_w : power at the pedals, shape (n,), NaN where not known; ``None`` where it was not logged [W]
    """

    roadside: Roadside
    flow: ElectricalFlow
    braking: Runs
    drag: Drag | None = None
    rider_w: Floats | None = None


@dataclass(frozen=True)
class Span:
    """A stretch of a ride: the samples ``run`` between which energies are taken, and those that bound it for people."""

    kind: Literal["ride", "hill", "event"]
    name: str
    run: tuple[int, int]
    shown: tuple[int, int]


def quantity_of(told: Told) -> Quantity | None:
    """The quantity with its interval; ``None`` where it is not known."""
    return None if told is None or not np.isfinite(told).all() else coverage(float(told[0]), told[1:])


def told(value: float, draws: Floats) -> Floats:
    """A best value and draws of it as one array, so that sums and products of both are one expression."""
    return np.concatenate(([value], draws))


def added(*parts: Told) -> Told:
    """The sum; ``None`` where a part is not known."""
    there = [part for part in parts if part is not None]
    return np.sum(there, axis=0) if len(there) == len(parts) else None


def less(whole: Told, *parts: Told) -> Told:
    """``whole`` without the parts; ``None`` where one of them is not known."""
    taken = added(*parts) if parts else 0.0
    return None if whole is None or taken is None else np.asarray(whole - taken)


def known(part: Told) -> tuple[Floats, ...]:
    """The part where it is known, for sums that go on without it."""
    return () if part is None else (part,)


class Book:
    """The ledger's sums along one ride.

    Parameters
    ----------
    basis : its roadside must have a course and draws of the road
    efficiency : limits of the generator's efficiency, wheel to battery [1]

    Raises
    ------
    ValueError : no course or no draws of the road
    """

    def __init__(self, basis: Basis, *, efficiency: tuple[float, float] = GENERATOR_EFFICIENCY) -> None:
        roadside = basis.roadside
        if roadside.course is None or roadside.road is None:
            raise ValueError("a ledger needs heights and the draws of the road load")
        self.basis, self.course, self.road = basis, roadside.course, roadside.road
        motion, load = roadside.motion, self.road.load
        time_s, speed = motion.time_s, motion.speed_mps
        grade = np.nan_to_num(motion.grade_pct)
        self.air_j = _running(time_s, load.air_n(speed) * speed)
        self.rolling_j = _running(time_s, load.rolling_n(grade) * speed)
        self.rolled_m = _running(time_s, speed)
        self.work_j = _running(time_s, -roadside.offer.force_n * speed)
        self.wide = [widened(run, roadside.gap_mask) for run in basis.braking]
        self.gave = [giving(run, wide, roadside.offer) for run, wide in zip(basis.braking, self.wide, strict=True)]
        self._windows: dict[tuple[int, int], Draws] = {}
        rng = np.random.default_rng(SEED)
        self.efficiency = told(sum(efficiency) / 2, rng.uniform(*efficiency, N_DRAWS))
        limits = (basis.drag.low_n, basis.drag.high_n) if basis.drag is not None else (0.0, 0.0)
        self.drag_n = None if basis.drag is None else told(basis.drag.value_n, rng.uniform(*limits, N_DRAWS))
        self.rider_noise = told(0.0, rng.standard_normal(N_DRAWS))
        self.rider_share = told(1.0, 1 + RIDER_LIMIT_RATIO * rng.uniform(-1, 1, N_DRAWS))

    def entries(self, hills: Sequence[Hill]) -> tuple[LedgerEntry, ...]:
        """The ride, its hills and its braking events; none where no two samples have height and speed."""
        whole = self.ride()
        return () if whole is None else (whole, *(self.hill(hill) for hill in hills), *self.events())

    def ride(self, *, name: str = "ride") -> LedgerEntry | None:
        """The whole ride, between the first and the last sample with height and speed; ``None`` without any."""
        there = np.flatnonzero(np.isfinite(self.basis.roadside.offer.state_j))
        if len(there) < 2:
            return None
        run = int(there[0]), int(there[-1])
        gave, wide = self._within(run)
        gains = {part: rows[0] for part, rows in part_draws(self.course, [run], self.road).items()}
        offered = available_draws(self.course, gave, self.road).sum(axis=0) if gave else np.zeros(self.road.n)
        return self._entry(Span("ride", name, run, run), gains, self._available(gave, offered), wide)

    def hill(self, hill: Hill) -> LedgerEntry:
        """The time on one hill, as its record bounds it."""
        time_s = self.basis.roadside.motion.time_s
        run = int(np.searchsorted(time_s, hill.start_s)), int(np.searchsorted(time_s, hill.end_s))
        gave, wide = self._within(run)
        runs = [run, *gave]  # drawn together: errors of the heights that hill and events share cancel
        drawn = part_draws(self.course, runs, self.road)
        offered = -sum(rows[1:].sum(axis=0) for rows in drawn.values())
        gains = {part: rows[0] for part, rows in drawn.items()}
        return self._entry(Span("hill", hill.name, run, run), gains, self._available(gave, offered), wide)

    def events(self) -> tuple[LedgerEntry, ...]:
        """Every braking event."""
        entries = []
        for start in range(0, len(self.gave), MOST_RUNS):
            gave = self.gave[start : start + MOST_RUNS]
            gains = part_draws(self.course, gave, self.road)
            for row, run in enumerate(gave):
                number = start + row
                span = Span("event", f"event {number + 1}", run, self.basis.braking[number])
                own = {part: rows[row] for part, rows in gains.items()}
                available = self._available([run], -np.sum(list(own.values()), axis=0))
                entries.append(self._entry(span, own, available, [self.wide[number]]))
        return tuple(entries)

    def caught(self) -> Iterator[tuple[tuple[int, int], Told, Told]]:
        """Each braking event's first and last sample, what it had available, and what came back [Wh]."""
        for start in range(0, len(self.gave), MOST_RUNS):
            chunk = slice(start, start + MOST_RUNS)
            offered = available_draws(self.course, self.gave[chunk], self.road)
            for row, (run, gave, wide) in enumerate(
                zip(self.basis.braking[chunk], self.gave[chunk], self.wide[chunk], strict=True)
            ):
                yield run, self._available([gave], offered[row]), self.flowed([wide])[1]

    def _within(self, run: tuple[int, int]) -> tuple[Runs, Runs]:
        """The parts of the braking events in a run: where energy was given up, and where what came back is counted.

        Events whose ends have no height are left out of both, as what they had available is not known.
        """
        first, last = run
        cut = [[(max(first, a), min(last, b)) for a, b in runs] for runs in (self.gave, self.wide)]
        state_j = self.basis.roadside.offer.state_j
        inside = [k for k, (a, b) in enumerate(cut[0]) if a < b and np.isfinite(state_j[b] - state_j[a])]
        return [cut[0][index] for index in inside], [cut[1][index] for index in inside]

    def _available(self, gave: Runs, draws: Floats) -> Told:
        values = [available_wh(self.basis.roadside.offer, *run) for run in gave]
        there = [value for value in values if value is not None]
        return told(sum(there), draws) if len(there) == len(values) else None

    def _entry(self, span: Span, gains: dict[str, Floats], available: Told, wide: Runs) -> LedgerEntry:
        """The entry of one span: by ``gains`` at the wheel, by the braking events ``wide`` in it at the terminals."""
        is_event = span.kind == "event"
        caught = self.flowed(wide)[1]
        drawn, returned = self.flowed(wide if is_event else [span.run])
        rider, gained = self._rider(span.run), self._gained(span.run, gains)
        drag, braking_drag = self._drag([span.run]), self._drag([span.run] if is_event else wide)
        conversion = None if caught is None else caught / self.efficiency - caught
        missed = less(available, caught)
        friction = less(missed, conversion, *known(braking_drag))
        driven = added(*gained.values(), available, *known(less(drag, braking_drag)))
        to_wheel = None if is_event else driven
        given = added(drawn, *known(rider))
        rest = given if is_event else less(given, less(returned, caught), to_wheel)
        found = {
            "drawn": drawn, "returned": returned, "rider": rider, **gained, "drag": drag, "to_wheel": to_wheel,
            "missed": missed, "conversion": conversion, "friction": friction,
            "catchable": None if friction is None else self.efficiency * friction, "rest": rest,
        }  # fmt: skip
        quantities: dict[str, Any] = {f"{part}_wh": quantity_of(each) for part, each in found.items()}
        quantities["available_wh"] = None if available is None else available_q(float(available[0]), available[1:])
        start_s, end_s = (float(self.basis.roadside.motion.time_s[index]) for index in span.shown)
        closing_wh = self._closing_wh(span.run, gained)
        return LedgerEntry(span.kind, span.name, start_s, end_s, closing_wh=closing_wh, **quantities)

    def _closing_wh(self, run: tuple[int, int], gained: dict[str, Floats]) -> float | None:
        """The work at the wheel summed up from forces less that from energies [Wh]."""
        by_energies = sum(float(part[0]) for part in gained.values())
        by_forces = float(self.work_j[run[1]] - self.work_j[run[0]]) / 3600
        return by_forces - by_energies if math.isfinite(by_energies) else None

    def _gained(self, run: tuple[int, int], draws: dict[str, Floats]) -> dict[str, Floats]:
        """Kinetic and potential energy gained, and what air and rolling took [Wh]."""
        first, last = run
        motion, load = self.basis.roadside.motion, self.road.load
        speed, height = motion.speed_mps, motion.height_m
        joules = {
            "kinetic": load.effective_mass_kg * (speed[last] ** 2 - speed[first] ** 2) / 2,
            "potential": load.mass_kg * STANDARD_GRAVITY * (height[last] - height[first]),
            "air": self.air_j[last] - self.air_j[first],
            "rolling": self.rolling_j[last] - self.rolling_j[first],
        }
        return {part: told(float(value) / 3600, draws[part]) for part, value in joules.items()}

    def _drag(self, runs: Runs) -> Told:
        """What the motor's drag took in all of the runs [Wh]."""
        if self.drag_n is None:
            return None
        rolled_m = sum(float(self.rolled_m[last] - self.rolled_m[first]) for first, last in runs)
        return self.drag_n * told(1.0, self.road.speed_ratio) * rolled_m / 3600

    def flowed(self, runs: Runs) -> tuple[Told, Told]:
        """Energy drawn and returned in all of the runs [Wh]; no return is known where the log cannot show it."""
        model, time_s = self.basis.flow.energy, self.basis.roadside.motion.time_s
        if model is None:
            return None, None
        drawn, returned = np.zeros(N_DRAWS + 1), np.zeros(N_DRAWS + 1)
        for run in runs:
            if (draws := self._windows.get(run)) is None:
                draws = model.window(float(time_s[run[0]]), float(time_s[run[1]]))
                if len(self._windows) < MOST_RUNS:
                    self._windows[run] = draws  # ride, hill, event and findings ask for the same ones
            drawn += told(draws.nominal[0], draws.drawn)
            returned += told(draws.nominal[1], draws.returned)
        return drawn, returned if self.basis.flow.shows_return else None

    def _rider(self, run: tuple[int, int], *, least_share: float = LEAST_RIDER_SHARE) -> Told:
        """The rider's work at the pedals [Wh]; ``None`` where it was logged for less than ``least_share`` of the time.

        Samples without a reading count as the mean of the others in the run.
        """
        power_w, time_s = self.basis.rider_w, self.basis.roadside.motion.time_s
        if power_w is None:
            return None
        first, last = run
        inside, at_s = np.maximum(power_w[first : last + 1], 0.0), time_s[first : last + 1]
        if float(np.isfinite(inside).mean()) < least_share:
            return None
        filled = np.where(np.isfinite(inside), inside, np.nanmean(inside))
        bends = np.diff(filled, 2) * np.diff(at_s)[1:]  # a jump between two samples: h²/24 of the two bends it leaves
        sampled_j = math.sqrt(float((bends**2).sum()) / 24) * self.rider_noise
        return (self.rider_share * float(np.trapezoid(filled, at_s)) + sampled_j) / 3600


def _running(time_s: Floats, watts: Floats) -> Floats:
    """The integral from the start by trapezoids; what is not known adds nothing."""
    work = np.nan_to_num(watts)
    return np.concatenate(([0.0], np.cumsum((work[1:] + work[:-1]) / 2 * np.diff(time_s))))
