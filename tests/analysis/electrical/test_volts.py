"""The voltage between its samples, held against a pack whose resistance is known."""

import numpy as np
import pytest

from ridelog.analysis.electrical.volts import between, sparse_resistance, volts_at_currents

STEP_S = 0.2
LOG_S = np.arange(0, 1200, STEP_S)
OHM = 0.12


def current_a(seed=3):
    """Starts, stops and returns of a few seconds each: noise smoothed over 2 s, up to some 25 A."""
    rng = np.random.default_rng(seed)
    smooth = np.convolve(rng.normal(0, 1, len(LOG_S) + 9), np.ones(10) / 10, mode="valid")
    return 6 + 30 * smooth


def volts(current, ohm=OHM):
    return 52 - 2 * LOG_S / 1200 - ohm * current


def every(values, n):
    """Blank but for each n-th."""
    return np.where(np.arange(len(values)) % n == 0, values, np.nan)


@pytest.mark.parametrize("n", [5, 15, 50])
def test_a_voltage_logged_less_often_answers_the_current_between_its_samples(n):
    """Every 1, 3 and 10 s beside a current every 0.2 s: right for a pack of one resistance; straight lines are not."""
    current = current_a()
    true = volts(current)
    found = volts_at_currents(LOG_S, every(true, n), LOG_S, current, 30.0)
    seen = np.isfinite(found)
    assert seen[: -2 * n].all()
    assert np.abs(found - true)[seen].max() < 0.02
    straight = between(LOG_S, every(true, n), LOG_S, 30.0)
    assert np.nanmax(np.abs(straight - true)) > 0.3


def test_a_voltage_that_is_missing_here_and_there_is_bridged_by_straight_lines():
    current = current_a()
    some = volts(current)
    some[100:103] = np.nan
    found = volts_at_currents(LOG_S, some, LOG_S, current, 30.0)
    assert found[101] == pytest.approx(np.interp(LOG_S[101], LOG_S[[99, 103]], some[[99, 103]]))


def test_nothing_is_invented_across_a_long_gap():
    current = current_a()
    some = every(volts(current), 15)
    some[1000:2000] = np.nan
    found = volts_at_currents(LOG_S, some, LOG_S, current, 30.0)
    assert np.isnan(found[1100:1900]).all()
    assert np.isfinite(found[2100:2900]).all()
    assert np.isnan(volts_at_currents(LOG_S, np.full(len(LOG_S), np.nan), LOG_S, current, 30.0)).all()


def test_voltage_and_current_in_rows_of_their_own_are_joined():
    """One has every even row, the other every odd one."""
    current, even = current_a(), np.arange(len(LOG_S)) % 2 == 0
    true = volts(current)
    found = volts_at_currents(LOG_S, np.where(even, np.nan, true), LOG_S[even], current[even], 30.0)
    assert np.sqrt(np.nanmean((found - true[even]) ** 2)) < 0.3 * true.std()
    assert np.isfinite(found[1:-1]).all()


def test_a_resistance_that_is_not_clear_is_none():
    rng = np.random.default_rng(8)
    assert sparse_resistance(rng.normal(50, 1, 500), rng.normal(5, 5, 500)) == 0.0
    assert sparse_resistance(volts(current_a())[:20], current_a()[:20]) == 0.0  # too few
    assert sparse_resistance(volts(current_a(), -0.2), current_a()) == 0.0  # no pack rises under load
    assert sparse_resistance(volts(current_a()), current_a()) == pytest.approx(OHM, abs=2e-3)
