"""Which places of a log are most like what is around a gap."""

from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from ridelog.arrays import Floats

if TYPE_CHECKING:
    from scipy.spatial import KDTree

MOST_LOOKED_AT = 300_000_000  # places times gaps that are looked at one by one, in seconds; beyond, a tree is grown
Indices = NDArray[np.intp]


class Places:
    """Places of a log, and which of them are most like what is around a gap.

    Parameters
    ----------
    around : rates before and after each place, shape (2, m)
    cell : which cell each place lies in, in order, shape (m,)
    n_alike : so many are asked for, each in a cell of its own
    n_asked : how often
    """

    def __init__(self, around: Floats, cell: Indices, n_alike: int, n_asked: int) -> None:
        self._around, self.cell, self._n_alike = around, cell, n_alike
        self._starts = np.flatnonzero(np.diff(cell, prepend=cell[:1] - 1))
        self._near = self._near_by_tree if len(cell) * n_asked > MOST_LOOKED_AT else self._near_of_all

    def nearest(self, before: float, after: float) -> Indices:
        """The places whose rates are nearest, one in each cell, nearest first, the earlier where two are alike.

        Parameters
        ----------
        before, after : rates around the gap

        Returns
        -------
        Their numbers, shape (at most n_alike,).
        """
        near = self._near(before, after)
        apart, cell = self._apart(before, after, near), self.cell[near]
        by_cell = np.lexsort((apart, cell))
        best = by_cell[np.concatenate(([True], np.diff(cell) > 0))]
        return np.asarray(near[best[np.argsort(apart[best], kind="stable")[: self._n_alike]]])

    def _apart(self, before: float, after: float, some: Indices | slice = slice(None)) -> Floats:
        """How far from the rates around a gap those of some places are."""
        return np.asarray(np.abs(self._around[0, some] - before) + np.abs(self._around[1, some] - after))

    def _near_of_all(self, before: float, after: float) -> Indices:
        """No place further away than the nearest of enough cells."""
        apart = self._apart(before, after)
        of_cells, last = np.minimum.reduceat(apart, self._starts), self._n_alike - 1
        return np.flatnonzero(
            apart <= np.partition(of_cells, last)[last] if len(of_cells) > last else np.isfinite(apart)
        )

    def _near_by_tree(self, before: float, after: float) -> Indices:
        """The same without looking at each place: all that are nearer, and enough of those as far as the last."""
        n = 2 * self._n_alike
        while True:
            apart, found = self._tree.query((before, after), k=min(n, len(self._planted)), p=1)
            _, first = np.unique(self.cell[self._planted[found]], return_index=True)
            if len(first) >= self._n_alike or n >= len(self._planted):
                break
            n *= 4
        furthest = float(np.asarray(apart)[np.sort(first)[: self._n_alike][-1]]) * (1 + 1e-9)
        return np.sort(self._planted[self._tree.query_ball_point((before, after), furthest, p=1)])

    @cached_property
    def _tree(self) -> "KDTree":
        from scipy.spatial import KDTree  # 0.2 s and 40 MB, for very long logs alone

        return KDTree(self._around[:, self._planted].T)

    @cached_property
    def _planted(self) -> Indices:
        """All places but those of rates that already the first places of enough cells before them have."""
        order = np.lexsort(self._around)
        other = np.diff(self._around[:, order], prepend=np.nan, axis=1).any(axis=0)
        order = order[other | (np.diff(self.cell[order], prepend=-1) != 0)]
        other = np.diff(self._around[:, order], prepend=np.nan, axis=1).any(axis=0)
        since = np.arange(len(order)) - np.maximum.accumulate(np.where(other, np.arange(len(order)), 0))
        return np.asarray(order[since < self._n_alike])
