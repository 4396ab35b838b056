"""What a ride's errors have in common with another's, against hand-worked effects and differences trial by trial."""

from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pandas as pd
import pytest

from ridelog.analysis.braking.events import Events, measured_events, summed
from ridelog.analysis.electrical.flow import electrical_flow
from ridelog.analysis.electrical.sensor import CHARGE_GAIN, GAIN, VOLTAGE_GAIN, ZERO
from ridelog.analysis.road.load import RoadLoad
from ridelog.analysis.road.motion import Motion
from ridelog.analysis.shared_errors import MASS, SPEED_SCALE, shared_errors
from ridelog.analysis.summary import net_wh_per_km
from ridelog.answer.shared_errors import HEIGHT
from ridelog.recording import Recording
from ridelog.settings.bike import Bike, BikeSection, RoadSection, SensorSection
from ridelog.uncertain.shared import OWN
from ridelog.uncertain.trials import UNKNOWN, exact
from tests.analysis.scenes import scene_by_hand
from tests.scenarios import sample_answer

FAULTLESS = {
    "current_zero_limit_a": 0.0,
    "current_gain_limit_pct": 0.0,
    "charge_gain_limit_pct": 0.0,
    "voltage_gain_limit_pct": 0.0,
    "standby_draw_a": 0.0,
}
FREE = RoadLoad(100.0, 100.0, cda_m2=0.0, crr=0.0, density=1.2)
KNOWN = RoadSection(
    cda_m2=0.5, cda_limit_m2=0.0, crr=0.008, crr_limit=0.0
)  # without limits: the load of the scene stands
HEAVY = BikeSection(total_mass_kg=100.0, total_mass_limit_kg=6.0, rotating_mass_kg=0.0)


def flow(back_a=-4.0, out_a=8.0, **sensor):
    """8 A out for 40 s and 4 A in for 10 s, over and over, at 50 V, read five times a second: 12.5 % comes back."""
    time_s = np.arange(0, 3000, 0.2)
    frame = pd.DataFrame(
        {"current_a": np.where(time_s % 50 < 40, out_a, back_a), "voltage_v": 50.0},
        index=pd.Index(time_s, name="time_s"),
    )
    recording = Recording("log.csv", "0" * 64, "csv", frame, None, "elapsed")
    return electrical_flow(recording, sensor=SensorSection(**{**FAULTLESS, **sensor}))


def scene(current=None, bike=None, load=FREE):
    """60 m down a slope of 6 %, held at 5 m/s by brakes that send 4 A back at 50 V."""
    time_s = np.arange(0, 240, 0.5)
    speed = np.full(len(time_s), 5.0)
    slope = (time_s >= 20) & (time_s < 220)
    height = 60 - np.concatenate(([0.0], np.cumsum(0.06 * 2.5 * slope[1:])))
    motion = Motion(time_s, speed, height, np.where(slope, -6.0, 0.0), None, 0.0, 0.0)
    frame = pd.DataFrame(
        {"current_a": np.where(slope, -4.0, 3.0), "voltage_v": 50.0}, index=pd.Index(time_s, name="time_s")
    )
    recording = Recording("log.csv", "0" * 64, "csv", frame, None, "elapsed")
    told = current or electrical_flow(recording, sensor=SensorSection(**FAULTLESS))
    return scene_by_hand(motion, load, flow=told, bike=bike or Bike(bike=HEAVY, road=KNOWN))


def effects(one, *, bike=None, distance_m=None, source="positions"):
    """Of a scene, or of a flow alone."""
    there = one if hasattr(one, "flow") else replace(scene(), flow=one)
    ride = SimpleNamespace(bike=bike or Bike(), speed_source=source, distance_source=source)
    events = measured_events(there) if there.flow is not one else Events(there, ())
    return shared_errors(ride, there, distance_m or exact(10_000.0), events, summed(there, events), ()).ride


