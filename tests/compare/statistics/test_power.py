"""Numbers of rides: the table of statsmodels, statsmodels itself, and verdicts counted."""

import numpy as np
import pytest
from scipy import stats
from statsmodels.stats.power import TTestIndPower, TTestPower

from ridelog.compare.statistics.combined import Combined
from ridelog.compare.statistics.estimate import paired
from ridelog.compare.statistics.power import Trial, power, rides_needed
from ridelog.fleet.history.statistics.shared import rectangular_sum


@pytest.mark.parametrize(
    ("effect", "pairs", "per_group"),
    [(0.2, 198.151, 393.406), (0.5, 33.367, 63.766), (0.8, 14.303, 25.525), (1.0, 9.938, 16.715)],
)
def test_the_table_of_sample_sizes(effect, pairs, per_group):
    # power 80 %, two-sided 5 %, by statsmodels.stats.power
    for trial, exact in ((Trial(1.0, "pairs"), pairs), (Trial(1.0, "pooled"), per_group)):
        assert power(trial, effect, exact) == pytest.approx(0.8, abs=2e-5)
        assert rides_needed(trial, effect) == int(np.ceil(exact))
    # Welch's t, by which two groups are judged, has fewer degrees of freedom, and tells a little less of so many
    assert 0.798 <= power(Trial(1.0, "groups"), effect, per_group) < 0.8
    assert rides_needed(Trial(1.0, "groups"), effect) == int(np.ceil(per_group))


@pytest.mark.parametrize(
    ("sizes", "effect"), [((2, 2), 4.0), ((3, 3), 3.0), ((2, 10), 3.0), ((5, 15), 2.0), ((4, 30), 1.5), ((6, 6), 2.0)]
)
def test_power_of_two_groups_is_how_often_welch_tells_them(sizes, effect):
    """Counted with scipy's own t; 40,000 campaigns are known to 0.75 points (three standard errors) at worst."""
    rng = np.random.default_rng(5)
    values = [rng.normal(mean, 1.0, (40_000, n)) for mean, n in zip((0.0, effect), sizes, strict=True)]
    counted = np.mean(stats.ttest_ind(*values, axis=1, equal_var=False).pvalue < 0.05)
    few, many = sizes
    assert power(Trial(1.0, "groups", ahead=many - few), effect, few) == pytest.approx(counted, abs=0.0075 + 0.002)


def test_more_rides_of_both_groups_are_counted_from_how_many_there_are():
    ahead = Trial(1.0, "groups", ahead=10)
    few = rides_needed(ahead, 1.5)
    assert few is not None
    assert power(ahead, 1.5, few) >= 0.8 > power(ahead, 1.5, few - 1)
    assert few < rides_needed(Trial(1.0, "groups"), 1.5)


def test_power_is_that_of_statsmodels_where_that_gives_a_number():
    asked = [(n, effect, alarms) for n in (2, 3, 6, 20) for effect in (0.3, 1.0, 2.0) for alarms in (0.05, 0.0125)]
    for by, model in (("pairs", TTestPower()), ("pooled", TTestIndPower())):
        wanted = np.array([model.power(effect, n, alarms) for n, effect, alarms in asked])
        told = np.array([power(Trial(2.0, by, alarms), 2 * effect, n) for n, effect, alarms in asked])
        known = np.isfinite(wanted)
        assert known.sum() >= 0.9 * len(asked)
        assert told[known] == pytest.approx(wanted[known], rel=1e-6)
        assert told[~known] == pytest.approx(1, abs=1e-3)


@pytest.mark.parametrize("difference", [1.0, 50.0, 1000.0])
def test_what_is_beyond_doubt_takes_two_rides(difference):
    assert rides_needed(Trial(1e-2), difference) == 2
    assert rides_needed(Trial(0.0), difference) == 2


def test_no_number_of_rides_takes_away_what_does_not_cancel():
    shared = rectangular_sum([0.3], 64)
    with_it, without = Trial(1.0, shared=shared), Trial(1.0)
    assert rides_needed(with_it, 1.0) > rides_needed(without, 1.0)
    # limits of 0.3 root 3 each way: 0.4 is within what they feign
    assert rides_needed(with_it, 0.4) is None
    assert rides_needed(Trial(0.0, shared=shared), 0.4) is None
    assert rides_needed(Trial(1.0), 1e-3) is None


def test_power_with_a_shared_error_is_how_often_verdicts_come():
    shared, n, trials = rectangular_sum([0.3], 64), 12, 800
    rng = np.random.default_rng(9)
    told = 0
    for _ in range(trials):
        values = np.concatenate([np.zeros(n), rng.normal(1.0, 1, n) + 0.3 * np.sqrt(3) * rng.uniform(-1, 1)])
        low, high = Combined.of(paired(values, np.arange(n), np.arange(n, 2 * n)), [0.3]).interval()
        told += low > 0 or high < 0
    # three standard errors of 800 trials are 5 points
    assert told / trials == pytest.approx(power(Trial(1.0, shared=shared), 1.0, n), abs=0.05)


def test_half_the_width_of_an_interval_is_what_half_of_all_rides_tell():
    n = 400
    half = float(stats.t.ppf(0.975, n - 1)) / np.sqrt(n)
    assert power(Trial(1.0), half, n) == pytest.approx(0.5, abs=0.005)


@pytest.mark.parametrize("sd", [0.01, 0.05])
def test_errors_that_dwarf_the_spread_are_told_without_a_warning(sd):
    """A difference of 1 less or more errors of up to 3: by hand, no number of rides tells it, nor shrinks them."""
    trial = Trial(sd, "pairs", shared=np.linspace(-3, 3, 32))
    assert rides_needed(trial, 1.0) is None
    assert 0 <= power(trial, 1.0, 1000) < 0.5
