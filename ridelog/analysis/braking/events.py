"""Braking events as records: what each had available, what came back, what was captured."""

import math
from collections.abc import Callable, Sequence
from dataclasses import field, replace
from functools import cached_property
from itertools import pairwise
from typing import NamedTuple, overload

import numpy as np

from ridelog.analysis.braking.available import available_in, together
from ridelog.analysis.braking.force import BrakingForce, event_kind
from ridelog.analysis.braking.possible import Possible, captured_pct, possible, raised
from ridelog.analysis.electrical.flow_model import Throughput
from ridelog.analysis.road.height_uncertainty import drop_q
from ridelog.analysis.scene import Scene
from ridelog.answer.braking import Braking, BrakingEvent, BrakingKind, EventKind, KindOfBraking
from ridelog.arrays import Mask
from ridelog.lazy import dataclass
from ridelog.uncertain.quantity import Quantity
from ridelog.uncertain.trials import UNKNOWN, Uncertain, exact

MOST_AT_ONCE = 64  # events whose trials are worked out together
MOST_HELD = (
    8 * MOST_AT_ONCE
)  # events whose trials are held, 0.07 MB each; those of later ones are worked out when asked
KINDS: tuple[KindOfBraking, ...] = ("stop", "slowing", "holding", "unknown")


Run = tuple[int, int]


class CameBack(NamedTuple):
    """What is held of what came back in every event, which hangs on no road.

    ``wh``, ``u_wh`` : best value and standard uncertainty, NaN where it is not known or not evaluated [Wh] · ``ah`` :
    as it is told, ``None`` where it is not known
    """

    wh: float
    u_wh: float
    ah: Quantity | None


class Facts(NamedTuple):
    """What is held of every event, NaN where it is not known.

    ``available_wh``, ``returned_wh`` : best values [Wh] · ``excess_wh``, ``excess_u_wh`` : returned less available [Wh]
    """

    available_wh: float
    returned_wh: float
    excess_wh: float
    excess_u_wh: float

    @property
    def offers(self) -> bool:
        """Whether what was available is known."""
        return math.isfinite(self.available_wh)


class Measured(NamedTuple):
    """What one braking event was measured to be; see `Event`."""

    returned_wh: Uncertain
    available_wh: Uncertain
    possible: Possible


@dataclass(frozen=True)
class Event:
    """One braking event as measured.

    Attributes
    ----------
    run : first and last sample
    counted : the run with the samples before and after it, between which what came back is counted
    losing : the run, widened where the steps at its ends gave energy up, between which what was available is counted
    place : among the events of the ride
    among : these
    """

    run: Run
    counted: Run
    losing: Run
    place: int
    among: "Events" = field(repr=False)

    @property
    def returned_wh(self) -> Uncertain:
        """What came back through the battery terminals meanwhile [Wh]."""
        return self.among.measured(self.place).returned_wh

    @property
    def available_wh(self) -> Uncertain:
        """At the wheel, by all trials [Wh]."""
        return self.among.measured(self.place).available_wh

    @property
    def possible(self) -> Possible:
        """The trials in which what came back can have come from what was available."""
        return self.among.measured(self.place).possible

    @property
    def came_back(self) -> CameBack:
        """What came back, for which nothing of the road is asked."""
        return self.among.came_back[self.place]

    @property
    def facts(self) -> Facts:
        """Its best values, for which its trials are not worked out again."""
        return self.among.facts(self.place)


