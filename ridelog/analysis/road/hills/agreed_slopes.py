"""The hills that the heights tell: those that most of the roads have which may lie under them.

Each hill is drawn from the profile itself, where its drawing is one of these; its ends are the finer.
"""

from bisect import bisect_left
from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import Any

import numpy as np

from ridelog.analysis.road.height_noise import HeightNoise
from ridelog.analysis.road.hills.likely_roads import DEFAULT_SETTINGS as ROADS
from ridelog.analysis.road.hills.likely_roads import RoadSettings, likely_roads
from ridelog.analysis.road.hills.slopes import DEFAULT_SETTINGS as SLOPES
from ridelog.analysis.road.hills.slopes import Slope, SlopeSettings, Stretches, find_slopes, rises
from ridelog.analysis.road.profile import Profile
from ridelog.arrays import Floats
from ridelog.lazy import dataclass

SAME = 0.5  # two stretches are one hill if they have at least this share of what both cover in common
# Share of the roads that must have a hill. At half of them 4 of 100 hills listed under rough satellite heights were
# none, at three in four one told hill in twenty was not listed.
MOST = 0.6
# Two cells of the roads: an end as drawn from the profile is the finer, where it is the same [m].
END_NEAR_M = 30.0


@dataclass(frozen=True)
class _Hills:
    """Hills of one road, in order and apart: +1 up or -1 down, first and last metre, shape (k,)."""

    way: Floats
    start_m: Floats
    end_m: Floats


@dataclass(frozen=True)
class _Agreed:
    """A hill of most roads: +1 up or -1 down, its ends and their standard deviations among these roads [m]."""

    way: float
    start_m: float
    end_m: float
    start_u_m: float
    end_u_m: float


def agreed_slopes(
    profile: Profile,
    noise: HeightNoise,
    settings: SlopeSettings = SLOPES,
    roads: RoadSettings = ROADS,
) -> list[Slope]:
    """The hills that most of the roads have which may lie under the heights.

    Parameters
    ----------
    profile : the heights
    noise : what they may be off by
    settings : what a hill is
    roads : what is held of roads

    Returns
    -------
    In riding order, not overlapping.
    """
    agreed = _agreed([_hills_of(road, settings) for road in likely_roads(profile, noise, roads)])
    own = find_slopes(profile, noise, settings)
    alike = {way: [slope for slope in own if slope.height_m * way > 0] for way in (-1.0, 1.0)}
    slopes = [_slope(one, alike[one.way], profile) for one in agreed]
    return _apart([slope for slope in slopes if slope.start < slope.end], profile)


def _hills_of(road: Stretches, settings: SlopeSettings) -> _Hills:
    ends = sorted(each for each, _ in rises(road, settings))
    first, last = np.array(ends, dtype=np.intp).reshape(-1, 2).T
    return _Hills(np.sign(road.height_m[last] - road.height_m[first]), road.distance_m[first], road.distance_m[last])


def _agreed(lists: list[_Hills]) -> list[_Agreed]:
    """Each hill that most of the roads have, by the middle of what they say, in order.

    Of the hills of all roads, that one stands for the others which is most like theirs; what it shares more than half
    of itself with is decided with it.
    """
    way, start_m, end_m = (
        np.concatenate([getattr(each, part) for each in lists]) for part in ("way", "start_m", "end_m")
    )
    n_roads, alike = np.zeros((2, len(way)))  # that have the hill, and how much like it theirs are
    for road in lists:
        partner, likeness = _partners(way, start_m, end_m, road)
        n_roads += partner >= 0
        alike += likeness
    open_mask = n_roads / len(lists) > MOST
    in_order = np.argsort(start_m, kind="stable")
    from_m, longest_m = start_m[in_order], float((end_m - start_m).max(initial=0.0))
    chosen = []
    for best in np.argsort(-alike, kind="stable").tolist():
        if not open_mask[best]:
            continue
        chosen.append(best)
        near = np.searchsorted(from_m, (start_m[best] - longest_m, end_m[best]))  # no other has any of it in common
        around = in_order[near[0] : near[1]]
        common_m = np.minimum(end_m[around], end_m[best]) - np.maximum(start_m[around], start_m[best])
        least_m = np.minimum(end_m[around] - start_m[around], end_m[best] - start_m[best])
        open_mask[around[common_m > SAME * least_m]] = False
    return _middles(way[chosen], start_m[chosen], end_m[chosen], lists)


