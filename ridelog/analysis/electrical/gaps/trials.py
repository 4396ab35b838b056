"""Trials of what flowed in each gap of a log: held of the first, drawn again of the others.

Of many gaps they would be the most that a ride takes, 32 kB each.
"""

from collections.abc import Callable
from functools import cache
from typing import Any

import numpy as np
from numpy.typing import NDArray

from ridelog.arrays import Floats
from ridelog.uncertain.seeds import stream

MOST_HELD = 256  # gaps whose trials are held, 32 kB each; those of later ones are drawn again when they are asked for
TOGETHER = 64  # of those later ones whose sum is held, in the 64 kB of one
N_COUNTS = 1024  # for how much a place counts, in so many cells of the log in turn

Trials = NDArray[np.float32]


class Across:
    """Trials of each of some gaps, of which no more than the first are held, and of the others sums.

    Parameters
    ----------
    n, n_trials : how many gaps, and trials of each
    again : the trials of a gap by its number, shape (2, n_trials), the same each time
    """

    def __init__(self, n: int, n_trials: int, again: Callable[[int], Trials]) -> None:
        self._again, self._together = again, TOGETHER
        self._held = np.zeros((min(n, MOST_HELD), 2, n_trials), dtype=np.float32)
        self._sums = np.zeros((max(n - MOST_HELD, 0) // TOGETHER, 2, n_trials))

    def put(self, gap: int, trials: Floats) -> None:
        """The trials of one gap, each put in once."""
        later = gap - len(self._held)
        if later < 0:
            self._held[gap] = trials
        elif later // self._together < len(self._sums):
            self._sums[later // self._together] += trials.astype(np.float32)

    def of(self, gap: int) -> Trials:
        """The trials of one gap, shape (2, n_trials)."""
        return self._held[gap] if gap < len(self._held) else self._again(gap)

    def summed(self, first: int, end: int) -> Floats:
        """Those of the gaps from ``first`` to before ``end`` together, shape (2, n_trials)."""
        result: Floats = self._held[first:end].sum(axis=0, dtype=float)
        gap = max(first, len(self._held))
        while gap < end:
            place, within = divmod(gap - len(self._held), self._together)
            whole = not within and gap + self._together <= end
            result += self._sums[place] if whole else self._again(gap)
            gap += self._together if whole else 1
        return result


class Learnt:
    """From what each gap learns, from which its trials are drawn, for the first time or again.

    Parameters
    ----------
    n, n_trials : how many gaps, and trials of each
    n_alike : how many places tell how far off it may lie, at most
    n_near : how many of them, the nearest, tell its mean
    """

    def __init__(self, n: int, n_trials: int, *, n_alike: int, n_near: int) -> None:
        self._n_trials, self._n_near = n_trials, n_near
        self._missed = np.empty((n, n_alike, 2))
        self._counts = np.empty((n, n_alike), dtype=np.int16)  # which of the counts are theirs
        self._n_alike = np.zeros(n, dtype=np.intp)
        self._step_h: Floats = np.empty(n)
        self._turn = np.empty(n, dtype=np.intp)
        self._n_drawn = 0

    def first(self, gap: int, missed: Floats, cells: NDArray[np.intp], step_h: float) -> Floats:
        """Trials of a gap that is drawn for the first time, shape (2, n_trials).

        Parameters
        ----------
        gap : its number
        missed : what the places it is like miss for each hour, nearest first, shape (2, m)
        cells : of the log in which they lie, shape (m,)
        step_h : how long it lasts [h]

        Returns
        -------
        In the unit of the rate times hours.
        """
        m = len(cells)
        self._missed[gap, :m], self._counts[gap, :m] = missed.T, cells % N_COUNTS
        self._n_alike[gap], self._step_h[gap], self._turn[gap] = m, step_h, self._n_drawn
        self._n_drawn += 1
        return self._of(gap)

    def again(self, gap: int) -> Trials:
        """The trials of a gap as they were at first; nothing where it is like no place."""
        if not self._n_alike[gap]:
            return np.zeros((2, 1), dtype=np.float32)
        return self._of(gap).astype(np.float32)

    def _of(self, gap: int) -> Floats:
        m = int(self._n_alike[gap])
        counts, state = _counts(self._n_trials)
        bits = np.random.PCG64(0)
        bits.state = state
        bits.advance(self._n_trials * int(self._turn[gap]))
        chance = np.random.Generator(bits).random(self._n_trials)
        counting = counts[self._counts[gap, :m]]
        return _drawn(self._missed[gap, :m].T, counting, self._n_near, chance) * float(self._step_h[gap])


@cache
def _counts(n_trials: int) -> tuple[Trials, Any]:
    """For how much a place counts in each trial, shape (N_COUNTS, n_trials), and how their stream goes on from there.

    The same for every log: drawing four million of them takes longer than all else that is done with gaps.
    """
    rng = stream("bridges")
    counts = np.empty((N_COUNTS, n_trials), dtype=np.float32)
    for row in counts:
        row[:] = rng.exponential(size=n_trials)
    counts.setflags(write=False)
    return counts, rng.bit_generator.state


def _drawn(missed: Floats, counting: Trials, n_near: int, chance: Floats) -> Floats:
    """Trials of what one gap misses, shape (2, n_trials): the mean of the nearest places, and how far any lies off.

    ``missed`` has shape (2, m), nearest first, ``counting`` (m, n_trials), ``chance`` (n_trials,) within 0 to 1.
    """
    near = counting[:n_near] / counting[:n_near].sum(axis=0)
    odds = np.cumsum(counting, axis=0)
    least = chance * odds[-1]
    single = least.astype(np.float32)  # rounded up: as many odds lie below it, and they are compared twice as fast
    single = np.where(single < least, np.nextafter(single, np.float32(np.inf)), single)
    chosen = (odds < single).sum(axis=0, dtype=np.uint16)
    off = missed - missed.mean(axis=1, keepdims=True)
    trials: Floats = missed[:, :n_near] @ near + off[:, np.minimum(chosen, len(counting) - 1)]
    return trials