class Events(Sequence[Event]):
    """The braking events of a ride.

    Of a long ride with many of them the trials together would take gigabytes. Those of the first are held, those of
    the others are worked out again, the same to the last bit, when they are asked for: errors are drawn by their place.

    Parameters
    ----------
    scene : of the ride
    bounds : of each event its run, the run that is counted, and the one that lost
    before : the same events by other road trials, whose flows are the same
    """

    def __init__(self, scene: Scene, bounds: Sequence[tuple[Run, Run, Run]], before: "Events | None" = None) -> None:
        self._scene, self.bounds = scene, bounds
        self._chunks = range((len(bounds) + MOST_AT_ONCE - 1) // MOST_AT_ONCE)
        self._returned: dict[int, list[Uncertain]] = before._returned if before is not None else {}
        self._held: dict[int, tuple[Measured, ...]] = {}
        self._last: tuple[int, tuple[Measured, ...]] = (-1, ())
        self._facts: list[list[Facts]] = []  # of each chunk
        backs = (each for chunk in self._chunks for each in self._came_back(chunk))
        self.came_back: Sequence[CameBack] = before.came_back if before is not None else tuple(backs)

    def __len__(self) -> int:
        return len(self.bounds)

    @overload
    def __getitem__(self, place: int) -> Event: ...
    @overload
    def __getitem__(self, place: slice) -> list[Event]: ...
    def __getitem__(self, place: int | slice) -> Event | list[Event]:
        places = range(len(self))[place]
        if isinstance(places, int):
            return Event(*self.bounds[places], places, self)
        return [self[each] for each in places]

    def measured(self, place: int) -> Measured:
        """What the event of this place was measured to be."""
        chunk, row = divmod(place, MOST_AT_ONCE)
        for each in self._chunks[len(self._facts) :]:  # all, in order: errors are drawn given those drawn before
            self._measured(each)
        return self._measured(chunk)[row]

    def facts(self, place: int) -> Facts:
        """As `Event.facts`."""
        chunk, row = divmod(place, MOST_AT_ONCE)
        if not self._facts:
            self.measured(place)
        return self._facts[chunk][row]

    @cached_property
    def tallies(self) -> "tuple[_Tally, dict[KindOfBraking, _Tally]]":
        """All of them added up, and those of each kind."""
        whole, by_kind = _Tally(), {kind: _Tally() for kind in KINDS}
        for event in self:
            for tally in (whole, by_kind[kind_of(self._scene, event) or "unknown"]):
                tally.add(event)
        return whole, by_kind

    def _measured(self, chunk: int) -> tuple[Measured, ...]:
        found = self._held.get(chunk)
        if found is None:
            if self._last[0] != chunk:
                self._last = -1, ()  # not both at a time
                self._last = chunk, self._worked_out(chunk)
            found = self._last[1]
            if chunk * MOST_AT_ONCE < MOST_HELD:
                self._held[chunk] = found
        return found

    def _worked_out(self, chunk: int) -> tuple[Measured, ...]:
        losing = [each for _, _, each in self._of(chunk)]
        pairs = zip(self._returned_wh(chunk), available_in(self._scene, losing), strict=True)
        result = tuple(_held(*pair) for pair in pairs)
        if chunk == len(self._facts):
            self._facts.append([_facts(each) for each in result])
        return result

    def _of(self, chunk: int) -> Sequence[tuple[Run, Run, Run]]:
        return self.bounds[chunk * MOST_AT_ONCE : (chunk + 1) * MOST_AT_ONCE]

    def _back(self, chunk: int, flows: Callable[[list[tuple[float, float]]], list[Throughput]]) -> list[Uncertain]:
        time_s = self._scene.time_s
        spans_s = [(float(time_s[first]), float(time_s[last])) for _, (first, last), _ in self._of(chunk)]
        return [_at_least_nothing(flow.returned) for flow in flows(spans_s)]

    def _returned_wh(self, chunk: int) -> list[Uncertain]:
        if (found := self._returned.get(chunk)) is None:
            found = self._back(chunk, self._scene.flow.energies)
            if chunk * MOST_AT_ONCE < MOST_HELD:
                self._returned[chunk] = found
        return found

    def _came_back(self, chunk: int) -> list[CameBack]:
        """What is held of that; the trials of the charge nobody asks for."""
        charges = [each.quantity(least=0.0) for each in self._back(chunk, self._scene.flow.charges)]
        return [
            CameBack(each.value, each.u if each.evaluated else math.nan, ah)
            for each, ah in zip(self._returned_wh(chunk), charges, strict=True)
        ]


def measured_events(scene: Scene) -> Events:
    """Every braking event, each with what flowed and what was available.

    Braking began and ended somewhere in the steps on either side of a run, so that what came back is counted from the
    sample before it to the sample after it. So is what was available, where those steps gave any up: coasting gives
    none, and what a driven step took in is not the loss of the brakes. Two that share a sample part there.
    """
    closed = scene.gap_mask.copy()
    for (_, last), (first, _) in pairwise(scene.braking):
        if first == last:
            closed[[last - 1, last]] = True
    counted = [widened(run, closed) for run in scene.braking]
    losing = [losing_run(run, wide, scene.force) for run, wide in zip(scene.braking, counted, strict=True)]
    return Events(scene, list(zip(scene.braking, counted, losing, strict=True)))


def _at_least_nothing(returned: Uncertain) -> Uncertain:
    """What came back with a best value of at least 0, as what was available has, so that events add up.

    The trials stay as they are: cut off one by one, their errors would add up in a sum instead of averaging out.
    """
    return replace(returned, value=max(returned.value, 0.0)) if returned.known else returned


def offered_anew(scene: Scene, events: Events) -> Events:
    """The events with what they had available by the road trials of the scene, where these have changed since."""
    return Events(scene, events.bounds, events)


def _held(returned: Uncertain, available_wh: Uncertain) -> Measured:
    """With the trials in which the event is possible, and what it had available no less than that."""
    among = possible(returned, available_wh)
    return Measured(returned, raised(available_wh, returned, among), among)


def _facts(event: Measured) -> Facts:
    available, returned = event.available_wh, event.returned_wh
    excess = returned - available if available.known and returned.known else UNKNOWN
    return Facts(
        available.value if available.known else math.nan,
        returned.value if returned.known else math.nan,
        excess.value if excess.evaluated else math.nan,
        excess.u if excess.evaluated else math.nan,
    )


def widened(run: tuple[int, int], closed: Mask) -> tuple[int, int]:
    """The run with the sample before and the sample after it, where the step between is not closed, as gaps are."""
    first, last = run
    before = first - 1 if first > 0 and not closed[first - 1] else first
    after = last + 1 if last < len(closed) and not closed[last] else last
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


def braking_record(scene: Scene, events: Events, whole: "Sums | None" = None) -> Braking:
    """All braking events: together, by kind, and each.

    What came back is that of the events during which the battery was logged; what was captured is that of those of them
    whose available energy is known as well.

    Parameters
    ----------
    scene : of the ride
    events : its braking events
    whole : what they had available and returned together, where `summed` was asked before

    Returns
    -------
    Record.
    """
    whole = whole if whole is not None else summed(scene, events)
    among = whole.possible
    return Braking(
        available_wh=among.of(whole.available_wh).quantity(least=0.0),
        returned_wh=whole.returned_wh.quantity(least=0.0) if events else None,
        captured_pct=captured_pct(whole.returned_of_known_wh, whole.available_of_logged_wh, among),
        events=tuple(_record(scene, event) for event in events),
        kinds=kinds_of(scene, events),
    )


def kinds_of(scene: Scene, events: Events) -> tuple[BrakingKind, ...]:
    """The events by kind, those of unknown kind in a row of their own; none where nothing was braked."""
    return tuple(_kind(scene, kind, tally) for kind, tally in events.tallies[1].items()) if events else ()


def _kind(scene: Scene, kind: KindOfBraking, tally: "_Tally") -> BrakingKind:
    whole = tally.sums(scene)
    among = whole.possible
    return BrakingKind(
        kind=kind,
        events=tally.n,
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


class _Tally:
    """Adds events up one by one, so that their trials need not all be there together."""

    def __init__(self) -> None:
        self.n = self.n_logged = 0
        self._available, self._of_logged = exact(0.0), exact(0.0)
        self._returned, self._of_known = exact(0.0), exact(0.0)
        self._any_known = self._any_of_logged = False

    def add(self, event: Event) -> None:
        """Count one event."""
        available, returned = event.available_wh, event.returned_wh
        self.n += 1
        if available.known:
            self._available, self._any_known = self._available + available, True
        if not returned.known:
            return
        self.n_logged += 1
        self._returned = self._returned + returned
        if available.known:
            self._of_known = self._of_known + returned
            self._of_logged, self._any_of_logged = self._of_logged + available, True

    def sums(self, scene: Scene) -> "Sums":
        """What they had available and returned together."""
        shown = scene.flow.total.energy.returned.known  # of no events nothing came back, if the log would show it
        nothing, of_none = together(scene, ()), UNKNOWN
        available = self._available if self._any_known else (of_none if self.n else nothing)
        of_logged = self._of_logged if self._any_of_logged else (of_none if self.n_logged else nothing)
        if not shown:
            return Sums(available, UNKNOWN, UNKNOWN, UNKNOWN)
        return Sums(available, self._returned, self._of_known, of_logged)


def summed(scene: Scene, events: Events) -> Sums:
    """What all events had available and returned together."""
    return events.tallies[0].sums(scene)


def best_wh(events: Sequence[Event]) -> float:
    """What some events had available together, by the best value of each and none less than nothing [Wh]."""
    return math.fsum(max(event.facts.available_wh, 0.0) for event in events if event.facts.offers)


def kind_of(scene: Scene, event: Event) -> EventKind | None:
    """What kind of braking an event is; ``None`` without speed."""
    first, last = event.run
    drop_m = float(scene.motion.height_m[first] - scene.motion.height_m[last])
    return event_kind(float(scene.motion.speed_mps[first]), float(scene.motion.speed_mps[last]), drop_m)


def _record(scene: Scene, event: Event) -> BrakingEvent:
    """The record of one event."""
    first, last = event.run
    start_speed, end_speed = (float(scene.motion.speed_mps[index]) for index in event.run)
    returned = event.returned_wh
    return BrakingEvent(
        start_s=float(scene.time_s[first]),
        end_s=float(scene.time_s[last]),
        kind=kind_of(scene, event),
        start_speed_mps=start_speed if np.isfinite(start_speed) else None,
        end_speed_mps=end_speed if np.isfinite(end_speed) else None,
        drop_m=drop_q(scene.motion, event.run, scene.heights.noise) if scene.heights is not None else None,
        returned_ah=event.came_back.ah,
        returned_wh=returned.quantity(least=0.0),
        available_wh=event.possible.of(event.available_wh).quantity(least=0.0),
        captured_pct=captured_pct(returned, event.available_wh, event.possible),
    )
