"""What rides teach about the bike: the next ride's value lies within, a trend is followed."""

import numpy as np
import pandas as pd
import pytest

from ridelog.fleet.history.bike.learned import learned, next_ride


def rides(n=20, seed=1, **columns):
    starts = pd.Timestamp("2026-01-01", tz="UTC") + pd.to_timedelta(np.arange(n) * 5, unit="D")
    return pd.DataFrame({"key": [f"{at:03d}" for at in range(n)], "ride_start": starts, **columns})


def test_the_next_ride_measures_within_95_of_100_times():
    rng = np.random.default_rng(2)
    held = true_held = 0
    for _ in range(1000):
        u = rng.uniform(0.1, 1.0, 13)
        true = rng.normal(5, 0.6, 13)
        measured = true + u * rng.normal(size=13)
        low, _, high = next_ride(measured[:-1], u[:-1])
        held += low <= measured[-1] <= high
        true_held += low <= true[-1] <= high
    assert 0.93 <= held / 1000 <= 0.97
    assert true_held >= held


def test_equal_errors_give_students_prediction_interval():
    # mean ± t(n - 2) s root(1 + 1/n): Higgins 2009; t.975 with 8 degrees of freedom 2.306 (any table)
    values = np.arange(10.0)
    low, mean, high = next_ride(values, np.zeros(10))
    half = 2.306 * values.std(ddof=1) * np.sqrt(1.1)
    assert (low, mean, high) == pytest.approx((4.5 - half, 4.5, 4.5 + half), abs=2e-3)


def test_the_wheel_is_scaled_by_the_positions():
    rng = np.random.default_rng(3)
    frame = rides(wheel_scale_ratio=1.03 + rng.normal(0, 0.004, 20))
    (wheel,) = learned(frame, wheel_circumference_m=2.1)
    assert wheel.name == "wheel_circumference_m"
    assert wheel.value.value == pytest.approx(2.163, abs=0.005)
    # a rectangular distribution of that half-width holds 95 % within the interval
    assert wheel.limit * 0.95 == pytest.approx(wheel.value.high95 - wheel.value.value)
    assert wheel.per_year is None
    assert learned(frame) == ()


def test_a_zero_that_moves_is_followed_to_the_latest_ride():
    rng = np.random.default_rng(4)
    frame = rides(current_zero_a=0.002 * np.arange(20) + rng.normal(0, 0.003, 20))
    (zero,) = learned(frame)
    assert zero.per_year == pytest.approx(0.002 / 5 * 365.25, rel=0.15)
    assert zero.value.value == pytest.approx(0.038, abs=0.004)
    still = learned(rides(current_zero_a=rng.normal(0.01, 0.003, 20)))[0]
    assert still.per_year is None
    assert still.value.value == pytest.approx(0.01, abs=0.003)


def test_few_rides_teach_nothing():
    assert learned(rides(3, standby_draw_a=0.06)) == ()
    assert learned(rides(4, standby_draw_a=[0.06, 0.05, 0.06, 0.07]))[0].rides == 4
