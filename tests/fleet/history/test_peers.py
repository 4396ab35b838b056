"""One bike against others on the same hills."""

import numpy as np
import pandas as pd
import pytest

from ridelog.fleet.history.peers import _against, _each_against, below_others
from ridelog.fleet.history.settings import DEFAULTS
from ridelog.fleet.history.statistics import outlying


def descents(n_bikes=12, n_rides=10, bad=None, seed=1, by=25.0, slow=None):
    rng = np.random.default_rng(seed)
    rows = []
    for bike in range(n_bikes):
        own = 45 + rng.normal(0, 4) - (by if bike == bad else 0)
        for ride in range(n_rides):
            for hill in rng.choice(5, 2, replace=False):
                speed = 12.0 if bike == slow else rng.uniform(6, 9)
                rows.append(
                    {
                        "bike": f"{bike:02d}", "key": f"{bike}-{ride}", "place": f"h{hill}-down", "ride_start": ride,
                        "captured_pct": own + 3 * hill - 5 * (speed - 8) + rng.normal(0, 5),
                        "length_m": 400.0, "start_s": 0.0, "end_s": 400 / speed, "air_temperature_c": 15.0,
                    }
                )  # fmt: skip
    return pd.DataFrame(rows)


def test_a_bike_below_the_others_is_found():
    judged = {each.bike: each for each in below_others(descents(bad=4, by=35))}
    lowest = min(judged.values(), key=lambda each: each.p_value)
    assert lowest.bike == "04"
    assert lowest.p_value < 1e-3
    assert lowest.difference_points == pytest.approx(-35, abs=8)
    assert (lowest.others, lowest.hills) == (11, 5)


def test_the_lowest_of_ordinary_bikes_is_as_rare_as_it_should_be():
    p_values = [each.p_value for seed in range(40) for each in below_others(descents(seed=seed, n_rides=6))]
    assert len(p_values) == 480
    for level in (0.02, 0.1):
        assert np.mean(np.array(p_values) <= level) < level + 3 * np.sqrt(level * (1 - level) / 480)
    assert np.mean(np.array(p_values) <= 0.5) > 0.3  # and it is no test that never speaks


def test_a_bike_that_rides_faster_is_not_below():
    judged = {each.bike: each for each in below_others(descents(slow=3))}
    assert judged["03"].p_value > 0.01


def test_what_is_uncertain_of_a_bike_itself_makes_it_stand_out_less():
    others = np.array([42.0, 42, 43, 43, 50])  # a spread that reaches up
    difference, p_value = _against(30.0, 0.0, others, np.zeros(5))
    assert difference == pytest.approx(-14)
    assert _against(30.0, 5.0, others, np.zeros(5))[1] > p_value
    assert _against(30.0, 5.0, others, np.full(5, 5.0))[1] == p_value  # the spread holds as much of the others


# Rosner (1983), 54 values, as NIST/SEMATECH e-Handbook 1.3.5.17.3 has them (from memory): three outliers at 5 %, though
# neither the first nor the second is one beside the others (R = 3.118, 2.942, 3.179, 2.810, 2.815, 2.848 ...
# against 3.158, 3.151, 3.143, 3.136, 3.128, 3.120 ...).
ROSNER = (
    -0.25, 0.68, 0.94, 1.15, 1.20, 1.26, 1.26, 1.34, 1.38, 1.43, 1.49, 1.49, 1.55, 1.56, 1.58, 1.65, 1.69, 1.70, 1.76,
    1.77, 1.81, 1.91, 1.94, 1.96, 1.99, 2.06, 2.09, 2.10, 2.14, 2.15, 2.23, 2.24, 2.26, 2.35, 2.37, 2.40, 2.47, 2.54,
    2.62, 2.64, 2.90, 2.92, 2.92, 2.93, 3.21, 3.26, 3.30, 3.59, 3.68, 4.30, 4.64, 5.34, 5.42, 6.01,
)  # fmt: skip


