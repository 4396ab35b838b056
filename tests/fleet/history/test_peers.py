"""One bike against others on the same hills."""

import numpy as np
import pandas as pd
import pytest
from scipy import stats

from ridelog.fleet.history.peers import _against, below_others


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


def test_the_probability_is_that_of_students_t():
    # externally studentised: (x - mean of the others) / (s root(1 + 1/n)), n - 1 degrees of freedom
    others = np.array([42.0, 42, 43, 43, 50])  # a spread that reaches up
    difference, p_value = _against(30.0, 0.0, others, np.zeros(5))
    assert difference == pytest.approx(-14)
    assert p_value == pytest.approx(stats.t.cdf(-14 / (others.std(ddof=1) * np.sqrt(1.2)), 4))
    assert _against(30.0, 5.0, others, np.zeros(5))[1] > p_value


@pytest.mark.parametrize(("log_sd", "most"), [(0.0, 0.05), (0.2, 0.09), (0.3, 0.12)])
def test_a_spread_that_reaches_down_has_its_lowest_bike(log_sd, most):
    """How often any of 30 ordinary bikes is told at 5 %; by Student's t alone 20 to 33 of 100 sets where skewed."""
    rng = np.random.default_rng(5)
    alarms = 0
    for _ in range(600):
        effects = rng.normal(size=30)
        effects = -np.exp(log_sd * effects) if log_sd else effects
        lowest = effects.argmin()
        others = np.delete(effects, lowest)
        alarms += _against(effects[lowest], 0.0, others, np.zeros(29))[1] <= 0.05 / 30
    assert alarms / 600 <= most


def test_without_enough_others_nobody_is_judged():
    assert below_others(descents(n_bikes=3)) == ()
    assert below_others(descents(n_rides=2)) == ()
    assert below_others(descents().iloc[:0]) == ()
