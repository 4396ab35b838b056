"""The distribution of a difference with shared errors: closed forms, trials, coverage."""

import numpy as np
import pytest
from scipy import stats

from ridelog.compare.statistics.combined import Combined
from ridelog.compare.statistics.estimate import Estimate


def estimate(value=1.0, se=0.5, freedom=5):
    return Estimate(value, np.zeros(0), se, freedom)


def test_without_shared_errors_it_is_students():
    both = Combined.of(estimate())
    assert both.interval(0.95) == pytest.approx(stats.t.interval(0.95, 5, 1.0, 0.5))
    assert both.p_value() == pytest.approx(2 * stats.t.sf(2.0, 5))


def test_a_shared_error_alone_is_rectangular():
    both = Combined.of(estimate(se=0.0), [0.2])
    assert both.interval() == pytest.approx((1 - 0.95 * 0.2 * np.sqrt(3), 1 + 0.95 * 0.2 * np.sqrt(3)), rel=1e-3)
    assert both.p_value() == 0
    assert both.shared_u == pytest.approx(0.2, rel=1e-3)


def test_both_together_are_what_trials_give():
    rng = np.random.default_rng(6)
    trials = 1 + 0.5 * stats.t.rvs(5, size=400_000, random_state=rng)
    trials += sum(u * np.sqrt(3) * rng.uniform(-1, 1, len(trials)) for u in (0.4, 0.3))
    both = Combined.of(estimate(), [0.4, -0.3])
    for level in (0.95, 0.99):
        wanted = np.quantile(trials, [(1 - level) / 2, (1 + level) / 2])
        assert both.interval(level) == pytest.approx(wanted, abs=0.02)
    assert both.p_value() == pytest.approx(2 * np.mean(trials < 0), rel=0.02)


def test_the_interval_reaches_zero_just_where_the_probability_is_its_level():
    rng = np.random.default_rng(7)
    for _ in range(50):
        both = Combined.of(estimate(rng.normal(), rng.uniform(0.05, 1), rng.integers(1, 20)), rng.uniform(0, 0.5, 2))
        p_value = both.p_value()
        ends = both.interval(1 - p_value)
        assert min(abs(end) for end in ends) == pytest.approx(0, abs=1e-6)


def test_nothing_known_of_a_difference_of_nothing():
    both = Combined.of(estimate(0.0, 0.0, np.inf))
    assert (both.interval(), both.p_value()) == ((0, 0), 1)


def test_what_cancels_leaves_no_trace():
    assert Combined.of(estimate(), [1e-17, -1e-16]).shared.tolist() == [0]