def test_charge_against_discharge_gain_scales_what_came_back():
    """± 1 % on what returned: 12.5 % × 0.01/√3 = 0.0722 points; a gain read too high makes the true share lower."""
    told = effects(flow(charge_gain_limit_pct=1.0))["recovered_pct"]
    assert set(told) == {CHARGE_GAIN, OWN}  # the gains that both directions share cancel, those without limit are still
    assert told[CHARGE_GAIN] == pytest.approx(-12.5 * 0.01 / np.sqrt(3), rel=0.03)


def test_gains_scale_the_use_per_kilometre():
    """60 periods of 50 V · (8 A · 40 s - 4 A · 10 s) = 233.3 Wh over 10 km: 23.3 Wh/km × 0.02/√3, and half of it."""
    told = effects(flow(current_gain_limit_pct=2.0, voltage_gain_limit_pct=1.0))["net_wh_per_km"]
    assert told[GAIN] == pytest.approx(-23.33 * 0.02 / np.sqrt(3), rel=0.03)
    assert told[VOLTAGE_GAIN] == pytest.approx(-23.33 * 0.01 / np.sqrt(3), rel=0.03)


def test_the_scale_of_the_speed_is_shared_where_a_wheel_measures_it():
    """A way longer than recorded by ± 1 % in standard uncertainty: so much less for each kilometre."""
    trials = 10_000 * (1 + 0.01 * np.sqrt(3) * np.random.default_rng(3).uniform(-1, 1, 4000))
    way = replace(exact(10_000.0), trials=trials)
    by_wheel = effects(flow(), distance_m=way, source="wheel")["net_wh_per_km"]
    assert by_wheel[SPEED_SCALE] == pytest.approx(-23.33 * 0.01, rel=0.03)
    assert SPEED_SCALE not in effects(flow(), distance_m=way)["net_wh_per_km"]


@pytest.mark.parametrize("limit_a", [0.05, 0.1])
def test_a_zero_error_makes_less_or_more_seem_to_come_back(limit_a):
    """Without standby draw known nothing tells it: (4 + b)·10 over (8 - b)·40 changes by 4.6875 points an ampere.

    d/db of 100 (4 + b)·10/((8 - b)·40) at 0 = 25 · (8 + 4)/64; b is rectangular within the limit.
    """
    told = effects(flow(current_zero_limit_a=limit_a, standby_draw_a=None))["recovered_pct"]
    assert told[ZERO] == pytest.approx(4.6875 * limit_a / np.sqrt(3), rel=0.03)


def test_a_ride_measured_with_twice_the_limit_of_the_zero_shares_twice_as_much():
    small, large = (
        effects(flow(current_zero_limit_a=limit_a, standby_draw_a=None))["recovered_pct"] for limit_a in (0.04, 0.08)
    )
    assert large[ZERO] == pytest.approx(2 * small[ZERO], rel=0.02)
    assert large[OWN] == pytest.approx(small[OWN], rel=0.1)


def test_the_difference_of_two_rides_of_one_logger_is_as_sure_as_trial_by_trial():
    """12.5 % and 25 % by one zero and one asymmetry: the spread of the difference of their trials by these alone."""
    limits = {"current_zero_limit_a": 0.1, "charge_gain_limit_pct": 1.0, "standby_draw_a": None}
    rides = flow(**limits), flow(back_a=-8.0, **limits)
    span = (0.0, float(rides[0].time_s[-1]))
    alone = [each.energy.window(*span, acting=(ZERO, CHARGE_GAIN)).recovered_pct.trials for each in rides]
    told = [effects(each)["recovered_pct"] for each in rides]
    by_effects = np.hypot(*(told[1][name] - told[0][name] for name in (ZERO, CHARGE_GAIN)))
    assert by_effects == pytest.approx((alone[1] - alone[0]).std(), rel=0.03)
    assert by_effects < 0.6 * np.hypot(alone[0].std(), alone[1].std())  # not so if each were its own


