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
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from ridelog.uncertain.seeds import stream
from ridelog.uncertain.trials import N_TRIALS

MOST_KEPT = 1024  # places of one error whose trials are kept, however long the log

Trials = NDArray[np.float32]


@lru_cache(maxsize=1024)  # 16 MB
def normal_at(name: str, place: int, part: int, n: int = N_TRIALS) -> Trials:
    """Standard normal trials that belong to one place of a log.

    Parameters
    ----------
    name : of the stream, one of `ridelog.uncertain.seeds.SEEDS`
    place : in the log
    part : which of the errors that act there
    n : how many trials

    Returns
    -------
    Shape (n,), not to be written to [1].
    """
    normal = stream(name, place, part).standard_normal(n, dtype=np.float32)
    normal.flags.writeable = False
    return normal


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

    @property
    def n_kept(self) -> int:
        """Of how many places the trials are kept."""
        return len(self._kept)

    def at(self, place: int) -> Trials:
        """The trials at a place; beyond the ends those of the ends."""
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
        """The trials at ``place`` given those at ``start`` and ``end``, which may lie beyond the last place."""
