"""Hills: what each took, what it gave back, and hills ridden both ways. Each pass over a hill is worked out once."""

from bisect import bisect
from collections.abc import Iterable, Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from ridelog.analysis.braking.available import gained, offered_in
from ridelog.analysis.braking.events import Event, best_wh
from ridelog.analysis.braking.possible import Possible, captured_pct, held_to_whole, possible, raised
from ridelog.analysis.electrical.flow_model import Throughput
from ridelog.analysis.road.height_uncertainty import hill_height_q, mean_grade_q, told_slopes
from ridelog.analysis.road.hills.agreed_slopes import agreed_slopes
from ridelog.analysis.road.hills.slopes import DEFAULT_SETTINGS as SLOPES
from ridelog.analysis.road.hills.slopes import Slope
from ridelog.analysis.road.places import same_hill_pairs
from ridelog.analysis.road.profile import Profile
from ridelog.analysis.scene import Heights, Scene
from ridelog.answer.hills import Hill, HillPair
from ridelog.arrays import Floats, Runs, time_gaps
from ridelog.findings import Fact, Finding
from ridelog.lazy import dataclass
from ridelog.uncertain.quantity import Quantity
from ridelog.uncertain.seeds import unseen_hill_stream
from ridelog.uncertain.trials import N_TRIALS, Uncertain, share_of_whole_pct, total

# Where a slope begins and ends: the grid of 5 m, the position, and the vertical curve on which the grade passes 1 %.
# 93 of 100 ends of simulated hills (curves of 5 to 70 m, a good barometer) lie within two standard uncertainties.
BOUND_U_M = 8.0
Road = tuple[float, float, float]  # start and end [s] and length [m] of a stretch of road


@dataclass(frozen=True)
class HillPass:
    """One pass over a hill, in one direction, as measured.

    Attributes
    ----------
    slope : where it lies on the height profile
    number : of the hill, counted from 1; both directions share it
    run : first and last sample on it
    unseen : road before and after it that was ridden without a known height, where the hill may go on
    energy : through the battery terminals [Wh]
    gains : what the bike gained and lost at the wheel, see `gained` [Wh]
    available_wh : what the braking on it had available, by all trials [Wh]
    possible : the trials in which what came back on it can have come from that
    counted, losing : the parts of the braking events on it, as in `Event`
    """

    slope: Slope
    number: int
    run: tuple[int, int]
    unseen: tuple[Road, Road]
    energy: Throughput
    gains: dict[str, Uncertain]
    available_wh: Uncertain
    possible: Possible
    counted: Runs
    losing: Runs

    @property
    def name(self) -> str:
        """As people say it."""
        return f"Hill {self.number}, {self.slope.direction}"


def hill_passes(
    scene: Scene, events: Sequence[Event], *, min_height_m: float, min_grade_pct: float
) -> tuple[tuple[HillPass, ...], tuple[tuple[int, int], ...]]:
    """Every pass over a hill of a ride, and which of them are one hill ridden up and down.

    Parameters
    ----------
    scene : of the ride
    events : its braking events
    min_height_m, min_grade_pct : least height and mean grade of a hill [m], [%]

    Returns
    -------
    passes : in the order ridden
    pairs : index of the pass up and of the pass down
    """
    if scene.heights is None:
        return (), ()
    profile, noise = scene.heights.profile, scene.heights.noise
    settings = replace(SLOPES, min_height_m=min_height_m, min_grade_pct=min_grade_pct)
    slopes = told_slopes(agreed_slopes(profile, noise, settings), noise)
    pairs = _pairs(scene, scene.heights, slopes)
    numbers = _numbers(len(slopes), dict(pairs))
    runs = _runs_on(scene.track.distance_m, [_ends_m(profile, slope) for slope in slopes])
    passes = _passes(scene, scene.heights, slopes, runs, numbers, events)
    whole_wh = best_wh(events)
    held = held_to_whole([(one.available_wh, one.energy.returned) for one in passes], whole_wh)
    return tuple(replace(one, available_wh=wh) for one, wh in zip(passes, held, strict=True)), tuple(pairs)


