"""Series of rides that can be compared."""

import numpy as np
import pandas as pd

from ridelog.fleet.history.like_with_like import captured_series, conditions_of, plain_series


def frames(n=12):
    rng = np.random.default_rng(1)
    keys = [f"{at:02d}" for at in range(n)]
    rides = pd.DataFrame({"key": keys, "bike": "a", "braking_captured_pct": rng.uniform(20, 60, n)})
    place = np.where(np.arange(n) % 2, "steep-down", "gentle-down")
    captured = np.where(np.arange(n) % 2, 60.0, 30.0) + rng.normal(0, 1, n)
    return rides, pd.DataFrame({"key": keys, "place": place, "captured_pct": captured})


def test_each_descent_is_taken_against_its_own_hill():
    rides, descents = frames()
    series = captured_series(rides, descents)
    assert series.basis == "hills"
    assert np.ptp(series.values) < 6  # two hills that differ by a factor of two no longer do


def test_whole_rides_stand_in_where_no_hill_repeats():
    rides, descents = frames()
    descents["place"] = [f"{at}-down" for at in range(12)]
    assert captured_series(rides, descents).basis == "braking_captured_pct"
    few = rides.assign(braking_captured_pct=np.nan, energy_recovered_pct=5.0)
    assert captured_series(few, descents.iloc[:0]).basis == "energy_recovered_pct"


def test_rides_that_do_not_know_the_column_are_left_out():
    frame = pd.DataFrame({"a": [1.0, np.nan, 3.0], "air": [1.0, 2.0, 3.0]})
    assert plain_series(frame, "a", ("air",)).rows == [0, 2]


def test_conditions_are_as_many_as_rides_bear():
    varied = [np.arange(12.0), np.arange(12.0) ** 2, np.arange(12.0) ** 3]
    assert conditions_of(varied, 12).shape == (12, 2)
    assert conditions_of([np.full(12, 3.0), np.full(12, np.nan)], 12).shape == (12, 0)
    holes = np.where(np.arange(12) == 5, np.nan, np.arange(12.0))
    assert conditions_of([holes], 12)[5, 0] == 0
