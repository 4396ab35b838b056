"""Speed and distance of one recording: sources, their order, and what is impossible."""

import numpy as np
import pytest

from ridelog.settings.bike import Bike, BikeSection, SensorSection
from ridelog.timeline.motion.speeds import measure_motion, moments_of_samples_s
from tests.timeline.simulated import recording

BIKE = Bike(bike=BikeSection(wheel_circumference_m=2.0))


def test_the_wheel_comes_first_where_its_circumference_is_known() -> None:
    """150 turns a minute of 2.0 m are 5 m/s."""
    time_s = np.arange(100.0)
    log = recording("c.csv", time_s, wheel_speed_rpm=np.full(100, 150.0), speed_mps=np.full(100, 4.0))
    motion = measure_motion(log, BIKE)
    assert next(iter(motion.speeds_mps)) == "wheel"
    assert motion.speeds_mps["wheel"] == pytest.approx(5.0)
    assert motion.distances_m["wheel"][-1] == pytest.approx(99 * 5.0)


def test_a_wheel_of_unknown_circumference_comes_last_and_gives_no_distance() -> None:
    time_s = np.arange(100.0)
    log = recording("c.csv", time_s, wheel_speed_rpm=np.full(100, 150.0), speed_mps=np.full(100, 4.0))
    motion = measure_motion(log, Bike())
    assert list(motion.speeds_mps) == ["device", "wheel"]
    assert "wheel" not in motion.distances_m
    assert not motion.wheel_scale_known


def test_turns_of_the_wheel_become_a_speed() -> None:
    """A counter of whole turns at 2.5 turns a second of 2.0 m: 5 m/s, within the turn that a 2 s span resolves."""
    time_s = np.arange(0, 120, 0.5)
    motion = measure_motion(recording("c.csv", time_s, wheel_revolutions=np.floor(2.5 * time_s)), BIKE)
    speed_mps = motion.speeds_mps["wheel"]
    assert np.nanmax(np.abs(speed_mps - 5.0)) <= 1.0 + 1e-9
    assert np.nanmean(speed_mps) == pytest.approx(5.0, abs=0.02)


def test_a_counter_that_starts_anew_has_no_speed_there() -> None:
    time_s = np.arange(100.0)
    turns = np.where(time_s < 50, 2.5 * time_s, 2.5 * (time_s - 50))
    speed_mps = measure_motion(recording("c.csv", time_s, wheel_revolutions=turns), BIKE).speeds_mps["wheel"]
    assert np.flatnonzero(np.isnan(speed_mps)).tolist() == [0, 49, 50, 99]


def test_a_recording_without_motion_has_none() -> None:
    motion = measure_motion(recording("c.csv", np.arange(10.0), current_a=np.ones(10)), BIKE)
    assert motion.speeds_mps == {}
    assert motion.distances_m == {}


def test_a_single_sample_is_no_motion_and_no_error() -> None:
    log = recording("t.gpx", np.array([0.0]), latitude_deg=np.array([46.5]), longitude_deg=np.array([-32.0]))
    assert measure_motion(log, BIKE).speeds_mps == {}


def test_a_mean_over_a_step_stands_for_its_middle_and_after_a_gap_for_the_middle_of_a_usual_step() -> None:
    """Steps of 1 s with a gap of 9 s: half a second before each stamp, also before the first and after the gap."""
    log = recording("c.csv", np.array([0.0, 1.0, 2.0, 11.0, 12.0]), current_a=np.ones(5))
    moments_s = moments_of_samples_s(log, Bike(sensor=SensorSection(averaged=True)))
    assert moments_s is not None
    assert moments_s.tolist() == [-0.5, 0.5, 1.5, 10.5, 11.5]


def test_samples_of_a_moment_and_tracks_stand_for_their_stamps() -> None:
    averaged = Bike(sensor=SensorSection(averaged=True))
    log = recording("c.csv", np.arange(5.0), current_a=np.ones(5))
    assert moments_of_samples_s(log, Bike()) is None
    assert moments_of_samples_s(recording("t.gpx", np.arange(5.0), altitude_m=np.ones(5)), averaged) is None
    assert moments_of_samples_s(recording("c.csv", np.zeros(1), current_a=np.ones(1)), averaged) is None


def test_speed_and_distance_come_from_positions_where_nothing_else_tells() -> None:
    """0.001 degrees north in 20 s from the equator: 110.574 m in all, 5.529 m/s (closed form of the meridian)."""
    time_s = np.arange(21.0)
    track = recording("t.gpx", time_s, latitude_deg=time_s * 5e-5, longitude_deg=np.zeros(21))
    motion = measure_motion(track, BIKE)
    assert list(motion.speeds_mps) == ["positions"]
    assert motion.speeds_mps["positions"][1:-1] == pytest.approx(110.574276 / 20, abs=1e-4)
    assert motion.distances_m["positions"][-1] == pytest.approx(110.574276, abs=1e-3)


def test_a_counted_distance_is_a_speed_too_but_comes_last() -> None:
    time_s = np.arange(100.0)
    log = recording("c.csv", time_s, distance_m=1000 + 5 * time_s, speed_mps=np.full(100, 4.0))
    motion = measure_motion(log, BIKE)
    assert list(motion.speeds_mps) == ["device", "distance"]
    assert motion.speeds_mps["distance"][1:-1] == pytest.approx(5.0)
    assert motion.distances_m["device"][[0, -1]].tolist() == [0.0, 495.0]
    assert motion.distances_m["speed"][-1] == pytest.approx(99 * 4.0)
