"""Passes over hills: each worked out once, or anew where a ride has very many of them."""

from bisect import bisect_left, bisect_right
from collections.abc import Sequence
from dataclasses import field, replace
from typing import NamedTuple, overload

import numpy as np
from numpy.typing import NDArray

from ridelog.analysis.braking.available import offered_in
from ridelog.analysis.braking.events import Events, best_wh
from ridelog.analysis.braking.height_trials import drop_trials
from ridelog.analysis.braking.possible import Possible, held_to_whole, possible, raised
from ridelog.analysis.electrical.flow_model import Throughput
from ridelog.analysis.road.hills.slopes import Slope
from ridelog.analysis.road.profile import Profile
from ridelog.analysis.scene import Heights, Scene
from ridelog.arrays import Floats, Runs, time_gaps
from ridelog.lazy import dataclass
from ridelog.uncertain.seeds import unseen_hill_stream
from ridelog.uncertain.trials import N_TRIALS, Uncertain, exact

# Where a slope begins and ends: the grid of 5 m, the position, and the vertical curve on which the grade passes 1 %.
# 93 of 100 ends of simulated hills (curves of 5 to 70 m, a good barometer) lie within two standard uncertainties.
BOUND_U_M = 8.0
MOST_HELD = 128  # passes whose trials are held, 0.1 MB each; those of later ones are worked out again when asked for
AT_ONCE = 64  # whose heights are drawn together
Road = tuple[float, float, float]  # start and end [s] and length [m] of a stretch of road


class Measured(NamedTuple):
    """What one pass was measured to be; see `HillPass`."""

    energy: Throughput
    available_wh: Uncertain
    possible: Possible


@dataclass(frozen=True)
class HillPass:
    """One pass over a hill, in one direction, as measured.

    Attributes
    ----------
    slope : where it lies on the height profile
    number : of the hill, counted from 1; both directions share it
    run : first and last sample on it
    unseen : road before and after it that was ridden without a known height, where the hill may go on
    counted, losing : the parts of the braking events on it, as in `Event`
    place : among the passes of the ride
    among : these
    """

    slope: Slope
    number: int
    run: tuple[int, int]
    unseen: tuple[Road, Road]
    counted: Runs
    losing: Runs
    place: int
    among: "Passes" = field(repr=False)

    @property
    def name(self) -> str:
        """As people say it."""
        return f"Hill {self.number}, {self.slope.direction}"

    @property
    def energy(self) -> Throughput:
        """Through the battery terminals [Wh]."""
        return self.among.measured(self.place).energy

    @property
    def available_wh(self) -> Uncertain:
        """What the braking on it had available, by all trials [Wh]."""
        return self.among.measured(self.place).available_wh

    @property
    def possible(self) -> Possible:
        """The trials in which what came back on it can have come from that."""
        return self.among.measured(self.place).possible


