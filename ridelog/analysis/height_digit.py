"""The last digit of a recorded height, and the course that a staircase of such digits hides.

A height that is written in whole metres stands still for tens of metres of road and then leaps, which reads as level
road and a steep ramp in turns. What such a record does tell is *when* the height passed the middle between two digits;
the road lies on the course through those places to within half a digit, and mostly far closer.
"""

import itertools

import numpy as np

from ridelog.analysis.runs import Floats, Runs


def height_digit_m(altitude_m: Floats, *, least_m: float = 0.02, n_least: int = 3) -> float:
    """The step in which a height is written [m]; 0 where the record shows none.

    Parameters
    ----------
    altitude_m : shape (n,), in the order recorded, no NaN [m]
    least_m : a smaller step does not matter [m]
    n_least : fewer different levels show no step

    Notes
    -----
    Where one device's heights were interpolated to another's samples, only those that repeat are as written.
    """
    levels = np.unique(np.round(altitude_m[1:][np.diff(altitude_m) == 0], 6))
    steps = np.diff(levels)
    if len(levels) < n_least or steps.min() < least_m:
        return 0.0
    digit_m = float(steps.min())
    whole = np.abs(steps / digit_m - np.rint(steps / digit_m)) < 0.01
    return digit_m if whole.mean() > 0.9 else 0.0


def without_treads(distance_m: Floats, altitude_m: Floats, digit_m: float) -> Floats:
    """The height with each tread of the staircase replaced by the course through the edges of the treads.

    Where one tread follows another a digit higher or lower, the height passes the middle between them half-way between
    their samples, and goes on at about the grade of the shorter of the two: it reaches what was written half the length
    of that one away. The rest of a longer tread is as level as it is written. What lies between treads more than a
    digit apart stays as recorded.

    Parameters
    ----------
    distance_m : along the ride, shape (n,), not decreasing [m]
    altitude_m : shape (n,), as recorded [m]
    digit_m : its last digit; 0 leaves everything as it is [m]

    Returns
    -------
    Shape (n,) [m].
    """
    treads = _treads(altitude_m)
    if digit_m <= 0 or len(treads) < 2:
        return altitude_m
    leaps = (altitude_m[last : first + 1] for (_, last), (first, _) in itertools.pairwise(treads))
    single = np.array([_single_leap(between_m, digit_m) for between_m in leaps])
    first, last = np.array(treads).T
    begin_m, end_m = distance_m[first], distance_m[last]
    begin_m[1:][single] = end_m[:-1][single] = (distance_m[first[1:]] + distance_m[last[:-1]])[single] / 2
    length_m = end_m - begin_m
    shared_m = np.where(single, np.minimum(length_m[:-1], length_m[1:]) / 2, 0.0)
    written_m = altitude_m[first]
    place = np.stack([begin_m + np.append(0.0, shared_m), end_m - np.append(shared_m, 0.0)], axis=1).ravel()
    between = np.ones(len(altitude_m), dtype=bool)  # samples that are on no tread and in no single leap
    for k, (start, stop) in enumerate(treads):
        between[start : treads[k + 1][0] if k < len(single) and single[k] else stop + 1] = False
    place = np.concatenate([place, distance_m[between]])
    height = np.concatenate([np.repeat(written_m, 2), altitude_m[between]])
    order = np.argsort(place, kind="stable")
    return np.asarray(np.interp(distance_m, place[order], height[order]))


def _single_leap(between_m: Floats, digit_m: float) -> bool:
    """Whether two treads, the first and last of these heights, are joined by one leap of a digit."""
    rise_m, span_m = abs(float(between_m[-1] - between_m[0])), float(np.ptp(between_m))
    return abs(rise_m - digit_m) < 0.01 * digit_m and span_m < 1.01 * digit_m


def _treads(altitude_m: Floats) -> Runs:
    """First and last sample of each stretch of equal heights of at least two samples."""
    change = np.flatnonzero(np.diff(altitude_m) != 0)
    first, last = np.concatenate(([0], change + 1)), np.concatenate((change, [len(altitude_m) - 1]))
    long = last > first
    return list(zip(first[long].tolist(), last[long].tolist(), strict=True))
