"""Hills: what each took, what it gave back, and hills ridden both ways."""

from collections.abc import Iterable, Sequence
from dataclasses import replace

import numpy as np

from ridelog.analysis.braking.events import Events
from ridelog.analysis.braking.passes import HillPass, Passes, ends_m
from ridelog.analysis.braking.possible import captured_pct
from ridelog.analysis.road.height_uncertainty import hill_height_q, mean_grade_q, told_slopes
from ridelog.analysis.road.hills.agreed_slopes import agreed_slopes
from ridelog.analysis.road.hills.slopes import DEFAULT_SETTINGS as SLOPES
from ridelog.analysis.road.hills.slopes import Slope
from ridelog.analysis.road.places import same_hill_pairs
from ridelog.analysis.scene import Heights, Scene
from ridelog.answer.hills import Hill, HillPair
from ridelog.findings import Fact, Finding
from ridelog.uncertain.quantity import Quantity
from ridelog.uncertain.trials import Uncertain, share_of_whole_pct, total


def hill_passes(
    scene: Scene, events: Events, *, min_height_m: float, min_grade_pct: float
) -> tuple[Sequence[HillPass], tuple[tuple[int, int], ...]]:
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
    return Passes(scene, scene.heights, slopes, numbers, events), tuple(pairs)


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
    down = [one for one in passes if one.slope.direction == "down"]
    whole = scene.flow.total.energy.returned
    return share_of_whole_pct(total(one.energy.returned for one in down), whole) if down else None


def both_ways_pct(up: HillPass, down: HillPass) -> Uncertain:
    """Returned going down over drawn going up; the zero and gain of the sensor are the same in both [%]."""
    return down.energy.told.returned.share_pct(up.energy.told.drawn)


def _pairs(scene: Scene, heights: Heights, slopes: list[Slope]) -> list[tuple[int, int]]:
    """Slopes that are one hill ridden up and down."""
    if scene.plane is None:
        return []
    distance, profile = scene.track.distance_m, heights.profile
    known = np.isfinite(distance) & np.isfinite(scene.plane.east_m)
    axes = (scene.plane.east_m, scene.plane.north_m)
    east_m, north_m = (np.interp(profile.distance_m, distance[known], axis[known]) for axis in axes)
    return same_hill_pairs(slopes, profile, east_m, north_m)


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
    latest = 0
    for index in range(n):
        other = first_of.get(index)
        again = other is not None and other < index
        latest += not again
        numbers.append(numbers[other] if other is not None and again else latest)
    return numbers


def _record(scene: Scene, heights: Heights, one: HillPass, returned: Uncertain) -> Hill:
    """The record of one pass; ``returned`` is what came back on the whole ride [Wh]."""
    slope, energy = one.slope, one.energy
    start_m, end_m = ends_m(heights.profile, slope)
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
