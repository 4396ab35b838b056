"""What values show: every series is made from a known resistance, unit and sign (U = U0 - R·I, positive is out)."""

import numpy as np
import pytest

from ridelog.importers.columns.evidence import (
    power_ratio,
    unit_by_range,
    unit_by_rate,
    unit_of_current,
    unit_of_power,
    voltage_sag,
)

RNG = np.random.default_rng(7)
TIME_S = np.arange(600) * 0.2
CURRENT_A = np.repeat(RNG.uniform(-6, 15, 120), 5)
VOLTAGE_V = 50 - 0.12 * CURRENT_A - 0.001 * TIME_S


def test_the_slope_of_voltage_over_current_is_the_resistance():
    sag = voltage_sag(np.round(VOLTAGE_V, 2), np.round(CURRENT_A, 2))
    assert sag is not None
    # drift of 0.2 mV a step and roundings of 5 mV and 5 mA against steps of at least 2 A: below 0.005 Ω
    assert sag.slope == pytest.approx(-0.12, abs=0.005)
    assert sag.is_clear


def test_power_over_voltage_and_current_is_one_for_matching_columns():
    found = power_ratio(VOLTAGE_V * CURRENT_A, VOLTAGE_V, CURRENT_A)
    assert found == (pytest.approx(1.0), 1.0)
    assert power_ratio(np.zeros(3), VOLTAGE_V[:3], CURRENT_A[:3]) is None


@pytest.mark.parametrize(("factor", "unit"), [(1, "A"), (1e3, "mA")])
def test_the_unit_of_a_current_is_shown_by_power_or_by_voltage(factor, unit):
    for power_w in (VOLTAGE_V * CURRENT_A, None):
        found = unit_of_current(CURRENT_A * factor, VOLTAGE_V, power_w)
        assert found is not None
        assert found[0].name == unit


def test_a_current_that_would_exceed_every_bicycle_is_in_milliampere():
    found = unit_of_current(CURRENT_A * 1e3, None, None)
    assert found is not None
    assert found[0].name == "mA"
    assert unit_of_current(CURRENT_A, None, None) is None
    assert unit_of_current(CURRENT_A * 1e9, None, None) is None


@pytest.mark.parametrize(("factor", "unit"), [(1, "W"), (1e-3, "kW")])
def test_the_unit_of_a_power_is_shown_by_voltage_and_current(factor, unit):
    found = unit_of_power(VOLTAGE_V * CURRENT_A * factor, VOLTAGE_V, CURRENT_A)
    assert found is not None
    assert found[0].name == unit
    assert unit_of_power(np.full(20, 3.0), None, None) is None


@pytest.mark.parametrize(("factor", "unit"), [(1, "m/s"), (3.6, "km/h"), (1 / 0.44704, "mph")])
def test_the_unit_of_a_speed_is_shown_by_the_distance(factor, unit):
    speed_mps = 6 + np.sin(TIME_S / 9)
    distance_m = 6 * TIME_S - 9 * np.cos(TIME_S / 9)  # its integral, in closed form
    found = unit_by_rate(speed_mps * factor, distance_m, TIME_S, of="speed")
    assert found is not None
    assert found[0].name == unit
    assert unit_by_rate(speed_mps * 7, distance_m, TIME_S, of="speed") is None


def test_a_range_decides_only_where_one_unit_is_possible():
    choices = (("v", 5.0, 200.0), ("mv", 5000.0, 200_000.0))
    assert [found[0].name for x in (48.0, 48_000.0) if (found := unit_by_range(np.array([x]), choices))] == ["V", "mV"]
    assert unit_by_range(np.array([1000.0]), choices) is None
    assert unit_by_range(np.array([np.nan]), choices) is None