def hill_records(
    scene: Scene, passes: Sequence[HillPass], pairs: Iterable[tuple[int, int]]
) -> tuple[tuple[Hill, ...], tuple[HillPair, ...]]:
    """The records of all passes and of the hills ridden both ways.

    A hill ridden both ways keeps one number ("Hill 2, up" and "Hill 2, down"); hills are numbered in the order in
    which they are first met.

    Parameters
    ----------
    scene : of the ride
    passes : in the order ridden
    pairs : index of the pass up and of the pass down of a hill ridden both ways

    Returns
    -------
    A record for each pass, and one for each pair.
    """
    if scene.heights is None:
        return (), ()
    returned = scene.flow.total.energy.returned
    hills = tuple(_record(scene, scene.heights, one, returned) for one in passes)
    both = (
        HillPair(hills[up].id, hills[down].id, both_ways_pct(passes[up], passes[down]).quantity()) for up, down in pairs
    )
    return hills, tuple(both)


def descents_share_pct(scene: Scene, passes: Sequence[HillPass]) -> Quantity | None:
    """Of all that came back on a ride, what came back on the hills ridden down; ``None`` without such a hill [%]."""
    down = [one.energy.returned for one in passes if one.slope.direction == "down"]
    return share_of_whole_pct(total(down), scene.flow.total.energy.returned) if down else None


def both_ways_pct(up: HillPass, down: HillPass) -> Uncertain:
    """Returned going down over drawn going up; the zero and gain of the sensor are the same in both [%]."""
    return down.energy.told.returned.share_pct(up.energy.told.drawn)


def within(scene: Scene, events: Sequence[Event], run: tuple[int, int]) -> tuple[Runs, Runs]:
    """The parts of the braking events in a run: where what came back is counted, and where energy was given up.

    Events whose ends have no height are left out of both, as what they had available is not known.

    Parameters
    ----------
    scene : of the ride
    events : its braking events, in the order ridden
    run : first and last sample

    Returns
    -------
    First and last sample of each part, both lists of one length.
    """
    first, last = run
    state_j = scene.force.state_j
    counted, losing = [], []
    place = bisect(events, first, key=lambda event: event.losing[1])
    while place < len(events) and (event := events[place]).losing[0] < last:
        place += 1
        (a, b), (c, d) = ((max(first, start), min(last, end)) for start, end in (event.losing, event.counted))
        if a < b and np.isfinite(state_j[b] - state_j[a]):
            losing.append((a, b))
            counted.append((c, d))
    return counted, losing


def _pairs(scene: Scene, heights: Heights, slopes: list[Slope]) -> list[tuple[int, int]]:
    """Slopes that are one hill ridden up and down."""
    if scene.plane is None:
        return []
    distance, profile = scene.track.distance_m, heights.profile
    known = np.isfinite(distance) & np.isfinite(scene.plane.east_m)
    axes = (scene.plane.east_m, scene.plane.north_m)
    east_m, north_m = (np.interp(profile.distance_m, distance[known], axis[known]) for axis in axes)
    return same_hill_pairs(slopes, profile, east_m, north_m)


def _ends_m(profile: Profile, slope: Slope) -> tuple[float, float]:
    """Where a slope begins and ends along the ride [m]."""
    return float(profile.distance_m[slope.start]), float(profile.distance_m[slope.end])


def _passes(
    scene: Scene, heights: Heights, slopes: Sequence[Slope], runs: Runs, numbers: Sequence[int], events: Sequence[Event]
) -> list[HillPass]:
    """What was measured on each slope."""
    braked = [within(scene, events, run) for run in runs]
    gains = gained(scene, runs)
    offered = [offered_in(scene, losing) for _, losing in braked]
    unseen = [unseen_road(scene, heights, slope) for slope in slopes]
    energies = _energies(scene, slopes, runs, unseen)
    passes = []
    for slope, number, run, road, energy, gain, offer, (counted, losing) in zip(
        slopes, numbers, runs, unseen, energies, gains, offered, braked, strict=True
    ):
        among = possible(energy.returned, offer)
        available = raised(offer, energy.returned, among)
        passes.append(HillPass(slope, number, run, road, energy, gain, available, among, counted, losing))
    return passes


