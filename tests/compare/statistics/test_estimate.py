"""Paired t and Welch's: Student's sleep data, scipy and statsmodels; what happens where nothing differs."""

import numpy as np
import pytest
from scipy import stats
from statsmodels.stats.weightstats import CompareMeans, DescrStatsW

from ridelog.compare.statistics.combined import Combined
from ridelog.compare.statistics.estimate import paired, welch

# Student 1908, Biometrika 6:1, hours of sleep gained by ten people with either drug (data from memory; what is known
# of them below was computed from the same)
SLEEP = np.array(
    [0.7, -1.6, -0.2, -1.2, -0.1, 3.4, 3.7, 0.8, 0.0, 2.0, 1.9, 0.8, 1.1, 0.1, -0.1, 4.4, 5.5, 1.6, 4.6, 3.4]
)
FIRST, SECOND = np.arange(10), np.arange(10, 20)


def test_students_sleep_data_by_pairs():
    told = paired(SLEEP, FIRST, SECOND)
    both = Combined.of(told)
    assert (told.value, told.value / told.se, told.degrees_of_freedom) == (
        pytest.approx(1.58), pytest.approx(4.0621, abs=5e-5), 9,
    )  # fmt: skip
    assert both.p_value() == pytest.approx(0.002833, abs=5e-7)
    assert both.interval() == pytest.approx((0.700114, 2.459886), abs=5e-7)
    direct = stats.ttest_rel(SLEEP[SECOND], SLEEP[FIRST])
    assert both.p_value() == pytest.approx(direct.pvalue)
    assert both.interval(0.99) == pytest.approx(tuple(direct.confidence_interval(0.99)))


def test_students_sleep_data_as_two_groups():
    told = welch(SLEEP, FIRST, SECOND)
    both = Combined.of(told)
    assert told.value / told.se == pytest.approx(1.8608, abs=5e-5)
    assert both.p_value() == pytest.approx(0.07939, abs=5e-6)
    direct = CompareMeans(DescrStatsW(SLEEP[SECOND]), DescrStatsW(SLEEP[FIRST]))
    assert both.interval() == pytest.approx(direct.tconfint_diff(usevar="unequal"))


def test_groups_of_other_sizes_and_spreads_are_as_scipy_has_them():
    values = np.random.default_rng(2).normal(0, 1, 30) * np.repeat([1.0, 4.0], [22, 8])
    rows = np.arange(22), np.arange(22, 30)
    direct = stats.ttest_ind(values[rows[1]], values[rows[0]], equal_var=False)
    told = welch(values, *rows)
    assert told.degrees_of_freedom == pytest.approx(direct.df)
    assert Combined.of(told).p_value() == pytest.approx(direct.pvalue)


@pytest.mark.parametrize(("few", "many", "by_welch"), [(2, 10, 9), (3, 12, 6)])
def test_two_or_three_rides_beside_many_do_not_pass_chance_off_as_a_difference(few, many, by_welch):
    """Welch's t alone does: 10 and 7 times of 100, as scipy counts; here at most 5."""
    rng, n = np.random.default_rng(12), 3000
    rows = np.arange(few), np.arange(few, few + many)
    values = rng.normal(0, 1, (n, few + many))
    alone = stats.ttest_ind(values[:, few:], values[:, :few], axis=1, equal_var=False).pvalue <= 0.05
    told = [abs(one.value) > one.half_width() for one in (welch(each, *rows) for each in values)]
    assert 100 * np.mean(alone) > by_welch
    assert 100 * np.mean(told) <= 5
    one = welch(values[0], *rows)
    both = [stats.ttest_ind(values[0, few:], values[0, :few], equal_var=equal) for equal in (True, False)]
    reach = max(np.ptp(each.confidence_interval(0.95)) for each in both) / 2
    assert one.half_width() == pytest.approx(reach)


@pytest.mark.parametrize("estimate", [paired, welch])
def test_the_weights_make_the_estimate(estimate):
    told = estimate(SLEEP, FIRST, SECOND)
    assert told.weights @ SLEEP == pytest.approx(told.value)
    assert told.weights.sum() == pytest.approx(0)


def test_values_that_are_all_the_same_are_as_sure_as_they_were_measured():
    values, own = np.array([0.0, 0, 0, 2, 2, 2]), np.full(6, 0.3)
    told = welch(values, np.arange(3), np.arange(3, 6))
    assert (told.se, told.degrees_of_freedom) == (0, 2)
    assert told.floored(own).se == pytest.approx(0.3 * np.sqrt(2 / 3))
    assert Combined.of(told.floored(own)).interval() == pytest.approx((2 - 0.480, 2 + 0.480), abs=1e-3)
    assert told.floored(np.zeros(6)) is told


def test_a_spread_beyond_the_measurement_stays():
    told = paired(SLEEP, FIRST, SECOND)
    assert told.floored(np.full(20, 0.1)) is told
