"""The places of a log that are most like what is around a gap: looked at one by one, or by a tree, the same."""

import numpy as np
import pytest

from ridelog.analysis.electrical.gaps import places as module
from ridelog.analysis.electrical.gaps.places import Places


def by_hand(around, cell, n_alike, before, after):
    """The nearest in each cell, then the nearest of these, each the first where two are as near."""
    apart = np.abs(around[0] - before) + np.abs(around[1] - after)
    best = {}
    for place, at in enumerate(cell.tolist()):
        if at not in best or apart[place] < apart[best[at]]:
            best[at] = place
    return sorted(best.values(), key=lambda place: (apart[place], cell[place]))[:n_alike]


@pytest.mark.parametrize("looked_at", [0, 10**9], ids=["by a tree", "one by one"])
@pytest.mark.parametrize("seed", range(4))
def test_the_nearest_are_found_one_in_each_cell(seed, looked_at, monkeypatch):
    """Currents to 0.5 A, a third of them 0 for long: many are equally near; of fewer cells than asked for, and more."""
    monkeypatch.setattr(module, "MOST_LOOKED_AT", looked_at)
    rng = np.random.default_rng(seed)
    n = (40, 300, 1200, 1200)[seed]
    around = np.round(2 * rng.normal(size=(2, n)) * 5) / 2 * (np.arange(n) % 300 < 200)
    cell = np.sort(rng.integers(0, (9, 40, 200, 1)[seed] + 1, n)) * 3
    places = Places(around, cell, 12, 100)
    for before, after in [(0.0, 0.0), (4.5, -3.0), (90.0, 0.25), *rng.normal(size=(20, 2)).tolist()]:
        assert places.nearest(before, after).tolist() == by_hand(around, cell, 12, before, after)