def test_of_a_descent_without_air_and_rolling_the_mass_alone_scales_what_was_available():
    """100 kg ± 6 kg: captured × 0.06/√3, the heavier the less; 1/m is bent by (0.06)² of it at most."""
    there = scene()
    returned, available = (getattr(summed(there, measured_events(there)), name) for name in (
        "returned_of_known_wh", "available_of_logged_wh"))  # fmt: skip
    captured = 100 * returned.value / available.value
    told = effects(there)["captured_pct"]
    assert told[MASS] == pytest.approx(-captured * 0.06 / np.sqrt(3), rel=0.03)
    assert {name for name, effect in told.items() if abs(effect) > 0.01 * captured} <= {MASS, OWN}


def test_the_difference_of_two_rides_on_one_bike_is_as_sure_as_trial_by_trial():
    """One descent, half as much returned on one: what the mass leaves of the difference is that of its trials alone."""
    there = scene()
    half = replace(there, flow=electrical_flow(_half(there), sensor=SensorSection(**FAULTLESS)))
    told = [effects(each)["captured_pct"] for each in (there, half)]
    mass = there.road.mass_kg
    captured = [
        100 * whole.returned_of_known_wh.value / whole.available_of_logged_wh.value
        for whole in (summed(each, measured_events(each)) for each in (there, half))
    ]
    by_trials = ((captured[1] - captured[0]) * 100.0 / mass).std()
    assert abs(told[1][MASS] - told[0][MASS]) == pytest.approx(by_trials, rel=0.05)


def test_a_drop_that_is_off_makes_so_much_more_or_less_captured():
    """By hand: 60 m, off by u at each end, alter what was available by √2 u/60 of itself, and what was captured so."""
    there = scene(bike=Bike(bike=HEAVY.model_copy(update={"total_mass_limit_kg": 0.0}), road=KNOWN))
    noisy = replace(
        there.heights.noise, slow_m=0.5, memory_s=40.0
    )  # long beside the smoothing, short beside the descent
    there = replace(there, heights=replace(there.heights, noise=noisy))
    whole = summed(there, measured_events(there))
    captured = 100 * whole.returned_of_known_wh.value / whole.available_of_logged_wh.value
    told = effects(there)["captured_pct"]
    assert told[HEIGHT] == pytest.approx(-captured * np.sqrt(2) * 0.5 / 60, rel=0.1)
    assert abs(told[HEIGHT]) > 5 * told[OWN]


def _half(there):
    frame = pd.DataFrame(
        {"current_a": np.where(there.flow.current_a < 0, -2.0, 3.0), "voltage_v": 50.0},
        index=pd.Index(there.time_s, name="time_s"),
    )
    return Recording("log.csv", "0" * 64, "csv", frame, None, "elapsed")


def test_what_is_not_known_has_no_effects():
    there = replace(scene(), flow=flow(back_a=0.0, out_a=0.0))
    assert effects(there.flow).keys() <= {"captured_pct", "net_wh_per_km"}
    assert "net_wh_per_km" not in effects(flow(), distance_m=UNKNOWN)
    nothing = sample_answer("no-return").shared_errors
    assert nothing.ride == {}
    assert nothing.hills == tuple({} for _ in sample_answer("no-return").hills)


def test_effects_and_own_part_are_the_whole_uncertainty_of_a_measured_ride():
    """Of the commute: squared and added up they are the variance that its interval shows, 95 % over 3.29 to 3.92 u."""
    answer = sample_answer("commute")
    shares = {
        "recovered_pct": answer.energy.recovered_pct,
        "captured_pct": answer.braking.captured_pct,
        "net_wh_per_km": answer.energy.net_wh_per_km,
    }
    for name, quantity in shares.items():
        u = np.sqrt(sum(effect**2 for effect in answer.shared_errors.ride[name].values()))
        assert 3.2 * u < quantity.high95 - quantity.low95 < 4.0 * u, name
    assert len(answer.shared_errors.hills) == len(answer.hills)


def test_net_use_is_that_of_the_answer():
    """The effects are of the number that is told."""
    told = net_wh_per_km(flow(), exact(10_000.0))
    assert told.value == pytest.approx(23.33, abs=0.05)