def _middles(way: Floats, start_m: Floats, end_m: Floats, lists: list[_Hills]) -> list[_Agreed]:
    """Of some hills, the middle of what the roads say that have them, in order."""
    partners = [_partners(way, start_m, end_m, road)[0].tolist() for road in lists]
    agreed = []
    for one_way, of_roads in zip(way.tolist(), zip(*partners, strict=True), strict=True):
        mine = [(each, k) for each, k in zip(lists, of_roads, strict=True) if k >= 0]
        starts, ends = ([float(getattr(each, part)[k]) for each, k in mine] for part in ("start_m", "end_m"))
        middles, spreads = ([float(of(side)) for side in (starts, ends)] for of in (np.median, np.std))
        agreed.append(_Agreed(one_way, *middles, *spreads))
    return sorted(agreed, key=lambda one: one.start_m)


def _partners(way: Floats, start_m: Floats, end_m: Floats, road: _Hills) -> tuple[Floats, Floats]:
    """Index of the hill of a road that is the same as each of some, -1 for none, and how much they are alike.

    A hill that has half of what both cover in common with another holds the middle of that one.
    """
    none = np.full(len(way), -1)
    if not len(road.way):
        return none, np.zeros(len(way))
    k = np.maximum(np.searchsorted(road.start_m, (start_m + end_m) / 2, side="right") - 1, 0)
    common_m = np.minimum(end_m, road.end_m[k]) - np.maximum(start_m, road.start_m[k])
    whole_m = np.maximum(end_m, road.end_m[k]) - np.minimum(start_m, road.start_m[k])
    alike = np.where(way == road.way[k], np.maximum(common_m, 0.0) / whole_m, 0.0)
    return np.where(alike >= SAME, k, none), np.where(alike >= SAME, alike, 0.0)


def _slope(agreed: _Agreed, like: list[Slope], profile: Profile) -> Slope:
    """The hill with its ends as drawn from the profile, where these are the ones agreed on to within `END_NEAR_M`.

    ``like`` are the slopes of the profile that go its way, in order.
    """
    start, end = (_nearest(profile.distance_m, at_m) for at_m in (agreed.start_m, agreed.end_m))
    near = END_NEAR_M / float(profile.distance_m[1] - profile.distance_m[0])
    first = like[_nearest(like, start, lambda slope: slope.start)] if like else None
    last = like[_nearest(like, end, lambda slope: slope.end)] if like else None
    start_u_m, end_u_m = agreed.start_u_m, agreed.end_u_m
    if first is not None and abs(first.start - start) <= near:
        start, start_u_m = first.start, first.start_u_m
        if first is last and abs(first.end - end) <= near:
            return first
    if last is not None and abs(last.end - end) <= near:
        end, end_u_m = last.end, last.end_u_m
    height_m = float(profile.height_m[end] - profile.height_m[start])
    return Slope("up" if agreed.way > 0 else "down", start, end, height_m, start_u_m, end_u_m)


def _nearest(places: Sequence[Any] | Floats, at: float, key: Callable[[Any], float] = float) -> int:
    """Which of some places in order is the nearest, the first of two as near."""
    after = bisect_left(places, at, lo=1, hi=max(len(places) - 1, 1), key=key)
    return after - (after == len(places) or at - key(places[after - 1]) <= key(places[after]) - at)


def _apart(slopes: list[Slope], profile: Profile) -> list[Slope]:
    """The slopes with what two of them share divided between them."""
    parted = sorted(slopes, key=lambda slope: slope.start)
    for k in range(len(parted) - 1):
        one, other = parted[k], parted[k + 1]
        if one.end > other.start:
            middle = (one.end + other.start) // 2
            parted[k], parted[k + 1] = (
                _between(one, one.start, middle, profile),
                _between(other, middle, other.end, profile),
            )
    return parted


def _between(slope: Slope, start: int, end: int, profile: Profile) -> Slope:
    return replace(slope, start=start, end=end, height_m=float(profile.height_m[end] - profile.height_m[start]))