def _energies(
    scene: Scene, slopes: Sequence[Slope], runs: Runs, unseen: Sequence[tuple[Road, Road]]
) -> list[Throughput]:
    """Energy through the battery terminals on each slope [Wh].

    Where a slope begins and ends is known to about `BOUND_U_M` and to what the errors of the heights leave open, and
    when the bike was there as well as the clock of the track is; the speed there turns metres into seconds. The hill
    may go on unseen over any part of the road beyond the known heights.
    """
    motion = scene.motion
    spans_s = [(float(scene.time_s[first]), float(scene.time_s[last])) for first, last in runs]
    bounds_u_s = []
    for slope, run in zip(slopes, runs, strict=True):
        bounds_u_m = [float(np.hypot(BOUND_U_M, u_m)) for u_m in (slope.start_u_m, slope.end_u_m)]
        speeds = [float(motion.speed_mps[index]) for index in run]
        at_s = [u_m / max(v, 1.0) if np.isfinite(v) else 0.0 for u_m, v in zip(bounds_u_m, speeds, strict=True)]
        start_u_s, end_u_s = (float(np.hypot(u_s, motion.height_clock_u_s)) for u_s in at_s)
        bounds_u_s.append((start_u_s, end_u_s))
    energies = scene.flow.energies(spans_s, bounds_u_s=bounds_u_s)
    return [_with_unseen(scene, *each) for each in zip(energies, spans_s, unseen, strict=True)]


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


def _height(heights: Heights, one: HillPass) -> Quantity:
    """Height with its interval; a slope that goes on unseen may do so at its own grade over all of that road."""
    height, slope = hill_height_q(one.slope, heights.noise), one.slope
    grade = slope.height_m / float(heights.profile.distance_m[slope.end] - heights.profile.distance_m[slope.start])
    more_m = 0.975 * grade * sum(length_m for *_, length_m in one.unseen)
    low_m, high_m = height.low95, height.high95
    if low_m is None or high_m is None:
        return height
    return Quantity(height.value, low_m + min(more_m, 0.0), high_m + max(more_m, 0.0))


def cut_findings(hills: Sequence[Hill], passes: Sequence[HillPass]) -> list[Finding]:
    """A finding for each hill that begins before the heights do, or ends after them."""
    findings = []
    for hill, one in zip(hills, passes, strict=True):
        before, after = (length_m > 0 for *_, length_m in one.unseen)
        if not before and not after:
            continue
        facts: dict[str, Fact] = {"hill": hill.name, "goes_on_before": before, "goes_on_after": after}
        findings.append(Finding("hill-cut", "note", facts, hill.start_s, hill.end_s))
    return findings


def _numbers(n: int, partner: dict[int, int]) -> list[int]:
    """Number of each slope, counted from 1; both directions of one hill share it."""
    first_of = {down: up for up, down in partner.items()} | partner
    numbers: list[int] = []
    for index in range(n):
        other = first_of.get(index)
        numbers.append(numbers[other] if other is not None and other < index else max(numbers, default=0) + 1)
    return numbers


def _record(scene: Scene, heights: Heights, one: HillPass, returned: Uncertain) -> Hill:
    """The record of one pass; ``returned`` is what came back on the whole ride [Wh]."""
    slope, energy = one.slope, one.energy
    start_m, end_m = _ends_m(heights.profile, slope)
    start_s, end_s = (float(scene.time_s[index]) for index in one.run)
    return Hill(
        id=f"{one.number}-{slope.direction}",
        name=one.name,
        direction=slope.direction,
        start_s=start_s,
        end_s=end_s,
        start_m=start_m,
        end_m=end_m,
        length_m=end_m - start_m,
        height_m=_height(heights, one),
        mean_grade_pct=mean_grade_q(slope, heights.profile, heights.noise),
        drawn_wh=energy.drawn.quantity(least=0.0),
        returned_wh=energy.returned.quantity(least=0.0),
        recovered_pct=energy.recovered_pct.quantity() if slope.direction == "up" else None,
        available_wh=one.possible.of(one.available_wh).quantity(least=0.0),
        captured_pct=captured_pct(energy.returned, one.available_wh, one.possible),
        number=one.number,
        share_of_returned_pct=share_of_whole_pct(energy.returned, returned),
    )


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