class Passes(Sequence[HillPass]):
    """The passes over the hills of a ride, in the order ridden.

    The trials of the first are held, those of others worked out again, the same to the last bit, when they are asked
    for: errors are drawn by their place, given those drawn before.

    Parameters
    ----------
    scene, heights : of the ride
    slopes, numbers : of each pass
    events : braking events of the ride
    """

    def __init__(
        self, scene: Scene, heights: Heights, slopes: Sequence[Slope], numbers: Sequence[int], events: Events
    ) -> None:
        self._scene = scene
        runs = _runs_on(scene.track.distance_m, [ends_m(heights.profile, slope) for slope in slopes])
        roads = [unseen_road(scene, heights, slope) for slope in slopes]
        parts = [within(scene, events, run) for run in runs]
        self._passes = [
            HillPass(slope, number, run, road, counted, losing, place, self)
            for place, (slope, number, run, road, (counted, losing)) in enumerate(
                zip(slopes, numbers, runs, roads, parts, strict=True)
            )
        ]
        self._bounds_u_s = [_bounds_u_s(scene, slope, run) for slope, run in zip(slopes, runs, strict=True)]
        self._held: dict[int, Measured] = {}
        self._last: tuple[int, Measured] | None = None
        self._available_wh: list[float] | None = None
        for start in range(0, len(runs), AT_ONCE):  # the heights at their ends before those of the braking on them
            drop_trials(
                scene.motion, heights.noise, runs[start : start + AT_ONCE], seed=scene.road.seed, n=scene.road.n
            )
        values = [(one.available_wh.value, one.energy.returned.value) for one in self._passes]
        held = held_to_whole([(exact(available), exact(returned)) for available, returned in values], best_wh(events))
        self._available_wh = [available.value for available in held]
        self._held = {place: self._told(place, one) for place, one in self._held.items()}
        self._last = None

    def __len__(self) -> int:
        return len(self._passes)

    @overload
    def __getitem__(self, place: int) -> HillPass: ...
    @overload
    def __getitem__(self, place: slice) -> list[HillPass]: ...
    def __getitem__(self, place: int | slice) -> HillPass | list[HillPass]:
        return self._passes[place]

    def measured(self, place: int) -> Measured:
        """What the pass of this place was measured to be."""
        found = self._held.get(place)
        if found is not None:
            return found
        if self._last is None or self._last[0] != place:
            self._last = place, self._told(place, self._worked_out(self._passes[place]))
        if place < MOST_HELD:
            self._held[place] = self._last[1]
        return self._last[1]

    def _worked_out(self, one: HillPass) -> Measured:
        energy = _energy(self._scene, one, self._bounds_u_s[one.place])
        offer = offered_in(self._scene, one.losing)
        among = possible(energy.returned, offer)
        return Measured(energy, raised(offer, energy.returned, among), among)

    def _told(self, place: int, one: Measured) -> Measured:
        """With what it had available as all passes together are held to what the ride had, once that is known."""
        if self._available_wh is None or not one.available_wh.known:
            return one
        return one._replace(available_wh=replace(one.available_wh, value=self._available_wh[place]))


def within(scene: Scene, events: Events, run: tuple[int, int]) -> tuple[Runs, Runs]:
    """The parts of the braking events in a run: where what came back is counted, and where energy was given up.

    Events whose ends have no height are left out of both, as what they had available is not known.

    Parameters
    ----------
    scene : of the ride
    events : its braking events
    run : first and last sample

    Returns
    -------
    First and last sample of each part, both lists of one length.
    """
    first, last = run
    state_j = scene.force.state_j
    counted, losing = [], []
    bounds = events.bounds  # in order: those that lie on the run follow each other
    begin = bisect_right(bounds, first, key=lambda each: each[2][1])
    end = bisect_left(bounds, last, key=lambda each: each[2][0])
    for _, wide, lost in bounds[begin:end]:
        (a, b), (c, d) = ((max(first, start), min(last, end)) for start, end in (lost, wide))
        if a < b and np.isfinite(state_j[b] - state_j[a]):
            losing.append((a, b))
            counted.append((c, d))
    return counted, losing


def ends_m(profile: Profile, slope: Slope) -> tuple[float, float]:
    """Where a slope begins and ends along the ride [m]."""
    return float(profile.distance_m[slope.start]), float(profile.distance_m[slope.end])


def _bounds_u_s(scene: Scene, slope: Slope, run: tuple[int, int]) -> tuple[float, float]:
    """How sure it is when a slope begins and ends, as standard uncertainties [s].

    Where it does is known to about `BOUND_U_M` and to what the errors of the heights leave open, and when the bike was
    there as well as the clock of the track is; the speed there turns metres into seconds.
    """
    motion = scene.motion
    bounds_u_m = [float(np.hypot(BOUND_U_M, u_m)) for u_m in (slope.start_u_m, slope.end_u_m)]
    speeds = [float(motion.speed_mps[index]) for index in run]
    at_s = [u_m / max(v, 1.0) if np.isfinite(v) else 0.0 for u_m, v in zip(bounds_u_m, speeds, strict=True)]
    start_u_s, end_u_s = (float(np.hypot(u_s, motion.height_clock_u_s)) for u_s in at_s)
    return start_u_s, end_u_s


def _energy(scene: Scene, one: HillPass, bounds_u_s: tuple[float, float]) -> Throughput:
    """Energy through the battery terminals on a slope [Wh].

    The hill may go on unseen over any part of the road beyond the known heights.
    """
    span_s = float(scene.time_s[one.run[0]]), float(scene.time_s[one.run[1]])
    (energy,) = scene.flow.energies([span_s], bounds_u_s=[bounds_u_s])
    return _with_unseen(scene, energy, span_s, one.unseen)


