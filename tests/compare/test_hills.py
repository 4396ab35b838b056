"""Hills that groups have in common: those that several rode, as they lie on the way, with what each group captured."""

import numpy as np
import pandas as pd
import pytest

from ridelog.compare.hills import hill_figures
from tests.compare.campaigns import observed

# two rides of each group; the first hill of the way was ridden by all, the second by "on" alone, the third by all
RIDES = ["a", "b", "c", "d"]
WAYS = [("far", 900.0, 400.0), ("near", 50.0, 200.0), ("own", 400.0, 80.0)]  # where each begins, and its length
PASSES = pd.DataFrame(
    [
        (ride, 100.0 * at, place, "down", start_m, length_m, -0.05 * length_m)
        for at, (place, start_m, length_m) in enumerate(WAYS)
        for ride in RIDES
        if place != "own" or ride in "cd"
    ]
    + [("a", 700.0, "far", "up", 2000.0, 400.0, 20.0)],
    columns=["key", "start_s", "place", "direction", "start_m", "length_m", "height_m"],
)  # fmt: skip
PLACES = {(row.key, row.start_s): row.place for row in PASSES.itertuples()}


def captured():
    down = PASSES[PASSES["direction"] == "down"]
    groups = ["off" if ride in "ab" else "on" for ride in down["key"]]
    return observed(
        np.arange(float(len(down))), groups, quantity="captured_pct", ride=down["key"].tolist(),
        hill=down["place"].tolist(), start_s=np.zeros(len(down)), route=np.zeros(len(down), dtype=int),
    )  # fmt: skip


def test_hills_of_several_groups_are_told_in_the_order_of_the_way():
    near, far = hill_figures([captured()], PLACES, PASSES)
    assert (near.number, near.length_m, near.height_m) == (1, 200.0, -10.0)
    assert (far.number, far.length_m) == (2, 400.0)
    # far is rows 0 to 3 of the values 0, 1, 2, ..., near 4 to 7: "off" 4 and 5, "on" 6 and 7
    assert near.groups["off"].captured_pct == 4.5
    assert near.groups["on"].captured_sd == pytest.approx(np.sqrt(0.5))
    assert [spread.rides for spread in far.groups.values()] == [2, 2]


def test_a_single_ride_has_no_spread_and_no_hills_are_none():
    one = captured()
    few = np.array([True, False, True, True, *[False] * 6])
    told = hill_figures([observed(one.value[few], one.group[few].tolist(), quantity="captured_pct",
                                  ride=one.ride[few].tolist(), hill=one.hill[few].tolist(), start_s=np.zeros(3),
                                  route=np.zeros(3, dtype=int))], PLACES, PASSES)  # fmt: skip
    assert told[0].groups["off"].captured_sd is None
    assert hill_figures([], PLACES, PASSES) == ()
    assert hill_figures([captured()], {}, PASSES) == ()
