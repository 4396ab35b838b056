"""Where the energy of a ride went: battery and rider against air, rolling, height, speed, brakes and losses.

A log tells the battery's side at the terminals and, with speed and height, the wheel's side by the road load. Outside
the braking events the wheel took what battery and rider brought to it; in them it gave up what was available. What
lies between terminals and wheel is not measured. Driving, the losses of motor and controller and the rider's work,
where no power meter logged it, are one unexplained rest. Braking, what was available and not returned can only be
split into friction brakes and losses on the way to the battery by a stated efficiency of the motor as a generator.
"""

import math
from collections.abc import Sequence
from dataclasses import replace
from typing import Any, Literal

import numpy as np

from ridelog.analysis.braking.available import (
    gained,
    part_values_wh,
)
from ridelog.analysis.braking.events import Event, Events, summed
from ridelog.analysis.braking.passes import HillPass
from ridelog.analysis.braking.possible import EVERY, Possible
from ridelog.analysis.electrical.flow_model import Throughput
from ridelog.analysis.road.drag import Drag
from ridelog.analysis.scene import Scene
from ridelog.answer.ledger import LedgerEntry
from ridelog.arrays import Runs, column, running_integral
from ridelog.lazy import dataclass
from ridelog.uncertain.seeds import stream
from ridelog.uncertain.trials import N_TRIALS, UNKNOWN, Uncertain, exact, rectangular, total

# Wheel to battery. No log tells it; an equivalent direct-current machine (1.2 N m/A, 0.2 ohm, wheel of 0.34 m) gives
# 0.92 at 25 km/h and 10 A, 0.59 at 10 km/h and 20 A, 0.18 at 5 km/h and 20 A, of which a stop has some of each; the
# controller takes some per cent more. A judgement, rectangular.
GENERATOR_EFFICIENCY = (0.45, 0.92)
RIDER_LIMIT_RATIO = 0.03  # of a power meter: 1 to 2 % by makers' word, and where at the pedals it measures
LEAST_RIDER_SHARE = 0.95  # of the samples that must hold rider power for the rider's work to be known
AT_ONCE = 16  # hills or braking events whose accounts are drawn up together: 0.2 MB each
NOTHING = exact(0.0)


@dataclass(frozen=True)
class Stretch:
    """A stretch of a ride as the ledger sees it.

    Attributes
    ----------
    kind, name : of ride, hill or event, for people
    run : first and last sample, between which the energy at the wheel is taken
    shown : first and last sample that bound it for people
    flow : what went through the battery terminals meanwhile [Wh]
    caught_wh : what of it came back in braking events [Wh]
    gains : what the bike gained and lost at the wheel, see `gained` [Wh]
    available_wh : what the braking events in it had available [Wh]
    braked : the runs of these events, in which the motor's drag helps to brake
    possible : the trials in which what came back can have come from what was available
    unplaced_wh : net drawn where height or speed is not known [Wh]
    """

    kind: Literal["ride", "hill", "event"]
    name: str
    run: tuple[int, int]
    shown: tuple[int, int]
    flow: Throughput
    caught_wh: Uncertain
    gains: dict[str, Uncertain]
    available_wh: Uncertain
    braked: Runs
    possible: Possible = EVERY
    unplaced_wh: Uncertain = NOTHING


