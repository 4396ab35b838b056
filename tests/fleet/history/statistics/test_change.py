"""One change in a series: the Nile, its p-value counted, one odd ride, conditions."""

import numpy as np
import pytest

from ridelog.fleet.history.statistics.change import TO_THE_END, Looked, Partial, one_change, robust_line

STEP = Looked()


@pytest.fixture
def nile():
    from statsmodels.datasets import nile

    return nile.load_pandas().data["volume"].to_numpy()


def test_the_nile_changed_after_1898(nile):
    # 1898 (index 28): documentation of R's strucchange. Means 1097.75 and 849.972: least squares, with statsmodels.
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


def test_a_robust_line_holds_beside_a_wild_value():
    x = np.arange(12.0)
    y = 3 + 2 * x + np.random.default_rng(7).normal(0, 0.1, 12)
    y[3] = 500
    assert robust_line(np.column_stack([np.ones(12), x]), y) == pytest.approx([3, 2], abs=0.2)
