"""Signals on a common grid, and which of two recordings show the same thing."""

from dataclasses import replace

import numpy as np
import pytest

from ridelog.constants import NOMINAL_PACK_V
from ridelog.settings.bike import Bike, BikeSection, SensorSection
from ridelog.timeline.clock.signals import (
    Signals,
    common_signals,
    grid_step_s,
    predicted_power_w,
    signals_of,
)
from ridelog.timeline.motion.speeds import measure_motion
from tests.timeline.simulated import recording


def signals(log, bike: Bike = Bike(), step_s: float = 1.0) -> Signals:  # noqa: B008 (frozen)
    return signals_of(log, measure_motion(log, bike), bike, step_s)


def test_the_power_of_a_steady_ride_is_that_of_rolling_and_air() -> None:
    """8.5 N and 0.34 · 25 N at 5 m/s: 85 W (nominal values, by hand)."""
    power_w = predicted_power_w(np.full(100, 5.0), None, 1.0)
    assert power_w == pytest.approx(85.0)


def test_the_power_of_a_climb_and_of_an_acceleration_is_the_masses() -> None:
    """100 kg up 3 % at 5 m/s: 100 · 9.80665 · 0.03 · 5 = 147.1 W more. At 0.1 m/s², 10 N more at every speed."""
    time_s = np.arange(100.0)
    climbing_w = predicted_power_w(np.full(100, 5.0), 0.15 * time_s, 1.0, 100.0)
    assert climbing_w[20:-20] == pytest.approx(85.0 + 147.1, abs=0.1)
    speed_mps = 2 + 0.1 * time_s
    faster_w = predicted_power_w(speed_mps, None, 1.0, 100.0)
    expected_w = (10 + 8.5 + 0.34 * speed_mps**2) * speed_mps
    assert faster_w[5:-5] == pytest.approx(expected_w[5:-5], rel=1e-3)  # smoothed over 3 s


def test_two_samples_tell_no_power() -> None:
    assert np.isnan(predicted_power_w(np.ones(2), None, 1.0)).all()


def test_a_grid_is_fine_unless_a_recording_lasts_longer_than_half_a_day() -> None:
    short, long = (recording("c.csv", np.array([0.0, hours * 3600.0]), current_a=np.ones(2)) for hours in (2, 13))
    assert grid_step_s([short]) == 0.2
    assert grid_step_s([short, long]) == 1.0


def test_power_is_as_logged_or_voltage_times_current() -> None:
    log = recording("c.csv", np.arange(10.0), current_a=np.full(10, 3.0), voltage_v=np.full(10, 50.0))
    assert signals(log).power_w == pytest.approx(150.0)
    assert signals(replace(log, frame=log.frame.assign(power_w=140.0))).power_w == pytest.approx(140.0)
    assert signals(replace(log, frame=log.frame.drop(columns="voltage_v"))).power_w is None


def test_nothing_is_told_inside_a_pause() -> None:
    log = recording("c.csv", np.arange(10.0), current_a=np.ones(10))
    current_a = signals(replace(log, pauses_s=((3.0, 4.0),)), step_s=0.5).current_a
    assert current_a is not None
    assert np.flatnonzero(np.isnan(current_a)).tolist() == [7]  # 3.5 s, between the samples at 3 and 4 s


def test_means_over_steps_stand_half_a_step_earlier() -> None:
    """A ramp of 1 A/s: the mean over the second before t is t - 0.5 s, which is what the moment t - 0.5 s showed."""
    time_s = np.arange(1.0, 21.0)
    log = recording("c.csv", time_s, current_a=time_s - 0.5)
    current_a = signals(log, Bike(sensor=SensorSection(averaged=True))).current_a
    assert current_a is not None
    assert current_a[:-1] == pytest.approx(np.arange(1.0, 20.0))


def test_speed_is_held_against_every_speed_of_the_other_and_comes_first() -> None:
    time_s = np.arange(50.0)
    log = recording("c.csv", time_s, current_a=time_s, voltage_v=time_s, speed_mps=time_s / 5)
    track = recording(
        "t.fit", time_s, speed_mps=time_s / 5, latitude_deg=46.5 + 1e-5 * time_s, longitude_deg=np.full(50, -32.0)
    )
    pairs = common_signals(signals(log), signals(track))
    assert [(pair.method, pair.source) for pair in pairs] == [
        ("speed", "device"), ("speed", "positions"), ("power", None),
    ]  # fmt: skip


def test_of_two_electrical_logs_current_is_held_against_current_else_power_against_power() -> None:
    time_s = np.arange(50.0)
    both = Signals(1.0, current_a=time_s, power_w=2 * time_s)
    (pair,) = common_signals(both, both)
    assert pair.reference is both.current_a
    (pair,) = common_signals(replace(both, current_a=None), both)
    assert pair.reference is both.power_w


def test_power_is_held_against_what_the_motion_needs_either_way_round() -> None:
    """A log of current alone becomes power at a nominal voltage; smoothed, a constant stays what it is."""
    electrical = Signals(1.0, current_a=np.full(50, 2.0))
    moving = Signals(1.0, predicted_w=np.full(50, 85.0))
    (pair,) = common_signals(electrical, moving)
    assert (pair.reference[25], pair.other[25]) == (2.0 * NOMINAL_PACK_V, 85.0)
    (turned,) = common_signals(moving, electrical)
    assert (turned.reference[25], turned.other[25]) == (85.0, 2.0 * NOMINAL_PACK_V)
    assert turned.sharp is not None


def test_sharp_forms_hold_falls_below_a_hundred_watts_and_no_brake() -> None:
    """Of 600 W with a fall to -400 W, what is left is the fall from 100 W to -200 W."""
    power_w = np.full(300, 600.0)
    power_w[150:160] = -400.0
    (pair,) = common_signals(Signals(1.0, power_w=power_w), Signals(1.0, predicted_w=power_w))
    assert pair.sharp is not None
    fall_w = np.nanmax(pair.sharp.other) - np.nanmin(pair.sharp.other)
    assert 250.0 < fall_w <= 300.0 + 1e-9


def test_recordings_that_share_nothing_have_no_pair() -> None:
    assert common_signals(Signals(1.0, current_a=np.ones(5)), Signals(1.0)) == []


def test_the_bikes_mass_is_used() -> None:
    heavy = Bike(bike=BikeSection(total_mass_kg=220.0))
    log = recording("c.csv", np.arange(60.0), speed_mps=3 + 0.05 * np.arange(60.0))
    light_w, heavy_w = signals(log).predicted_w, signals(log, heavy).predicted_w
    assert light_w is not None
    assert heavy_w is not None
    assert (heavy_w - light_w)[30] == pytest.approx(110 * 0.05 * 4.5, rel=1e-6)
