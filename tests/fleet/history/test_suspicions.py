"""Tests of one bike's rides, before any correction."""

import numpy as np
import pandas as pd
import pytest

from ridelog.fleet.history.settings import DEFAULTS
from ridelog.fleet.history.suspicions import (
    regen_fading,
    regen_lost,
    resistance_rising,
    suspicions,
    wheel_size_off,
    zero_drifting,
)
from tests.fleet.history.made_up import Fault, bike_rides

NO_DESCENTS = pd.DataFrame({"place": [], "key": [], "captured_pct": []})


def rides(code=None, onset=15, n=30, seed=1, gradual=False):
    from ridelog.fleet.history.returned import with_nothing

    fault = None if code is None else Fault(code, onset, gradual)
    return with_nothing(bike_rides("a", n, np.random.default_rng(seed), fault)[0])


def test_a_loss_of_regen_is_dated_at_its_first_ride():
    lost = regen_lost(rides("regen-lost"), DEFAULTS)
    assert (lost.since, lost.worth_telling) == (15, True)
    assert lost.p_value < 1e-4
    assert lost.evidence["now_pct"] == 0
    assert not regen_lost(rides(), DEFAULTS).worth_telling


def test_a_bike_that_often_gets_nothing_back_has_not_lost_it():
    shares = np.array([5, 0, 6, 0, 0, 5, 7, 0, 6, 0, 0, 0.0])
    frame = pd.DataFrame({"energy_recovered_pct": shares})
    assert regen_lost(frame, DEFAULTS).p_value > 0.05


def test_fading_is_told_by_its_size_and_its_date():
    fading = regen_fading(rides("regen-fading"), NO_DESCENTS, DEFAULTS)
    assert abs(fading.since - 15) <= 2
    assert fading.evidence["after_pct"] == pytest.approx(0.55 * fading.evidence["before_pct"], rel=0.2)
    assert not fading.evidence["gradual"]


def test_a_zero_that_creeps_is_no_step():
    drifting = zero_drifting(rides("zero-drifting", gradual=True), DEFAULTS)
    assert drifting.evidence["gradual"]
    assert drifting.evidence["after_a"] - drifting.evidence["before_a"] == pytest.approx(0.3, abs=0.05)


def test_resistance_that_the_cold_raises_is_no_fault():
    cold = rides(seed=3)
    order = np.argsort(-cold["air_temperature_c"].to_numpy())  # ever colder
    columns = [name for name in cold if name.startswith(("pack_resistance", "air_temperature"))]
    cold[columns] = cold[columns].to_numpy()[order]
    told = resistance_rising(cold, DEFAULTS)
    assert told is None or told.p_value > 0.01
    unknown = resistance_rising(cold.assign(air_temperature_c=np.nan), DEFAULTS)
    assert unknown.p_value < 0.001
    assert not unknown.evidence["temperature_known"]
    assert resistance_rising(rides("resistance-rising"), DEFAULTS).evidence["after_ohm"] > 0


def test_a_wheel_is_off_from_the_first_ride_or_since_a_change():
    whole = rides()
    whole["wheel_scale_ratio"] *= 1.05
    off = wheel_size_off(whole, DEFAULTS)
    assert off.since == 0
    assert off.evidence["n_before"] == 0
    assert off.evidence["off_pct"] == pytest.approx(5, abs=1)
    since = wheel_size_off(rides("wheel-size-off"), DEFAULTS)
    assert since.since == 15
    assert since.worth_telling
    assert not wheel_size_off(rides(), DEFAULTS).worth_telling


def test_what_is_not_logged_is_not_tested():
    frame = rides()[["key", "bike", "energy_recovered_pct"]]
    codes = {each.code for each in suspicions(frame, NO_DESCENTS, DEFAULTS)}
    assert codes <= {"regen-lost", "regen-fading"}
    assert zero_drifting(frame, DEFAULTS) is None
    assert wheel_size_off(frame, DEFAULTS) is None


