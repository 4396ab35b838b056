"""Which stretches of coasting lie on one road, and the grade that their heights give for it together.

A road ridden both ways has one grade: it pulls one way what it pushes the other, and so tells itself from rolling.
"""

import numpy as np

from ridelog.arrays import Floats, Runs
from ridelog.lazy import dataclass


@dataclass(frozen=True)
class Place:
    """Where a stretch lies: the road's number, the way, and the place of each sample along it, shape (m,) [m]."""

    road: int
    way: int
    along_m: Floats


@dataclass(frozen=True)
class _Chord:
    """A stretch as the straight line between its ends: start, unit vector, length, and how straight it really is."""

    start_m: Floats
    unit: Floats
    length_m: float
    straight_ratio: float


def roads_of(
    runs: Runs,
    distance_m: Floats,
    plane: tuple[Floats, Floats] | None,
    *,
    aside_m: float = 15.0,
    least_shared: float = 0.3,
    least_straight: float = 0.97,
) -> list[Place]:
    """Put stretches of one road together.

    Parameters
    ----------
    runs : first and last sample of each stretch
    distance_m : along the ride, shape (n,), not NaN within the runs
    plane : east and north, shape (n,) each; every stretch is a road of its own where ``None`` [m]
    aside_m : roads further apart are two: twice the error of a satellite position and a street's width [m]
    least_shared : part of a stretch that must lie beside those of the road [1]
    least_straight : a stretch more bent than this (chord over length) is a road of its own [1]

    Returns
    -------
    One place for each run, in their order.
    """
    places: list[Place] = []
    axes: list[_Chord | None] = []  # of each road
    reach: dict[int, tuple[float, float]] = {}  # how far it goes along its axis, as known so far [m]
    for first, last in runs:
        inside = slice(first, last + 1)
        own_m = distance_m[inside] - distance_m[first]
        chord = _chord(plane, inside, float(own_m[-1])) if plane is not None else None
        if chord is None or chord.straight_ratio < least_straight or plane is None:
            places.append(Place(len(axes), 1, own_m))
            axes.append(None)
            continue
        for road, axis in enumerate(axes):
            if axis is not None and _beside(axis, reach[road], chord, aside_m, least_shared):
                break
        else:
            road = len(axes)
            axes.append(chord)
            reach[road] = (0.0, 0.0)
        axis = axes[road] or chord
        way = 1 if float(axis.unit @ chord.unit) > 0 else -1
        along_m = float((chord.start_m - axis.start_m) @ axis.unit) + way * own_m
        reach[road] = (min(reach[road][0], float(along_m.min())), max(reach[road][1], float(along_m.max())))
        places.append(Place(road, way, along_m))
    return places


def _chord(plane: tuple[Floats, Floats], inside: slice, length_m: float) -> _Chord | None:
    east, north = plane[0][inside], plane[1][inside]
    known = np.flatnonzero(np.isfinite(east) & np.isfinite(north))
    if len(known) < 0.8 * len(east) or length_m <= 0:
        return None
    start = np.array([east[known[0]], north[known[0]]])
    span = np.array([east[known[-1]], north[known[-1]]]) - start
    chord_m = float(np.hypot(*span))
    if chord_m < 10:
        return None
    return _Chord(start, span / chord_m, chord_m, chord_m / length_m)


def _beside(axis: _Chord, reach: tuple[float, float], chord: _Chord, aside_m: float, least_shared: float) -> bool:
    """The stretch runs along the same line, and over enough of what is known of it."""
    if abs(float(axis.unit @ chord.unit)) < 0.98:
        return False
    ends = [chord.start_m - axis.start_m, chord.start_m + chord.length_m * chord.unit - axis.start_m]
    across = [abs(float(end[0] * axis.unit[1] - end[1] * axis.unit[0])) for end in ends]
    low, high = sorted(float(end @ axis.unit) for end in ends)
    shared_m = min(high, reach[1]) - max(low, reach[0])
    return max(across) <= aside_m and shared_m >= least_shared * chord.length_m


def shared_sines(places: list[Place], sines: list[Floats], *, grid_m: float = 5.0) -> tuple[list[Floats], Floats]:
    """The slope of each road by all its stretches together, given back to each of them.

    Parameters
    ----------
    places : of the stretches
    sines : of the slope as each stretch recorded it, positive uphill the way it was ridden, shape (m,) [1]
    grid_m : cells in which they are averaged [m]

    Returns
    -------
    sines : the road's, the way each stretch was ridden
    passes : mean number of stretches over each road, shape (n_roads,)
    """
    n_roads = max(place.road for place in places) + 1
    result = list(sines)
    passes = np.ones(n_roads)
    for road in range(n_roads):
        members = [number for number, place in enumerate(places) if place.road == road]
        if len(members) < 2:
            continue
        low = min(float(places[number].along_m.min()) for number in members)
        high = max(float(places[number].along_m.max()) for number in members)
        grid = np.linspace(low, high, max(int((high - low) / grid_m), 2))
        rows = []
        for number in members:
            order = np.argsort(places[number].along_m)
            along, sine = places[number].along_m[order], places[number].way * sines[number][order]
            rows.append(np.interp(grid, along, sine, left=np.nan, right=np.nan))
        table = np.array(rows)
        covered = np.isfinite(table).sum(axis=0)
        seen = covered > 0
        mean = np.nansum(table, axis=0)[seen] / covered[seen]
        passes[road] = float(covered[seen].mean())
        for number in members:
            result[number] = places[number].way * np.interp(places[number].along_m, grid[seen], mean)
    return result, passes