class Accounts:
    """The accounts of one ride: every stretch's entry by the same trials and the same assumptions.

    Parameters
    ----------
    scene : with heights
    events : its braking events

    Raises
    ------
    ValueError : a scene without heights
    """

    def __init__(self, scene: Scene, events: Events) -> None:
        if scene.heights is None:
            raise ValueError("where the energy went cannot be said without heights")
        self.scene, self.events, self.heights = scene, events, scene.heights
        motion = scene.motion
        self._by_counted = {event.counted: event for event in events}
        self.rolled_m = running_integral(motion.time_s, motion.speed_mps)
        self.work_j = running_integral(motion.time_s, -scene.force.force_n * motion.speed_mps)
        rng = stream("ledger")
        self.efficiency = rectangular(*GENERATOR_EFFICIENCY, rng, source="generator efficiency")
        self.drag_n = _drag_n(scene.drag, rng) * Uncertain(1.0, scene.road.speed_ratio)  # by the recorded way
        self.rider_w = column(scene.series, "rider_power_w") if "rider_power_w" in scene.series else None
        self.rider_noise = Uncertain(0.0, rng.standard_normal(N_TRIALS))
        self.rider_ratio = Uncertain(1.0, 1 + RIDER_LIMIT_RATIO * rng.uniform(-1, 1, N_TRIALS))

    def ride(self) -> LedgerEntry | None:
        """The whole ride; at the wheel from the first to the last sample with height and speed, ``None`` without two.

        What was drawn and returned is that of the whole log; what of it flowed where height or speed is not known is
        an item of its own.
        """
        there = np.flatnonzero(np.isfinite(self.scene.force.state_j))
        if len(there) < 2:
            return None
        run = int(there[0]), int(there[-1])
        counted = [event.counted for event in self.events if event.facts.offers]
        whole = summed(self.scene, self.events)
        caught = whole.returned_of_known_wh
        stretch = Stretch(
            kind="ride",
            name="ride",
            run=run,
            shown=run,
            flow=self.scene.flow.total.energy,
            caught_wh=caught if caught.known else self._caught(counted),
            gains=gained(self.scene, [run])[0],
            available_wh=whole.available_wh,
            braked=counted,
            possible=whole.possible,
            unplaced_wh=self._unplaced(run),
        )
        return self._entries([stretch])[0]

    def hills(self, passes: Sequence[HillPass]) -> tuple[LedgerEntry, ...]:
        """The time on each hill."""
        chunks = (passes[start : start + AT_ONCE] for start in range(0, len(passes), AT_ONCE))
        return tuple(entry for chunk in chunks for entry in self._of_hills(chunk))

    def _of_hills(self, passes: Sequence[HillPass]) -> list[LedgerEntry]:
        """The time on some hills, few enough for their trials to be there together."""
        entries: list[LedgerEntry] = []
        for one, gain in zip(passes, gained(self.scene, [one.run for one in passes]), strict=True):
            stretch = Stretch(
                "hill", one.name, one.run, one.run, one.energy, self._caught(one.counted), gain,
                one.available_wh, one.counted, one.possible,
            )  # fmt: skip
            entries += self._entries([stretch])
        return entries

    def each_event(self) -> tuple[LedgerEntry, ...]:
        """Every braking event."""
        chunks = (self.events[start : start + AT_ONCE] for start in range(0, len(self.events), AT_ONCE))
        return tuple(entry for chunk in chunks for entry in self._of_events(chunk))

    def _of_events(self, events: Sequence[Event]) -> Sequence[LedgerEntry]:
        """Some braking events, few enough for their trials to be there together."""
        time_s = self.scene.time_s
        spans_s = [(float(time_s[first]), float(time_s[last])) for first, last in (each.counted for each in events)]
        flows = self.scene.flow.energies(spans_s)
        gains = gained(self.scene, [event.losing for event in events])
        return self._entries([
            Stretch(
                "event", f"event {event.place + 1}", event.losing, event.run, replace(flow, returned=event.returned_wh),
                event.returned_wh, gain, event.available_wh, [event.losing], event.possible,
            )
            for event, flow, gain in zip(events, flows, gains, strict=True)
        ])  # fmt: skip

    def _entries(self, stretches: Sequence[Stretch]) -> tuple[LedgerEntry, ...]:
        """The entries of some stretches."""
        if not stretches:
            return ()
        closing_wh = self._closing_wh([stretch.run for stretch in stretches])
        return tuple(self._entry(*pair) for pair in zip(stretches, closing_wh, strict=True))

    def _entry(self, stretch: Stretch, closing_wh: float | None) -> LedgerEntry:
        """The entry of one stretch; `Accounts._closing_wh` gives what is given with it."""
        caught, available, flow = stretch.caught_wh, stretch.available_wh, stretch.flow
        rider = self._rider(stretch.run)
        drag, braking_drag = self._drag([stretch.run]), self._drag(stretch.braked)
        conversion = (caught / self.efficiency - caught).at_least(0.0)
        missed = available - caught
        friction = missed - conversion - braking_drag.or_else(0.0)
        if stretch.kind == "event":
            to_wheel, rest = UNKNOWN, flow.drawn.at_least(0.0) + rider.or_else(0.0) - _driven_wh(stretch)
        else:
            to_wheel = total(stretch.gains.values()) + available + (drag - braking_drag).or_else(0.0)
            given = flow.drawn + rider.or_else(0.0) - stretch.unplaced_wh
            rest = given - (flow.returned - caught) - to_wheel
        found = {
            "rider": rider, **stretch.gains, "drag": drag,
            "to_wheel": to_wheel, "missed": missed, "conversion": conversion, "friction": friction,
            "catchable": self.efficiency * friction, "unplaced": stretch.unplaced_wh, "unexplained": rest,
        }  # fmt: skip
        among = stretch.possible
        quantities: dict[str, Any] = {f"{part}_wh": among.of(each).quantity() for part, each in found.items()}
        of_the_log = {"drawn": flow.drawn, "returned": flow.returned, "caught": caught}  # as everywhere
        never_below = {**of_the_log, "available": among.of(available)}
        quantities |= {f"{part}_wh": each.quantity(least=0.0) for part, each in never_below.items()}
        start_s, end_s = (float(self.scene.time_s[index]) for index in stretch.shown)
        return LedgerEntry(stretch.kind, stretch.name, start_s, end_s, closing_wh=closing_wh, **quantities)

    def _closing_wh(self, runs: Runs) -> list[float | None]:
        """The work at the wheel summed up from forces less that from energies, both by the bike file, of each [Wh]."""
        first, last = np.array(runs).T
        by_energies = sum(part_values_wh(self.scene, runs).values(), np.zeros(len(runs)))
        by_forces = (self.work_j[last] - self.work_j[first]) / 3600
        return [each if math.isfinite(each) else None for each in (by_forces - by_energies).tolist()]

    def _drag(self, runs: Runs) -> Uncertain:
        """What the motor's drag took in all of the runs; unknown where the drag is [Wh]."""
        if not self.drag_n.known:
            return UNKNOWN
        rolled_m = sum(float(self.rolled_m[last] - self.rolled_m[first]) for first, last in runs)
        return self.drag_n * rolled_m / 3600

    def _caught(self, counted: Runs) -> Uncertain:
        """What came back in all of the runs during which the battery was logged; unknown where no return shows [Wh]."""
        if not self.scene.flow.shows_return:
            return UNKNOWN
        known = self._by_counted
        time_s = self.scene.time_s
        apart = [(float(time_s[first]), float(time_s[last])) for first, last in counted if (first, last) not in known]
        whole = total(known[run].returned_wh.or_else(0.0) for run in counted if run in known)
        return whole + self.scene.flow.returned_in(apart)

    def _unplaced(self, run: tuple[int, int]) -> Uncertain:
        """Net drawn before and after a run [Wh]; what the log does not show is left out."""
        parts = [exact(0.0)]
        for start_s, end_s in (
            (float(self.scene.flow.time_s[0]), float(self.scene.time_s[run[0]])),
            (float(self.scene.time_s[run[1]]), float(self.scene.flow.time_s[-1])),
        ):
            if end_s > start_s:
                flowed = self.scene.flow.energy_between(start_s, end_s)
                parts.append(flowed.drawn.or_else(0.0) - flowed.returned.or_else(0.0))
        return total(parts)

    def _rider(self, run: tuple[int, int], *, least_share: float = LEAST_RIDER_SHARE) -> Uncertain:
        """The rider's work at the pedals [Wh]; unknown where less than ``least_share`` of the samples hold it.

        Samples without a reading count as the mean of the others in the run.
        """
        if self.rider_w is None:
            return UNKNOWN
        first, last = run
        inside, at_s = np.maximum(self.rider_w[first : last + 1], 0.0), self.scene.time_s[first : last + 1]
        if float(np.isfinite(inside).mean()) < least_share:
            return UNKNOWN
        filled = np.where(np.isfinite(inside), inside, np.nanmean(inside))
        bends = np.diff(filled, 2) * np.diff(at_s)[1:]  # a jump between two samples: h²/24 of the two bends it leaves
        sampled_j = self.rider_noise * (math.sqrt(float((bends**2).sum()) / 24))
        return (self.rider_ratio * float(np.trapezoid(filled, at_s)) + sampled_j) / 3600


def _driven_wh(stretch: Stretch) -> Uncertain:
    """What the bike gained in a braking event that had nothing available: somebody drove it meanwhile [Wh].

    In the trials what was available may lie below 0, and holds this already.
    """
    gained = sum(gain.value for gain in stretch.gains.values()) + stretch.available_wh.value
    return Uncertain(max(gained, 0.0) if math.isfinite(gained) else 0.0, np.zeros(1))


def _drag_n(drag: Drag | None, rng: np.random.Generator) -> Uncertain:
    """The drag of the unpowered motor; unknown where the bike file does not tell it [N]."""
    if drag is None:
        rng.uniform(size=N_TRIALS)  # what follows keeps its place in the stream
        return UNKNOWN
    return rectangular(drag.low_n, drag.high_n, rng, source="motor drag")
