"""Hills as records: what each took, what it gave back, and hills ridden both ways."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from ridelog.analysis.braking import Motion, Offered
from ridelog.analysis.charge import ElectricalFlow
from ridelog.analysis.events import available_wh, captured_pct, returned_between
from ridelog.analysis.runs import Floats, Runs
from ridelog.analysis.terrain import Profile, Slope
from ridelog.answer import Hill, HillPair, Quantity, quantity


@dataclass(frozen=True)
class Ground:
    """What hills are evaluated from: the height profile, and along the ride shape (n,) distance and motion."""

    profile: Profile
    distance_m: Floats
    motion: Motion
    offer: Offered
    braking: Runs


def hill_records(
    slopes: Sequence[Slope], pairs: Iterable[tuple[int, int]], ground: Ground, flow: ElectricalFlow
) -> tuple[tuple[Hill, ...], tuple[HillPair, ...]]:
    """Records of all slopes and of those ridden both ways.

    A hill ridden both ways keeps one number ("Hill 2, up" and "Hill 2, down"); hills are numbered in the order in
    which they are first met.
    """
    numbers = _numbers(len(slopes), dict(pairs))
    hills = tuple(_record(slope, number, ground, flow) for slope, number in zip(slopes, numbers, strict=True))
    both = tuple(
        HillPair(hills[up].id, hills[down].id, _share(hills[down].returned_wh, hills[up].drawn_wh))
        for up, down in pairs
    )
    return hills, both


def _numbers(n: int, partner: dict[int, int]) -> list[int]:
    """Number of each slope, counted from 1; both directions of one hill share it."""
    first_of = {down: up for up, down in partner.items()} | partner
    numbers: list[int] = []
    for index in range(n):
        other = first_of.get(index)
        numbers.append(numbers[other] if other is not None and other < index else max(numbers, default=0) + 1)
    return numbers


def _record(slope: Slope, number: int, ground: Ground, flow: ElectricalFlow) -> Hill:
    start_m, end_m = (float(ground.profile.distance_m[index]) for index in (slope.start, slope.end))
    first, last = _samples_on(ground.distance_m, start_m, end_m)
    start_s, end_s = float(ground.motion.time_s[first]), float(ground.motion.time_s[last])
    drawn = quantity(flow.energy.between(start_s, end_s)[0]) if flow.energy else None
    returned = returned_between(flow, start_s, end_s)[1]
    available = _available_on(ground, first, last)
    return Hill(
        id=f"{number}-{slope.direction}",
        name=f"Hill {number}, {slope.direction}",
        direction=slope.direction,
        start_s=start_s,
        end_s=end_s,
        start_m=start_m,
        end_m=end_m,
        length_m=end_m - start_m,
        height_m=Quantity(slope.height_m),
        mean_grade_pct=Quantity(100 * slope.height_m / (end_m - start_m)),
        drawn_wh=drawn,
        returned_wh=returned,
        recovered_pct=_share(returned, drawn) if slope.direction == "up" else None,
        available_wh=available,
        captured_pct=captured_pct(returned, available),
    )


def _samples_on(distance_m: Floats, start_m: float, end_m: float) -> tuple[int, int]:
    """Last sample not beyond the start and first sample at the end: a rest at foot or top is no part of a hill."""
    known = np.flatnonzero(np.isfinite(distance_m))
    along = distance_m[known]
    first = max(0, int(np.searchsorted(along, start_m, side="right")) - 1)
    last = min(len(along) - 1, int(np.searchsorted(along, end_m, side="left")))
    return int(known[first]), int(known[max(first, last)])


def _available_on(ground: Ground, first: int, last: int) -> Quantity | None:
    """What the braking events offered between two samples [Wh]; ``None`` where it is known for none of them."""
    parts = [
        available_wh(ground.offer, max(first, start), min(last, end))
        for start, end in ground.braking
        if start < last and end > first
    ]
    known = [part for part in parts if part is not None]
    return quantity(sum(known)) if known or not parts else None


def _share(returned: Quantity | None, drawn: Quantity | None) -> Quantity | None:
    if returned is None or drawn is None or drawn.value <= 0:
        return None
    return quantity(100 * returned.value / drawn.value)
