"""One change in a series: the Nile, its p-value counted, one odd ride, conditions."""

import numpy as np
import pytest

from ridelog.fleet.history.statistics.change import Looked, Partial, one_change
from ridelog.fleet.history.statistics.dating import TO_THE_END

STEP = Looked()


@pytest.fixture
def nile():
    from statsmodels.datasets import nile

    return nile.load_pandas().data["volume"].to_numpy()


def test_the_nile_changed_after_1898(nile):
    # 1898 (index 28): documentation of R's strucchange, and three of the five people who marked the series for the
    # Turing change point dataset. Means 1097.75 and 849.972: least squares, with statsmodels.
    # Huber's weights draw two floods in, which moves the second mean by less than half a percent.
    change = one_change(nile, STEP)
    assert change.at == 28
    assert change.n_before == 28
    assert change.before == pytest.approx(1097.75, rel=0.005)
    assert change.after == pytest.approx(849.972, rel=0.005)
    # sup F 75.93 with 98 degrees of freedom is a t of 8.71: p = 7.8e-14 at a place that is known, times 95 places
    assert change.p_value < 1e-6
    assert change.earliest <= 28 <= change.latest
    assert change.latest - change.earliest <= 5


def test_the_largest_statistic_is_the_root_of_the_supremum_of_f(nile):
    # sup F 75.93 (references: computed with statsmodels); partial correlation r: F = r^2 / (1 - r^2) * 98
    steps = np.column_stack([np.arange(100) >= at for at in range(5, 96)]).astype(float)
    raw = nile - nile.mean()
    fit = Partial.of(nile, np.ones((100, 1)), steps)
    r = np.abs(fit.statistics(raw[None, :])[0]).max()
    assert r**2 / (1 - r**2) * 98 == pytest.approx(75.93, abs=0.01)


@pytest.mark.parametrize("n", [9, 25])
def test_under_no_change_p_values_are_as_rare_as_they_say(n):
    rng = np.random.default_rng(n)
    looked = Looked((1, 6, TO_THE_END), -1)
    p_values = np.array([each.p_value for _ in range(300) if (each := one_change(rng.gamma(4, 1, n), looked))])
    for level in (0.05, 0.2):
        seen = np.count_nonzero(p_values <= level)
        assert seen <= 300 * level + 3 * np.sqrt(300 * level)
    assert np.count_nonzero(p_values <= 0.2) > 30  # and it is no test that never speaks


def test_one_odd_ride_is_no_change():
    rng = np.random.default_rng(2)
    values = rng.normal(40, 2, 20)
    values[-2] = 0.0
    assert one_change(values, STEP).p_value > 0.05
    values[-6:] -= 12
    assert one_change(values, STEP).p_value < 0.001


def test_a_change_is_dated_before_the_first_ride_that_is_tested():
    """A zero that has been creeping since the third ride did not begin with the fifth."""
    values = 0.03 * np.clip(np.arange(16) - 1, 0, 8) + np.random.default_rng(7).normal(0, 0.004, 16)
    change = one_change(values, Looked((1, 3, 6, 12, TO_THE_END), dated_over=(*range(1, 13), TO_THE_END)))
    assert change.p_value < 1e-3
    assert change.earliest <= 2 <= change.latest <= 3


def test_what_the_cold_explains_is_no_change():
    rng = np.random.default_rng(3)
    air_c = np.concatenate([rng.normal(20, 2, 15), rng.normal(0, 2, 15)])
    values = 40 + 0.5 * air_c + rng.normal(0, 1, 30)
    assert one_change(values, STEP).p_value < 1e-3
    assert one_change(values, STEP, conditions=air_c[:, None]).p_value > 0.05


def test_a_slope_is_dated_at_its_first_ride():
    rng = np.random.default_rng(4)
    values = 0.1 + 0.02 * np.maximum(np.arange(30) - 17, 0) + rng.normal(0, 0.005, 30)
    change = one_change(values, Looked((1, 6, TO_THE_END), 1))
    assert change.over > 1
    assert abs(change.at - 18) <= 2
    assert change.after == pytest.approx(0.34, abs=0.02)


def test_values_that_are_well_known_count_more():
    rng = np.random.default_rng(5)
    u = np.where(np.arange(40) % 2, 0.01, 1.0)
    values = rng.normal(0, 1, 40) * u + 0.05 * (np.arange(40) >= 20)
    assert one_change(values, STEP, u=u).p_value < 1e-3 < one_change(values, STEP).p_value


def test_a_change_the_other_way_is_none():
    values = np.concatenate([np.zeros(10), np.ones(10)]) + np.random.default_rng(6).normal(0, 0.1, 20)
    assert one_change(values, Looked(direction=1)).p_value < 1e-3
    falling = one_change(values, Looked(direction=-1))
    assert falling is None or falling.p_value > 0.05


def test_too_few_rides_or_nothing_that_varies_has_no_change():
    assert one_change(np.arange(5.0), STEP) is None
    assert one_change(np.full(20, 3.0), STEP) is None


def test_two_odd_samples_of_a_control_chart_are_no_change():
    # Circuit boards, non-conformities in 26 samples (Montgomery, Introduction to Statistical Quality Control; from
    # memory). Centre 19.84615 and limits 6.481447 and 33.21086: qcc's published output.
    counts = np.array(
        [21, 24, 16, 12, 15, 5, 28, 20, 31, 25, 20, 24, 16, 19, 10, 17, 13, 22, 18, 39, 30, 24, 16, 19, 17, 15.0]
    )
    reach = 3 * np.sqrt(counts.mean())
    assert counts.mean() == pytest.approx(19.84615, abs=5e-6)
    assert (counts.mean() - reach, counts.mean() + reach) == pytest.approx((6.481447, 33.21086), abs=5e-6)
    assert np.flatnonzero(np.abs(counts - counts.mean()) > reach).tolist() == [5, 19]
    assert one_change(counts, STEP).p_value > 0.05


def test_the_piston_rings_changed_where_their_control_chart_alarms():
    # Means of 40 samples of five (Montgomery; from memory, in mm over 74). The first 25 are in control, their centre
    # 74.00118 and limits 73.98805 and 74.0143 (qcc's published output); samples 37 to 39 lie beyond them.
    means = np.array(
        [10.2, 0.6, 8, 3, 3.4, -4.4, 0, -3.2, 4.2, -2, -5.8, 1.4, -1.4, -9.8, 6, -3.4, 0.8, 7.4, -1.8, 9.2, -0.2, 1.6,
         2.4, 5.2, -1.8, 8.6, 2.2, -5.2, 3.6, -2.6, 7.2, 5.6, -2.2, 11.2, 12.6, 4.4, 16.6, 19.6, 23.4, 12.8]
    )  # fmt: skip
    assert 74 + means[:25].mean() / 1000 == pytest.approx(74.00118, abs=5e-6)
    assert np.flatnonzero((means < -11.95) | (means > 14.3)).tolist() == [36, 37, 38]
    assert one_change(means[:25], STEP).p_value > 0.05
    change = one_change(means, STEP)
    assert change.p_value < 1e-4
    assert change.earliest <= 36 <= change.latest
    assert 32 <= change.at <= 36
