"""Hills as records: what each took, what it gave back, and hills ridden both ways."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from ridelog.analysis.braking.events import Available, Roadside, available_with_bounds, captured
from ridelog.analysis.electrical.flow import ElectricalFlow
from ridelog.analysis.electrical.flow_model import Draws, share
from ridelog.analysis.road.height_uncertainty import HeightNoise, hill_height_q, mean_grade_q
from ridelog.analysis.road.profile import Profile, Slope
from ridelog.answer.hills import Hill, HillPair
from ridelog.arrays import Floats, Runs, time_gaps
from ridelog.findings import Fact, Finding
from ridelog.uncertain.quantity import Quantity


@dataclass(frozen=True)
class Ground:
    """What hills are evaluated from: the height profile with its errors, distance along the ride (shape (n,)), motion,
    and the braking events.

    ``clock_u_s`` is the standard uncertainty of the clock that height and distance come with.
    """

    profile: Profile
    noise: HeightNoise
    distance_m: Floats
    roadside: Roadside
    braking: Runs
    clock_u_s: float = 0.0


def hill_records(
    slopes: Sequence[Slope], pairs: Iterable[tuple[int, int]], ground: Ground, flow: ElectricalFlow
) -> tuple[tuple[Hill, ...], tuple[HillPair, ...]]:
    """Records of all slopes and of those ridden both ways.

    A hill ridden both ways keeps one number ("Hill 2, up" and "Hill 2, down"); hills are numbered in the order in
    which they are first met.
    """
    pairs = tuple(pairs)
    numbers = _numbers(len(slopes), dict(pairs))
    spans = [_span(slope, ground) for slope in slopes]
    draws = [_energy(flow, ground, slope, span) for slope, span in zip(slopes, spans, strict=True)]
    hills = tuple(
        _record(slope, number, ground, span, flow.shows_return, energy)
        for slope, number, span, energy in zip(slopes, numbers, spans, draws, strict=True)
    )
    both = tuple(
        HillPair(hills[up].id, hills[down].id, _both_ways(draws[up], draws[down], flow.shows_return))
        for up, down in pairs
    )
    return hills, both


def _energy(
    flow: ElectricalFlow, ground: Ground, slope: Slope, span: tuple[int, int], *, bound_u_m: float = 6.0
) -> Draws | None:
    """Energy on a slope.

    Where a slope begins and ends is known to about ``bound_u_m`` (the grid of 5 m, the vertical curve, the position)
    and to what the errors of the heights leave open, and when the bike was there as well as the clock of the track is;
    the speed there turns metres into seconds.
    """
    times = [float(ground.roadside.motion.time_s[index]) for index in span]
    speeds = [float(ground.roadside.motion.speed_mps[index]) for index in span]
    bounds_u_m = [np.hypot(bound_u_m, u_m) for u_m in (slope.start_u_m, slope.end_u_m)]
    at_s = [u_m / max(v, 1.0) if np.isfinite(v) else 0.0 for u_m, v in zip(bounds_u_m, speeds, strict=True)]
    start_u_s, end_u_s = (float(np.hypot(u_s, ground.clock_u_s)) for u_s in at_s)
    energy = flow.between(*times, bounds_u_s=(start_u_s, end_u_s)).energy
    for side, (start_s, end_s, _) in enumerate(unseen_road(slope, ground)):
        more = flow.between(start_s, end_s).energy if end_s > start_s else None
        if energy is not None and more is not None:  # the hill may go on unseen over any part of that road
            part = np.random.default_rng([side, round(times[side])]).uniform(0, 1, len(energy.drawn))
            drawn, returned = energy.drawn + part * more.drawn, energy.returned + part * more.returned
            energy = Draws(drawn, returned, energy.nominal)
    return energy


def unseen_road(
    slope: Slope, ground: Ground, *, edge_m: float = 30.0, longest_s: float = 300.0
) -> tuple[tuple[float, float, float], tuple[float, float, float]]:
    """Start, end [s] and length [m] of the road before and after a slope that was ridden without a known height.

    Parameters
    ----------
    slope, ground : a slope that begins or ends within ``edge_m`` of the first or last known height goes on unseen,
        where the bike moved there
    longest_s : more than this before or after is another road [s]
    """
    profile, motion, passed_s = ground.profile, ground.roadside.motion, ground.noise.passed_s
    edge = round(edge_m / float(profile.distance_m[1] - profile.distance_m[0]))
    first_s, last_s = float(passed_s[0]), float(passed_s[-1])
    spans = [(first_s - longest_s, first_s, slope.start <= edge)]
    spans.append((last_s, last_s + longest_s, slope.end >= len(passed_s) - 1 - edge))
    roads = []
    for start_s, end_s, touches in spans:
        inside = (motion.time_s >= start_s) & (motion.time_s <= end_s) & np.isfinite(motion.speed_mps)
        known, speed_mps = motion.time_s[inside], motion.speed_mps[inside]
        steps_m = np.diff(known) * (speed_mps[1:] + speed_mps[:-1]) / 2
        length_m = float(steps_m[~time_gaps(known)].sum()) if len(known) > 1 else 0.0
        roads.append(
            (float(known[0]), float(known[-1]), length_m) if touches and length_m > edge_m else (0.0, 0.0, 0.0)
        )
    return roads[0], roads[1]


def _height(slope: Slope, ground: Ground) -> Quantity:
    """Height with its interval; a slope that goes on unseen may do so at its own grade over all of that road."""
    height = hill_height_q(slope, ground.noise)
    grade = slope.height_m / float(ground.profile.distance_m[slope.end] - ground.profile.distance_m[slope.start])
    more_m = 0.975 * grade * sum(length_m for *_, length_m in unseen_road(slope, ground))
    low_m, high_m = height.low95, height.high95
    if low_m is None or high_m is None:
        return height
    return Quantity(height.value, low_m + min(more_m, 0.0), high_m + max(more_m, 0.0))


def cut_findings(slopes: Sequence[Slope], hills: Sequence[Hill], ground: Ground) -> list[Finding]:
    """A finding for each hill that begins before the heights do, or ends after them."""
    findings = []
    for slope, hill in zip(slopes, hills, strict=True):
        before, after = (length_m > 0 for *_, length_m in unseen_road(slope, ground))
        if not before and not after:
            continue
        facts: dict[str, Fact] = {"hill": hill.name, "goes_on_before": before, "goes_on_after": after}
        findings.append(Finding("hill-cut", "note", facts, hill.start_s, hill.end_s))
    return findings


def _both_ways(up: Draws | None, down: Draws | None, shows_return: bool) -> Quantity | None:
    """Returned going down over drawn going up; the zero and gain of the sensor are the same in both."""
    if up is None or down is None or not shows_return:
        return None
    return share(down.returned, up.drawn, down.nominal[1], up.nominal[0])


def _numbers(n: int, partner: dict[int, int]) -> list[int]:
    """Number of each slope, counted from 1; both directions of one hill share it."""
    first_of = {down: up for up, down in partner.items()} | partner
    numbers: list[int] = []
    for index in range(n):
        other = first_of.get(index)
        numbers.append(numbers[other] if other is not None and other < index else max(numbers, default=0) + 1)
    return numbers


def _span(slope: Slope, ground: Ground) -> tuple[int, int]:
    """First and last sample on the slope."""
    start_m, end_m = (float(ground.profile.distance_m[index]) for index in (slope.start, slope.end))
    return _samples_on(ground.distance_m, start_m, end_m)


def _record(
    slope: Slope, number: int, ground: Ground, span: tuple[int, int], shows_return: bool, energy: Draws | None
) -> Hill:
    first, last = span
    start_m, end_m = (float(ground.profile.distance_m[index]) for index in (slope.start, slope.end))
    start_s, end_s = float(ground.roadside.motion.time_s[first]), float(ground.roadside.motion.time_s[last])
    value, draws = _available_on(ground, first, last)
    returned = energy.returned_q() if energy and shows_return else None
    height = _height(slope, ground)
    return Hill(
        id=f"{number}-{slope.direction}",
        name=f"Hill {number}, {slope.direction}",
        direction=slope.direction,
        start_s=start_s,
        end_s=end_s,
        start_m=start_m,
        end_m=end_m,
        length_m=end_m - start_m,
        height_m=height,
        mean_grade_pct=mean_grade_q(slope, ground.profile, ground.noise),
        drawn_wh=energy.drawn_q() if energy else None,
        returned_wh=returned,
        recovered_pct=energy.recovered_q() if energy and shows_return and slope.direction == "up" else None,
        available_wh=available_with_bounds(value, draws),
        captured_pct=captured(returned, energy.returned if energy else None, value, draws),
    )


def _samples_on(distance_m: Floats, start_m: float, end_m: float) -> tuple[int, int]:
    """Last sample not beyond the start and first sample at the end: a rest at foot or top is no part of a hill."""
    known = np.flatnonzero(np.isfinite(distance_m))
    along = distance_m[known]
    first = max(0, int(np.searchsorted(along, start_m, side="right")) - 1)
    last = min(len(along) - 1, int(np.searchsorted(along, end_m, side="left")))
    return int(known[first]), int(known[max(first, last)])


def _available_on(ground: Ground, first: int, last: int) -> tuple[float | None, Floats | None]:
    """What the braking events offered between two samples [Wh], and its draws; ``None`` where it is known for none."""
    parts = [(max(first, start), min(last, end)) for start, end in ground.braking if start < last and end > first]
    return Available(parts, ground.roadside).together()
