"""Errors that run along a log, drawn once and only where they are asked for.

Such an error is drawn at both ends of the log first, then at its middle given both ends, then at the middles of both
halves given theirs, and so on (Lévy's construction). Each draw hangs on its place in the log alone, not on what has
been asked before or how much: two windows that meet in a place have that place's error in common.

References
----------
P. Glasserman, Monte Carlo Methods in Financial Engineering, Springer 2003, 3.1 (Brownian bridge).
"""

from abc import ABC, abstractmethod
from collections import OrderedDict
from functools import cache

import numpy as np
from numpy.typing import NDArray

from ridelog.uncertain.seeds import SEEDS, stream
from ridelog.uncertain.trials import N_TRIALS

# Places of one error whose trials are kept, however long the log: those on the way, and those asked for, which the next
# question mostly asks for again.
MOST_KEPT, MOST_ASKED = 256, 512

Trials = NDArray[np.float32]


POOL_BITS = 20  # a million numbers, 4 MB
MOST_TRIALS = 1 << 16
WHOLE = (1 << 64) - 1


@cache
def _pool() -> Trials:
    """Standard normal numbers that all places share, longer by the trials of the last place."""
    return stream("places").standard_normal((1 << POOL_BITS) + MOST_TRIALS, dtype=np.float32)


def normal_at(name: str, place: int, part: int, n: int = N_TRIALS) -> Trials:
    """Standard normal trials that belong to one place of a log.

    They are a piece of one pool, so that nothing is drawn for a place. Pieces may overlap, but by different trials:
    trial k of two places are two numbers of the pool, by chance the same one once in a million pairs.

    Parameters
    ----------
    name : of the stream, one of `ridelog.uncertain.seeds.SEEDS`
    place : in the log
    part : which of the errors that act there
    n : how many trials, at most `MOST_TRIALS`

    Returns
    -------
    Shape (n,), not to be written to [1].

    Raises
    ------
    ValueError : more trials than the pool has for a place
    """
    if n > MOST_TRIALS:
        raise ValueError(f"{n} trials are more than the {MOST_TRIALS} of a place")
    first = _scattered((place << 24) + (SEEDS[name] << 4) + part) >> (64 - POOL_BITS)
    normal = _pool()[first : first + n]
    normal.flags.writeable = False
    return normal


def _scattered(number: int) -> int:
    """A number of 64 bits, each of which hangs on all of another's: neighbours and powers of two lie far apart.

    References
    ----------
    Steele, Lea, Flood, Fast splittable pseudorandom number generators, OOPSLA 2014: the mixing of SplitMix64 (from
    memory).
    """
    number = (number + 0x9E3779B97F4A7C15) & WHOLE
    number = ((number ^ (number >> 30)) * 0xBF58476D1CE4E5B9) & WHOLE
    number = ((number ^ (number >> 27)) * 0x94D049BB133111EB) & WHOLE
    return number ^ (number >> 31)


class ByHalves(ABC):
    """Trials of an error at any place from 0 to ``last``.

    Parameters
    ----------
    last : the last place
    at_first, at_last : trials there, of one shape, the trials along the last axis
    """

    def __init__(self, last: int, at_first: Trials, at_last: Trials) -> None:
        self.last = last
        self._at_first, self._at_last = at_first, at_last
        self._kept: OrderedDict[int, Trials] = OrderedDict()
        self._asked: OrderedDict[int, Trials] = OrderedDict()

    @property
    def n_kept(self) -> int:
        """Of how many places the trials are kept."""
        return len(self._kept) + len(self._asked)

    def at(self, place: int) -> Trials:
        """The trials at a place; beyond the ends those of the ends."""
        found = self._asked.get(place)
        if found is None:
            found = self._asked[place] = self._on_the_way(place)
            if len(self._asked) > MOST_ASKED:
                self._asked.popitem(last=False)
        else:
            self._asked.move_to_end(place)
        return found

    def _on_the_way(self, place: int) -> Trials:
        """The trials at a place that others are worked out from."""
        if place <= 0:
            return self._at_first
        if place >= self.last:
            return self._at_last
        found = self._kept.get(place)
        if found is None:
            half = place & -place  # a place is the middle of one stretch only, from half before it to half after it
            found = self._kept[place] = self._middle(place - half, place, place + half)
            if len(self._kept) > MOST_KEPT:
                self._kept.popitem(last=False)
        else:
            self._kept.move_to_end(place)
        return found

    @abstractmethod
    def _middle(self, start: int, place: int, end: int) -> Trials:
        """The trials at ``place`` given those ``_on_the_way`` to it, which may lie beyond the last."""
