"""The random streams of all trials, each by name: the same ride gives the same numbers, and no two share a stream.

Trial k of two numbers belongs together only where both take an error from the same stream.
"""

from collections.abc import Mapping
from types import MappingProxyType

import numpy as np

SEEDS: Mapping[str, int] = MappingProxyType(
    {
        "sensor": 1,  # zero and gains of the current and voltage sensor, common to the ride
        "cell voltage": 3,
        "charge current": 4,
        "resistance": 5,
        "bridges": 7,
        "places": 21,  # one pool of normal numbers, of which each place of a log takes its piece
        "sampling": 9,  # between the samples, by the place in the log
        "unseen": 10,  # in gaps too long to be bridged, common to the ride
        "direction": 18,  # of what flowed while braked in a log that drops the sign, common to the ride
        "unseen return": 19,  # of a ride of which no sample shows a return
        "distance": 11,
        "bounds": 14,  # of a window, by when it lies
        "benefit": 12,
        "would return": 13,
        "likely roads": 20,  # roads that may lie under the heights
        "ascent": 17,  # noise added to the heights, to see what it feigns
        "coast-down": 4_711,
        "coast-down road": 4_712,
        "road": 20_301,  # mass, air, wind, CdA, Crr and speed, common to the ride
        "road pool": 20_302,  # the same, of which the ride itself chooses
        "told road": 20_303,
        "told drag": 20_304,
        "ledger": 31_415,
    }
)


def stream(name: str, *keys: int) -> np.random.Generator:
    """The generator of one stream, or of one part of it.

    Parameters
    ----------
    name : one of `SEEDS`
    keys : which part, such as the place in a log

    Raises
    ------
    KeyError : a name that is not in the table
    """
    # As keys apart from the seed: in one list of numbers with it, a last 0 would change nothing.
    return np.random.default_rng(np.random.SeedSequence(SEEDS[name], spawn_key=keys))


def window_stream(start_s: float, end_s: float) -> np.random.Generator:
    """The generator of what is one span's own, such as the sampling of a whole log: the same for charge and energy."""
    return np.random.default_rng([abs(round(1000 * start_s)), abs(round(1000 * end_s))])


def bound_stream(at_s: float) -> np.random.Generator:
    """The generator of how far a bound may lie from where it is taken: the same for what ends and what begins there."""
    return stream("bounds", abs(round(1000 * at_s)))


def unseen_hill_stream(side: int, at_s: float) -> np.random.Generator:
    """The generator of how far a hill goes on unseen, before it (``side`` 0) or after it (1)."""
    return np.random.default_rng([side, round(at_s)])
