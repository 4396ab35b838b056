"""A trend that one wild ride does not move."""

from math import factorial

import numpy as np
import pytest

from ridelog.fleet.history.statistics.trend import trend


def test_ten_values_that_only_rise_have_the_probability_of_one_order_in_all():
    # Of 10! orders one rises and one falls throughout.
    told = trend(np.arange(10.0), 3 + 2 * np.arange(10.0))
    assert told.p_value == pytest.approx(2 / factorial(10))
    assert (told.per_day, told.low95, told.high95) == pytest.approx((2, 2, 2))


def test_sens_own_example():
    # Sen 1968, section 6 (values from memory): times 1 2 3 4 10 12 18, measured 9 15 19 20 45 55 78: slope 4
    told = trend(np.array([1.0, 2, 3, 4, 10, 12, 18]), np.array([9.0, 15, 19, 20, 45, 55, 78]))
    assert told.per_day == pytest.approx(4.0)
    assert told.low95 < 4 < told.high95


def test_a_wild_ride_moves_no_trend():
    days, values = np.arange(12.0), np.arange(12.0)
    values[4] = 1e6
    assert trend(days, values).per_day == pytest.approx(1.0, abs=0.01)


def test_chance_is_no_trend():
    rng = np.random.default_rng(1)
    p_values = np.array([trend(np.arange(15.0), rng.normal(size=15)).p_value for _ in range(300)])
    assert np.mean(p_values <= 0.05) < 0.05 + 3 * np.sqrt(0.05 * 0.95 / 300)


def test_too_few_or_all_on_one_day_have_none():
    assert trend(np.arange(3.0), np.arange(3.0)) is None
    assert trend(np.zeros(5), np.arange(5.0)) is None
    assert trend(np.arange(5.0), np.ones(5)).p_value == 1
