"""Braking events as records: what each had available, what came back, what was captured."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from ridelog.analysis.braking.available import available_in, together
from ridelog.analysis.braking.force import BrakingForce, event_kind
from ridelog.analysis.braking.possible import EVERY, Possible, captured_pct, possible, raised
from ridelog.analysis.electrical.flow import Window
from ridelog.analysis.electrical.flow_model import Throughput
from ridelog.analysis.road.height_uncertainty import drop_q
from ridelog.analysis.scene import Scene
from ridelog.answer.braking import Braking, BrakingEvent, BrakingKind, EventKind, KindOfBraking
from ridelog.arrays import Mask
from ridelog.uncertain.trials import UNKNOWN, Uncertain, total

MOST_AT_ONCE = 64  # events whose trials are worked out together: of all of a long ride they take a gigabyte
KINDS: tuple[KindOfBraking, ...] = ("stop", "slowing", "holding", "unknown")


@dataclass(frozen=True)
class Event:
    """One braking event as measured.

    Attributes
    ----------
    run : first and last sample
    counted : the run with the samples before and after it, between which what came back is counted
    losing : the run, widened where the steps at its ends gave energy up, between which what was available is counted
    flow : what went through the battery terminals meanwhile
    available_wh : at the wheel, by all trials [Wh]
    possible : the trials in which what came back can have come from it
    """

    run: tuple[int, int]
    counted: tuple[int, int]
    losing: tuple[int, int]
    flow: Window
    available_wh: Uncertain
    possible: Possible = EVERY


def measured_events(scene: Scene) -> tuple[Event, ...]:
    """Every braking event, each with what flowed and what was available.

    Braking began and ended somewhere in the steps on either side of a run, so that what came back is counted from the
    sample before it to the sample after it. So is what was available, where those steps gave any up: coasting gives
    none, and what a driven step took in is not the loss of the brakes.
    """
    counted = [widened(run, scene.gap_mask) for run in scene.braking]
    losing = [losing_run(run, wide, scene.force) for run, wide in zip(scene.braking, counted, strict=True)]
    spans_s = [(float(scene.time_s[first]), float(scene.time_s[last])) for first, last in counted]
    events: list[Event] = []
    for start in range(0, len(spans_s), MOST_AT_ONCE):
        some = slice(start, start + MOST_AT_ONCE)
        flows = [_of_an_event(flow) for flow in scene.flow.windows(spans_s[some])]
        pieces = zip(
            scene.braking[some], counted[some], losing[some], flows, available_in(scene, losing[some]), strict=True
        )
        events += [_held(Event(*piece)) for piece in pieces]
    return tuple(events)


def _of_an_event(flow: Window) -> Window:
    """The flow with best values of what came back of at least 0, as what was available has, so that events add up.

    The trials stay as they are: cut off one by one, their errors would add up in a sum instead of averaging out. Of
    the charge that was drawn meanwhile nothing is told: its trials would be held for nothing.
    """

    def at_least_nothing(through: Throughput) -> Throughput:
        back = through.returned
        return replace(through, returned=replace(back, value=max(back.value, 0.0))) if back.known else through

    charge = at_least_nothing(flow.charge)
    return Window(replace(charge, drawn=UNKNOWN), at_least_nothing(flow.energy))


def offered_anew(scene: Scene, events: Sequence[Event]) -> tuple[Event, ...]:
    """The events with what they had available by the road trials of the scene, where these have changed since."""
    anew: list[Event] = []
    for start in range(0, len(events), MOST_AT_ONCE):
        some = events[start : start + MOST_AT_ONCE]
        offered = available_in(scene, [event.losing for event in some])
        anew += [_held(replace(event, available_wh=wh)) for event, wh in zip(some, offered, strict=True)]
    return tuple(anew)


def _held(event: Event) -> Event:
    """The event with the trials in which it is possible, and what it had available no less than that."""
    returned = event.flow.energy.returned
    among = possible(returned, event.available_wh)
    return replace(event, available_wh=raised(event.available_wh, returned, among), possible=among)


def widened(run: tuple[int, int], gap_mask: Mask) -> tuple[int, int]:
    """The run with the sample before and the sample after it, where no gap lies between."""
    first, last = run
    before = first - 1 if first > 0 and not gap_mask[first - 1] else first
    after = last + 1 if last < len(gap_mask) and not gap_mask[last] else last
    return before, after


def losing_run(run: tuple[int, int], wide: tuple[int, int], force: BrakingForce) -> tuple[int, int]:
    """The run, widened where the steps at its ends gave energy up.

    Parameters
    ----------
    run : first and last sample
    wide : the run with the samples before and after it
    force : what slowed the bike, with the energy that it held

    Returns
    -------
    First and last sample.
    """
    first = wide[0] if force.state_j[wide[0]] > force.state_j[run[0]] else run[0]
    last = wide[1] if force.state_j[wide[1]] < force.state_j[run[1]] else run[1]
    return first, last


def braking_record(scene: Scene, events: Sequence[Event]) -> Braking:
    """All braking events: together, by kind, and each.

    What came back is that of the events during which the battery was logged; what was captured is that of those of them
    whose available energy is known as well.
    """
    whole = summed(scene, events)
    among = whole.possible
    return Braking(
        available_wh=among.of(whole.available_wh).quantity(least=0.0),
        returned_wh=whole.returned_wh.quantity(least=0.0) if events else None,
        captured_pct=captured_pct(whole.returned_of_known_wh, whole.available_of_logged_wh, among),
        events=tuple(_record(scene, event) for event in events),
        kinds=kinds_of(scene, events),
    )


def kinds_of(scene: Scene, events: Sequence[Event]) -> tuple[BrakingKind, ...]:
    """The events by kind, those of unknown kind in a row of their own; none where nothing was braked."""
    by_kind: dict[KindOfBraking, list[Event]] = {kind: [] for kind in KINDS}
    for event in events:
        by_kind[kind_of(scene, event) or "unknown"].append(event)
    return tuple(_kind(scene, kind, each) for kind, each in by_kind.items()) if events else ()


def _kind(scene: Scene, kind: KindOfBraking, events: Sequence[Event]) -> BrakingKind:
    whole = summed(scene, events)
    among = whole.possible
    return BrakingKind(
        kind=kind,
        events=len(events),
        available_wh=among.of(whole.available_wh).quantity(least=0.0),
        returned_wh=whole.returned_wh.quantity(least=0.0),
        captured_pct=captured_pct(whole.returned_of_known_wh, whole.available_of_logged_wh, among),
        missed_wh=among.of(whole.available_wh - whole.returned_of_known_wh).quantity(),
    )


@dataclass(frozen=True)
class Sums:
    """Of some events: what was available and what came back, each of those in which it is known [Wh].

    ``returned_of_known_wh`` : of those whose available energy is known · ``available_of_logged_wh`` : of those during
    which the battery was logged
    """

    available_wh: Uncertain
    returned_wh: Uncertain
    returned_of_known_wh: Uncertain
    available_of_logged_wh: Uncertain

    @property
    def possible(self) -> Possible:
        """The trials in which what came back of them can have come from them."""
        return possible(self.returned_of_known_wh, self.available_of_logged_wh)


def summed(scene: Scene, events: Sequence[Event]) -> Sums:
    """What some events had available and returned together."""
    shown = scene.flow.total.energy.returned.known  # of no events nothing came back, if the log would show it
    logged = [event for event in events if event.flow.energy.returned.known]
    returned = [event.flow.energy.returned for event in logged]
    of_known = [event.flow.energy.returned for event in logged if event.available_wh.known]
    return Sums(
        together(scene, [event.available_wh for event in events]),
        total(returned) if shown else UNKNOWN,
        total(of_known) if shown else UNKNOWN,
        together(scene, [event.available_wh for event in logged]) if shown else UNKNOWN,
    )


def kind_of(scene: Scene, event: Event) -> EventKind | None:
    """What kind of braking an event is; ``None`` without speed."""
    first, last = event.run
    drop_m = float(scene.motion.height_m[first] - scene.motion.height_m[last])
    return event_kind(float(scene.motion.speed_mps[first]), float(scene.motion.speed_mps[last]), drop_m)


def _record(scene: Scene, event: Event) -> BrakingEvent:
    """The record of one event."""
    first, last = event.run
    start_speed, end_speed = (float(scene.motion.speed_mps[index]) for index in event.run)
    returned = event.flow.energy.returned
    return BrakingEvent(
        start_s=float(scene.time_s[first]),
        end_s=float(scene.time_s[last]),
        kind=kind_of(scene, event),
        start_speed_mps=start_speed if np.isfinite(start_speed) else None,
        end_speed_mps=end_speed if np.isfinite(end_speed) else None,
        drop_m=drop_q(scene.motion, event.run, scene.heights.noise) if scene.heights is not None else None,
        returned_ah=event.flow.charge.returned.quantity(least=0.0),
        returned_wh=returned.quantity(least=0.0),
        available_wh=event.possible.of(event.available_wh).quantity(least=0.0),
        captured_pct=captured_pct(returned, event.available_wh, event.possible),
    )
