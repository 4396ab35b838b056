"""Which rides of two groups belong together: the same route, and next to each other in time, as in A-B-B-A.

What drifts over a day (wind, temperature, the battery's charge, the rider) is alike on neighbours, and what drifts
evenly cancels in A-B-B-A blocks. Of all ways to pair rides of one route, that with the smallest sum of squared times
between partners is taken: each ride is in one pair at most.
"""

import numpy as np

from ridelog.arrays import Floats
from ridelog.compare.observations import Observations
from ridelog.compare.statistics.estimate import Rows


def pairs_by_route(rides: Observations, first: Rows, second: Rows) -> tuple[Rows, Rows]:
    """Pairs of rides of two groups.

    Parameters
    ----------
    rides : whole rides
    first, second : rows of each group

    Returns
    -------
    rows of each pair, first and second, in the order ridden; none where the routes are not known or not the same
    """
    pairs: list[tuple[int, int]] = []
    for route in sorted(set(rides.route[first].tolist()) & set(rides.route[second].tolist())):
        if route >= 0:
            here = [rows[rides.route[rows] == route] for rows in (first, second)]
            pairs += _nearest(here[0], here[1], _times(rides, np.concatenate(here)))
    pairs.sort(key=lambda pair: (np.nan_to_num(rides.start_s[list(pair)].min(), nan=np.inf), pair))
    return np.array([a for a, _ in pairs], dtype=np.intp), np.array([b for _, b in pairs], dtype=np.intp)


def _times(rides: Observations, rows: Rows) -> dict[int, float]:
    """When each ride was; their order alone where one of them does not say it."""
    start_s: Floats = rides.start_s[rows]
    if not np.all(np.isfinite(start_s)):
        start_s = np.argsort(np.argsort(rows)).astype(float)
    return dict(zip(rows.tolist(), start_s.tolist(), strict=True))


def _nearest(first: Rows, second: Rows, time: dict[int, float]) -> list[tuple[int, int]]:
    from scipy.optimize import linear_sum_assignment

    apart = np.array([[(time[a] - time[b]) ** 2 for b in second.tolist()] for a in first.tolist()])
    return [(int(first[a]), int(second[b])) for a, b in zip(*linear_sum_assignment(apart), strict=True)]