def _with_unseen(
    scene: Scene, energy: Throughput, span_s: tuple[float, float], unseen: tuple[Road, Road]
) -> Throughput:
    """The energy on a slope with what may have flowed where it goes on unseen before and after it [Wh]."""
    for side, (start_s, end_s, _) in enumerate(unseen):
        if end_s > start_s:
            more = scene.flow.energy_between(start_s, end_s)
            if not more.drawn.known:  # nor was the current logged there
                continue
            part = Uncertain(0.0, unseen_hill_stream(side, span_s[side]).uniform(0, 1, N_TRIALS))
            energy = energy + Throughput(_beyond(more.drawn, part), _beyond(more.returned, part))
    return energy


def _beyond(flowed: Uncertain, part: Uncertain) -> Uncertain:
    """What of a flow on unseen road belongs to the hill: nothing in its best value, any part of it in the trials."""
    return flowed * part


def unseen_road(
    scene: Scene, heights: Heights, slope: Slope, *, edge_m: float = 30.0, longest_s: float = 300.0
) -> tuple[Road, Road]:
    """The road before and after a slope that was ridden without a known height.

    Parameters
    ----------
    scene, heights : of the ride
    slope : goes on unseen where it begins or ends within ``edge_m`` of the first or last known height and the bike
        moved there
    edge_m : see ``slope`` [m]
    longest_s : more than this before or after is another road [s]

    Returns
    -------
    before, after : start, end and length, all 0 where there is none
    """
    profile, motion, passed_s = heights.profile, scene.motion, heights.noise.passed_s
    edge = round(edge_m / float(profile.distance_m[1] - profile.distance_m[0]))
    first_s, last_s = float(passed_s[0]), float(passed_s[-1])
    spans = [(first_s - longest_s, first_s, slope.start <= edge)]
    spans.append((last_s, last_s + longest_s, slope.end >= len(passed_s) - 1 - edge))
    roads = []
    for start_s, end_s, touches in spans:
        if not touches:
            roads.append((0.0, 0.0, 0.0))
            continue
        inside = (motion.time_s >= start_s) & (motion.time_s <= end_s) & np.isfinite(motion.speed_mps)
        known, speed_mps = motion.time_s[inside], motion.speed_mps[inside]
        steps_m = np.diff(known) * (speed_mps[1:] + speed_mps[:-1]) / 2
        length_m = float(steps_m[~time_gaps(known)].sum()) if len(known) > 1 else 0.0
        roads.append((float(known[0]), float(known[-1]), length_m) if length_m > edge_m else (0.0, 0.0, 0.0))
    return roads[0], roads[1]


def _runs_on(distance_m: Floats, ends_m: Sequence[tuple[float, float]]) -> Runs:
    """First and last sample on each of some stretches, in order; what two of them share is parted between them.

    A stretch goes from the last sample not beyond its start to the first at its end: a rest at foot or top is no part
    of a hill. Where one begins as another ends, the nearest sample to there is the last of the one and the first of the
    other, so that no second is on two hills.
    """
    known = np.flatnonzero(np.isfinite(distance_m))
    along_m = distance_m if len(known) == len(distance_m) else distance_m[known]
    runs = [_samples_on(known, along_m, *ends) for ends in ends_m]
    for k in range(len(runs) - 1):
        (begin, end), (start, last) = runs[k], runs[k + 1]
        shared = np.arange(max(start, begin + 1), min(end, last - 1) + 1)
        if end > start and len(shared):
            off_m = np.abs(distance_m[shared] - (ends_m[k][1] + ends_m[k + 1][0]) / 2)
            at = int(shared[np.argmin(np.nan_to_num(off_m, nan=np.inf))])
            runs[k], runs[k + 1] = (begin, at), (at, last)
    return runs


def _samples_on(known: NDArray[np.intp], along_m: Floats, start_m: float, end_m: float) -> tuple[int, int]:
    """Of samples with a known distance the last not beyond the start and the first at the end."""
    first = max(0, int(np.searchsorted(along_m, start_m, side="right")) - 1)
    last = min(len(along_m) - 1, int(np.searchsorted(along_m, end_m, side="left")))
    return int(known[first]), int(known[max(first, last)])
