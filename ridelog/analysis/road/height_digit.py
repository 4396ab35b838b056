"""The last digit of a recorded height, and the course that a staircase of such digits hides.

A height that is written in whole metres stands still for tens of metres of road and then leaps, which reads as level
road and a steep ramp in turns. What such a record does tell is *when* the height passed the middle between two digits;
the road lies on the course through those places to within half a digit, and mostly far closer.
"""

import numpy as np
from numpy.typing import NDArray

from ridelog.arrays import Floats, Mask

Indices = NDArray[np.intp]


def height_digit_m(altitude_m: Floats, *, least_m: float = 0.02, most_m: float = 2.0, n_least: int = 3) -> float:
    """The step in which a height is written [m]; 0 where the record shows none.

    Parameters
    ----------
    altitude_m : shape (n,), in the order recorded, no NaN [m]
    least_m : a smaller step does not matter [m]
    most_m : a larger step is one only if nearly all heights are in it; roads that run level at even heights look alike
        [m]
    n_least : fewer different levels show no step

    Returns
    -------
    0.2, for a height written in fifths of a metre [m].

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
    if digit_m > most_m:
        whole = np.abs((altitude_m - levels[0]) / digit_m - np.rint((altitude_m - levels[0]) / digit_m)) < 0.01
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
    first, last = _treads(altitude_m)
    if digit_m <= 0 or len(first) < 2:
        return altitude_m
    single = _single_leaps(altitude_m, first, last, digit_m)
    begin_m, end_m = distance_m[first], distance_m[last]
    begin_m[1:][single] = end_m[:-1][single] = (distance_m[first[1:]] + distance_m[last[:-1]])[single] / 2
    length_m = end_m - begin_m
    shared_m = np.where(single, np.minimum(length_m[:-1], length_m[1:]) / 2, 0.0)
    place = np.stack([begin_m + np.append(0.0, shared_m), end_m - np.append(shared_m, 0.0)], axis=1).ravel()
    covered = np.zeros(len(altitude_m) + 1, dtype=int)  # by treads and by single leaps between them
    covered[first] += 1
    covered[np.append(np.where(single, first[1:], last[:-1] + 1), last[-1] + 1)] -= 1
    between = np.cumsum(covered)[:-1] == 0
    place = np.concatenate([place, distance_m[between]])
    height = np.concatenate([np.repeat(altitude_m[first], 2), altitude_m[between]])
    order = np.argsort(place, kind="stable")
    return np.asarray(np.interp(distance_m, place[order], height[order]))


def _single_leaps(altitude_m: Floats, first: Indices, last: Indices, digit_m: float) -> Mask:
    """Whether each tread but the last is joined to the next one by one leap of a digit, with nothing beyond between."""
    rise_m = np.abs(altitude_m[first[1:]] - altitude_m[last[:-1]])
    single: Mask = np.abs(rise_m - digit_m) < 0.01 * digit_m
    for k in np.flatnonzero(single & (first[1:] > last[:-1] + 1)):
        single[k] = np.ptp(altitude_m[last[k] : first[k + 1] + 1]) < 1.01 * digit_m
    return single


def _treads(altitude_m: Floats) -> tuple[Indices, Indices]:
    """First and last sample of each stretch of equal heights of at least two samples."""
    change = np.flatnonzero(np.diff(altitude_m) != 0)
    first, last = np.concatenate(([0], change + 1)), np.concatenate((change, [len(altitude_m) - 1]))
    return first[last > first], last[last > first]