def test_outliers_that_hide_one_another_are_found_as_rosner_finds_them(monkeypatch):
    monkeypatch.setattr(outlying, "SKEWNESSES", (0.0,))  # Student's t alone, as he has it
    values = -np.array(ROSNER)
    rank = np.argsort(values)
    alone = []
    for away in range(6):
        others = values[rank[away + 1 :]]
        p_value = _against(values[rank[away]], 0.0, others, np.zeros(len(others)))[1]
        alone.append(p_value <= 0.025 / (54 - away))  # one side of two
    assert alone == [False, False, True, False, False, False]
    told = [p_value <= 0.025 / 52 for _, p_value in _each_against(values, np.zeros(54), 3)]
    assert sorted(values[told]) == [-6.01, -5.42, -5.34]


def test_three_weak_bikes_do_not_hide_one_another():
    effects = np.concatenate([[-3.0, -3.1, -2.9], np.random.default_rng(2).normal(0, 0.5, 27)])
    judged = _each_against(effects, np.zeros(30), 3)
    told = [p_value for _, p_value in judged]
    assert 10 * max(told[:3]) < min(told[3:])
    assert 10 * max(told[:3]) < _against(effects[0], 0.0, effects[1:], np.zeros(29))[1]  # by all others at once


def spread_of(log_sd, n_sets, n_bikes, rng):
    """Effects of bikes, mean 0 and standard deviation 1: normal, or log-normal downwards."""
    effects = rng.normal(size=(n_sets, n_bikes))
    effects = -np.exp(log_sd * effects) if log_sd else effects
    return (effects - effects.mean()) / effects.std()


@pytest.mark.parametrize(("log_sd", "most"), [(0.0, 0.03), (0.2, 0.06), (0.3, 0.1)])
def test_a_spread_that_reaches_down_has_its_lowest_bike(log_sd, most):
    """How often any of 30 ordinary bikes is told at 5 %; by Student's t alone 20 to 33 of 100 sets where skewed."""
    alarms = [
        min(p_value for _, p_value in _each_against(effects, np.zeros(30), 3)) <= 0.05 / 30
        for effects in spread_of(log_sd, 150, 30, np.random.default_rng(5))
    ]
    assert np.mean(alarms) <= most


def test_weak_bikes_are_told_all_the_same():
    """Three of 20, eight standard deviations down, at what 120 tests leave to each."""
    told = []
    for effects in spread_of(0.2, 40, 20, np.random.default_rng(6)):
        effects[:3] = 0.5 * effects[:3] - 8
        told += [p_value <= 0.05 / 120 for _, p_value in _each_against(effects, np.zeros(20), 3)[:3]]
    assert np.mean(told) >= 0.65


def test_a_heavy_rider_is_not_below():
    """What a motor takes at most is a smaller share of what a heavy bike has to give."""
    rng = np.random.default_rng(4)
    rows = []
    for bike in range(20):
        mass_kg = 170.0 if bike == 7 else rng.uniform(85, 130)
        for ride in range(20):
            for hill in rng.choice(5, 2, replace=False):
                speed = rng.uniform(5, 10)
                power_w = mass_kg * 9.8 * (0.03 + 0.006 * hill) * speed
                share = 100 * min(0.8, 180 / power_w) * np.exp(rng.normal(0, 0.02))
                rows.append(
                    {
                        "bike": f"{bike:02d}", "key": f"{bike}-{ride}", "place": f"h{hill}-down", "ride_start": ride,
                        "captured_pct": share, "length_m": 400.0, "start_s": 0.0, "end_s": 400 / speed,
                        "available_wh": power_w * 400 / speed / 3600, "air_temperature_c": 15.0,
                    }
                )  # fmt: skip
    known = pd.DataFrame(rows)
    worth_telling = -DEFAULTS.below_points
    points = {each.bike: each.difference_points for each in below_others(known)}
    unknown = {each.bike: each.difference_points for each in below_others(known.drop(columns="available_wh"))}
    assert points["07"] > worth_telling / 2
    assert unknown["07"] < 2 * worth_telling


def test_without_enough_others_nobody_is_judged():
    assert below_others(descents(n_bikes=3)) == ()
    assert below_others(descents(n_rides=2)) == ()
    assert below_others(descents().iloc[:0]) == ()
