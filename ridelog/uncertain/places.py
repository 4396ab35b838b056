"""Errors that run along a log, drawn once and only where they are asked for.

Such an error is drawn at both ends of the log first, and then at each place that is asked for given what it is at the
nearest places on either side that were asked for before. Errors without a memory beyond their neighbours have the same
law in whatever order that is, and two windows that meet in a place have that place's error in common. Of a very long
log no more places are kept than memory allows; what lies between them is drawn by halves, at the middle first, then at
the middles of both halves, and so on (Lévy's construction), so that it is the same whenever it is asked for. The way to
one place is mostly that to the next, so that the latest middles are kept as well.

References
----------
P. Glasserman, Monte Carlo Methods in Financial Engineering, Springer 2003, 3.1 (Brownian bridge).
"""

from abc import ABC, abstractmethod
from bisect import bisect
from collections import OrderedDict
from functools import cache

import numpy as np
from numpy.typing import NDArray

from ridelog.uncertain.seeds import SEEDS, stream
from ridelog.uncertain.trials import N_TRIALS

MOST_KEPT_BYTES = 24 << 20  # of the trials of one error's places, however long the log
MOST_ASKED = 128  # places beyond these, by way of which the next question mostly goes as well

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


class Bridged(ABC):
    """Trials of an error at any place from 0 to ``last``, each drawn given those of the nearest places already drawn.

    Parameters
    ----------
    last : the last place
    at_first, at_last : trials there, of one shape, the trials along the last axis
    """

    def __init__(self, last: int, at_first: Trials, at_last: Trials) -> None:
        self.last = last
        self._kept = {0: at_first, last: at_last}
        self._places = sorted(self._kept)
        self._most_kept = MOST_KEPT_BYTES // max(at_last.nbytes, 1)
        self._latest: OrderedDict[int, Trials] = OrderedDict()

    @property
    def n_kept(self) -> int:
        """Of how many places the trials are kept."""
        return len(self._kept)

    def at(self, place: int) -> Trials:
        """The trials at a place; beyond the ends those of the ends."""
        place = min(max(place, 0), self.last)
        found = self._kept.get(place)
        if found is None and len(self._kept) < self._most_kept:
            index = bisect(self._places, place)
            start, end = self._places[index - 1 : index + 1]
            found = self._kept[place] = self._between(start, place, end, self._kept[start], self._kept[end])
            self._places.insert(index, place)
        return self._halved(place) if found is None else found

    def _halved(self, place: int) -> Trials:
        """The trials at a place by way of the middles of what lies between two that are kept."""
        index = bisect(self._places, place)
        start, end = self._places[index - 1 : index + 1]
        low, high = self._kept[start], self._kept[end]
        while True:
            step = 1 << (start ^ (end - 1)).bit_length() >> 1
            middle = (end - 1) // step * step  # of all between them what the most halvings of the log end at
            found = self._asked(start, middle, end, low, high)
            if middle == place:
                return found
            start, end, low, high = (start, middle, low, found) if place < middle else (middle, end, found, high)

    def _asked(self, start: int, place: int, end: int, low: Trials, high: Trials) -> Trials:
        """As `_between`, of the latest that were asked for without drawing them again."""
        found = self._latest.pop(place, None)
        if found is None:
            found = self._between(start, place, end, low, high)
            if len(self._latest) >= MOST_ASKED:
                self._latest.popitem(last=False)
        self._latest[place] = found  # the one that was asked for last
        return found

    @abstractmethod
    def _between(self, start: int, place: int, end: int, low: Trials, high: Trials) -> Trials:
        """The trials at ``place`` given ``low`` at ``start`` and ``high`` at ``end``."""
