"""What values show: every series is made from a known resistance, unit and sign (U = U0 - R·I, positive is out)."""

import numpy as np
import pytest

from ridelog.importers.columns.evidence import (
    SignEvidence,
    power_ratio,
    sign_by_counter,
    sign_by_fall,
    sign_by_sag,
    sign_by_speeding,
    unit_by_range,
    unit_by_rate,
    unit_of_current,
    unit_of_power,
    verdict,
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


def test_a_voltage_sampled_late_does_not_turn_the_sign():
    """Current alternates from sample to sample on a slow swing, and the voltage answers one sample later."""
    swing_a = 8 * np.sin(TIME_S / 3) + np.where(np.arange(600) % 2, 1.5, -1.5)
    late_v = 50 - 0.12 * np.concatenate((swing_a[:1], swing_a[:-1]))
    found = sign_by_sag(late_v, swing_a)
    assert found is not None
    assert found.way != "reversed"


def test_noise_alone_shows_no_sign():
    found = sign_by_sag(50 + RNG.normal(0, 0.1, 600), CURRENT_A)
    assert found is not None
    assert found.way == "unclear"
    assert sign_by_sag(np.full(600, 50.0), CURRENT_A) is None


@pytest.mark.parametrize(("sign", "way"), [(1, "as read"), (-1, "reversed")])
def test_each_kind_of_evidence_tells_both_signs(sign, way):
    """Read with either sign, each kind of evidence says which it is."""
    current_a = sign * CURRENT_A
    drawn_ah = np.cumsum(np.clip(CURRENT_A, 0, None)) * 0.2 / 3600
    returned_ah = np.cumsum(np.clip(-CURRENT_A, 0, None)) * 0.2 / 3600
    soc_pct = 80 - 10 * np.cumsum(CURRENT_A) / np.sum(CURRENT_A)
    speed_mps = 6 + 0.01 * np.cumsum(CURRENT_A - CURRENT_A.mean())
    found = [
        sign_by_sag(VOLTAGE_V, current_a),
        sign_by_fall(soc_pct, current_a, TIME_S),
        sign_by_counter(drawn_ah, current_a, TIME_S, "drawn"),
        sign_by_counter(returned_ah, current_a, TIME_S, "returned"),
        sign_by_counter(drawn_ah - returned_ah, current_a, TIME_S, "net"),
        sign_by_speeding(speed_mps, current_a, TIME_S),
    ]
    assert [item.way if item else None for item in found] == [way] * 6


def test_evidence_that_contradicts_itself_decides_nothing():
    said = [SignEvidence("as read", {"a": 1}), SignEvidence("reversed", {"b": 2}), SignEvidence("unclear", {"c": 3})]
    assert verdict(said) == SignEvidence("unclear", {"a": 1, "b": 2})
    assert verdict(said[:1]) == said[0]
    assert verdict(said[2:]) == said[2]
    assert verdict([]).way == "unclear"


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