def test_another_route_is_no_fault_and_a_fault_on_both_is():
    rng = np.random.default_rng(8)
    route = np.array([0] * 6 + [0, 1] * 5 + [1] * 8)
    usual = np.where(route == 0, 40.0, 20.0) * np.exp(rng.normal(0, 0.08, 24))
    frame = pd.DataFrame({"key": [f"{at:02d}" for at in range(24)], "route": route, "braking_captured_pct": usual})
    told = regen_fading(frame, NO_DESCENTS, DEFAULTS)
    assert told is None or told.p_value > 0.05
    assert regen_fading(frame.drop(columns="route"), NO_DESCENTS, DEFAULTS).p_value < 1e-3  # what routes would feign
    faded = frame.assign(braking_captured_pct=usual * np.where(np.arange(24) >= 11, 0.5, 1))
    fading = regen_fading(faded, NO_DESCENTS, DEFAULTS)
    assert fading.p_value < 1e-3
    assert abs(fading.since - 11) <= 1
    assert fading.between[0] <= 11 <= fading.between[1]


def test_a_zero_that_moved_is_no_fading():
    rng = np.random.default_rng(9)
    zero = np.where(np.arange(30) >= 15, 0.3, 0.0) + rng.normal(0, 0.01, 30)
    captured = (45 - 30 * zero) * np.exp(rng.normal(0, 0.05, 30))  # what flows back reads as less
    frame = pd.DataFrame({"key": [f"{at:02d}" for at in range(30)], "bike": "a", "braking_captured_pct": captured})
    frame["current_zero_a"] = zero
    frame["energy_recovered_pct"] = captured / 6
    made = {each.code: each for each in suspicions(frame, NO_DESCENTS, DEFAULTS)}
    assert made["zero-drifting"].p_value < 1e-3
    assert made["regen-fading"].p_value > 0.01


def faded(charge_a):
    """Rides that capture less from the 18th on, by 6 % a ride, beside noise of 15 %; and a largest charge current."""
    rng = np.random.default_rng(12)
    left = 1 - 0.06 * np.clip(np.arange(34) - 17, 0, 10)
    captured = 45 * left * np.exp(rng.normal(0, 0.15, 34))
    frame = pd.DataFrame({"key": [f"{at:02d}" for at in range(34)], "braking_captured_pct": captured})
    return frame.assign(pack_highest_charge_a=charge_a(left) * np.exp(rng.normal(0, 0.01, 34)))


def test_fading_is_dated_by_the_largest_charge_current():
    fading = regen_fading(faded(lambda left: 6 * left), NO_DESCENTS, DEFAULTS)
    assert abs(fading.since - 18) <= 1
    assert fading.between[0] <= 18 <= fading.between[1]
    assert fading.between[1] - fading.between[0] <= 3
    assert fading.evidence["charge_before_a"] == pytest.approx(6, rel=0.02)
    assert fading.evidence["charge_after_a"] == pytest.approx(2.4, rel=0.1)
    # what is tested is what was captured: the current neither tells of a fading nor hides one
    alone = regen_fading(faded(np.ones_like), NO_DESCENTS, DEFAULTS)
    assert (alone.p_value, alone.worth_telling) == (fading.p_value, fading.worth_telling)
    assert "charge_after_a" not in alone.evidence
    assert alone.between[1] - alone.between[0] > 3


def test_fading_is_dated_by_the_largest_force_where_torque_is_what_is_limited():
    """The current hangs on how fast the bike was then, by 20 %; the force does not."""
    frame = faded(lambda left: 6 * left)
    noise = np.random.default_rng(13).normal(0, 0.2, 34)
    force = 7 * frame["pack_highest_charge_a"]
    frame = frame.assign(pack_highest_charge_a=frame["pack_highest_charge_a"] * np.exp(noise))
    by_current = regen_fading(frame, NO_DESCENTS, DEFAULTS)
    by_force = regen_fading(frame.assign(highest_charge_force_n=force), NO_DESCENTS, DEFAULTS)
    assert abs(by_force.since - 18) <= 1
    assert by_force.between[0] <= 18 <= by_force.between[1]
    assert by_force.between[1] - by_force.between[0] < by_current.between[1] - by_current.between[0]
    assert by_force.evidence["charge_force_before_n"] == pytest.approx(42, rel=0.02)
    assert "charge_after_a" not in by_force.evidence


def test_a_charge_current_that_fell_at_another_time_dates_no_fading():
    fell = regen_fading(faded(lambda left: np.where(np.arange(len(left)) < 6, 6, 4)), NO_DESCENTS, DEFAULTS)
    assert "charge_after_a" not in fell.evidence
    assert fell.since > 10
