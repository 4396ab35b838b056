"""Series of rides that can be compared."""

import numpy as np
import pandas as pd
import pytest

from ridelog.fleet.history.like_with_like import captured_series, charge_series, conditions_of, logarithms, plain_series


def frames(n=12):
    rng = np.random.default_rng(1)
    keys = [f"{at:02d}" for at in range(n)]
    rides = pd.DataFrame({"key": keys, "bike": "a", "braking_captured_pct": rng.uniform(20, 60, n)})
    first = pd.DataFrame({"key": keys, "place": ["linking-down"] * n, "captured_pct": 40 + rng.normal(0, 1, n)})
    hilly = np.arange(n) % 2 == 1
    second = pd.DataFrame({"key": keys, "place": np.where(hilly, "steep-down", "gentle-down")})
    second["captured_pct"] = np.where(hilly, 60.0, 30.0) + rng.normal(0, 1, n)
    return rides, pd.concat([first, second], ignore_index=True)


def test_each_descent_is_taken_against_its_own_hill():
    rides, descents = frames()
    whole, series = captured_series(rides, descents)
    assert (whole.basis, series.basis) == ("braking_captured_pct", "hills")
    assert np.ptp(series.values) < 0.15  # logarithms: hills that differ by a factor of two no longer do
    # the ride's part is the mean over hills: that of 30, 40 and 60 % is 42 %, by logarithms
    assert np.exp(series.values.mean()) == pytest.approx((30 * 40 * 60) ** (1 / 3), rel=0.03)


def test_hills_that_no_ride_links_are_not_compared():
    rides, descents = frames()
    apart = descents[descents["place"] != "linking-down"]
    assert len(captured_series(rides, apart)[-1].rows) == 6  # of two hills, one


def test_whole_rides_stand_in_where_no_hill_repeats():
    rides, descents = frames()
    descents["place"] = [f"{at}-down" for at in range(24)]
    assert [each.basis for each in captured_series(rides, descents)] == ["braking_captured_pct"]
    few = rides.assign(braking_captured_pct=np.nan, energy_recovered_pct=5.0)
    assert [each.basis for each in captured_series(few, descents.iloc[:0])] == ["energy_recovered_pct"]


def test_routes_are_conditions_where_they_repeat():
    rides, descents = frames()
    routes = np.array([0, 0, 0, 0, 0, 5, 5, 5, 5, 5, 10, 10])
    (series,) = captured_series(rides.assign(route=routes), descents.iloc[:0])
    assert series.rows == list(range(10))  # one that was ridden twice tells nothing of what is usual there
    assert series.conditions[:, 0].tolist() == [0.0] * 5 + [1.0] * 5
    (alone,) = captured_series(rides.assign(route=range(12)), descents.iloc[:0])
    assert len(alone.rows) == 12


def test_nothing_has_a_logarithm():
    assert logarithms(np.array([40.0, 0, 40])).tolist() == pytest.approx(np.log([40, 2, 40]).tolist())
    assert logarithms(np.zeros(3)).tolist() == [0, 0, 0]


def test_rides_that_do_not_know_the_column_are_left_out():
    frame = pd.DataFrame({"a": [1.0, np.nan, 3.0], "air": [1.0, 2.0, 3.0]})
    assert plain_series(frame, "a", ("air",)).rows == [0, 2]


def test_conditions_are_as_many_as_rides_bear():
    varied = [np.arange(12.0), np.arange(12.0) ** 2, np.arange(12.0) ** 3]
    assert conditions_of(varied, 12).shape == (12, 2)
    assert conditions_of(varied, 12, 1).shape == (12, 1)
    assert conditions_of([np.full(12, 3.0), np.full(12, np.nan)], 12).shape == (12, 0)
    holes = np.where(np.arange(12) == 5, np.nan, np.arange(12.0))
    assert conditions_of([holes], 12)[5, 0] == 0


def test_the_largest_charge_current_is_compared_on_rides_alike():
    rides = frames()[0].assign(route=[0, 1] * 6, pack_highest_charge_a=[4.0, 6.0] * 5 + [2.0, 3.0])
    series = charge_series(rides)
    assert (series.basis, series.rows) == ("pack_highest_charge_a", list(range(12)))
    assert np.exp(series.values[-2:]) == pytest.approx([2, 3])
    assert series.conditions[:, 0].tolist() == [0, 1] * 6
    assert charge_series(frames()[0]).rows == []  # not known
