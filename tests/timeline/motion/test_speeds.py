"""Speed and distance of one recording: sources, their order, and what is impossible."""

import csv

import numpy as np
import pytest

from ridelog.settings.bike import Bike, BikeSection
from ridelog.timeline.motion.speeds import integral_m, measure_motion, resume_mask, spike_mask
from tests.places import REFERENCE
from tests.timeline.simulated import recording

CYCLES = REFERENCE / "cycles"
BIKE = Bike(bike=BikeSection(wheel_circumference_m=2.0))


@pytest.mark.parametrize(("cycle", "length_km"), [("udds", 11.990), ("us06", 12.888), ("hwfet", 16.507)])
def test_the_published_length_of_a_drive_cycle_is_met(cycle: str, length_km: float) -> None:
    """US EPA drive cycles (tests/reference/cycles); published to 1 m, which is the tolerance."""
    rows = list(csv.DictReader((CYCLES / f"{cycle}.csv").read_text(encoding="utf-8-sig").splitlines()))
    time_s = np.array([float(row["cycSecs"]) for row in rows])
    speed_mps = np.array([float(row["cycMps"]) for row in rows])
    distance_m = integral_m(time_s, speed_mps, np.ones(len(time_s) - 1, dtype=bool))
    assert distance_m[-1] == pytest.approx(1000 * length_km, abs=1.0)
    assert measure_motion(recording("cycle.csv", time_s, speed_mps=speed_mps), Bike()).distances_m[
        "speed"
    ] == pytest.approx(distance_m)


def test_a_gap_adds_no_distance_to_an_integral() -> None:
    distance_m = integral_m(np.array([0.0, 1.0, 100.0, 101.0]), np.full(4, 5.0), np.array([True, False, True]))
    assert distance_m.tolist() == [0.0, 5.0, 5.0, 10.0]


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


def test_a_single_false_sample_is_a_spike_up_or_down() -> None:
    for false_mps in (26.1, 0.0):
        speed_mps = np.full(30, 9.5)
        speed_mps[14] = false_mps
        assert np.flatnonzero(spike_mask(np.arange(30.0), speed_mps)).tolist() == [14]


def test_two_false_samples_are_a_spike_and_three_are_not() -> None:
    speed_mps = np.full(30, 3.0)
    speed_mps[10:12] = 20.0
    assert np.flatnonzero(spike_mask(np.arange(30.0), speed_mps)).tolist() == [10, 11]
    speed_mps[10:13] = 20.0
    assert not spike_mask(np.arange(30.0), speed_mps).any()


def test_hard_braking_to_a_halt_is_no_spike() -> None:
    """8 to 0 m/s in 1 s, standing, and off again at 3 m/s²: fierce, but not out and straight back."""
    speed_mps = np.array([8.0] * 5 + [4.0, 0.0, 0.0, 0.0, 3.0, 6.0, 8.0, 8.0])
    assert not spike_mask(np.arange(len(speed_mps)) * 0.5, speed_mps).any()


def test_coarse_resolution_at_a_high_rate_is_no_spike() -> None:
    """1 km/h steps at 50 Hz look like 14 m/s², to and fro."""
    speed_mps = np.where(np.arange(200) % 2, 5.0, 5.0 + 1 / 3.6)
    assert not spike_mask(np.arange(200) * 0.02, speed_mps).any()


def test_speed_that_positions_contradict_after_a_pause_is_impossible() -> None:
    time_s = np.concatenate((np.arange(10.0), np.arange(60.0, 90.0)))
    speed_mps, position_mps = np.full(40, 5.0), np.full(40, 5.0)
    speed_mps[10:14], position_mps[10:14] = 11.6, 0.2  # for longer than a spike may last
    speed_mps[35], position_mps[35] = 11.6, 0.2  # the same, far from the pause
    broken_mask = np.diff(time_s) > 3
    assert np.flatnonzero(resume_mask(time_s, speed_mps, position_mps, broken_mask)).tolist() == [10, 11, 12, 13]


def test_left_out_samples_are_counted_in_a_finding() -> None:
    speed_mps = np.full(60, 5.0)
    speed_mps[30] = 26.1
    motion = measure_motion(recording("ride.fit", np.arange(60.0), speed_mps=speed_mps), Bike())
    assert np.flatnonzero(np.isnan(motion.speeds_mps["device"])).tolist() == [30]
    (finding,) = motion.findings
    assert (finding.code, finding.start_s, finding.end_s) == ("speed-spike", 30.0, 30.0)
    assert "1 speed sample left out" in finding.message
    assert "26.1 m/s" in finding.message


def test_a_recording_without_motion_has_none() -> None:
    motion = measure_motion(recording("c.csv", np.arange(10.0), current_a=np.ones(10)), BIKE)
    assert motion.speeds_mps == {}
    assert motion.distances_m == {}


def test_a_single_sample_is_no_motion_and_no_error() -> None:
    log = recording("t.gpx", np.array([0.0]), latitude_deg=np.array([46.5]), longitude_deg=np.array([-32.0]))
    assert measure_motion(log, BIKE).speeds_mps == {}


@pytest.mark.parametrize("offset_m", [1.2e9, -2503.0])
def test_a_counter_that_leaps_or_starts_anew_goes_on_counting(offset_m: float) -> None:
    """1000 s at 5 m/s are 4995 m between the samples; of the one step that cannot be, nothing is counted (by hand)."""
    time_s = np.arange(1000.0)
    counted_m = 5 * time_s + np.where(time_s >= 500, offset_m, 0.0)
    motion = measure_motion(recording("odo.csv", time_s, distance_m=counted_m), Bike())
    assert motion.distances_m["device"][[0, 499, 500, 999]].tolist() == [0.0, 2495.0, 2495.0, 4990.0]
    [finding] = motion.findings
    assert (finding.code, finding.start_s) == ("impossible-values", 500.0)
    assert f"first by {offset_m + 5:.0f} m at 500.0 s" in finding.message


def test_a_counter_that_jumps_about_counts_no_distance() -> None:
    time_s = np.arange(1000.0)
    counted_m = 5 * time_s + np.where(time_s % 100 == 50, 1e6, 0.0)
    assert "device" not in measure_motion(recording("odo.csv", time_s, distance_m=counted_m), Bike()).distances_m


def test_a_counter_of_tenths_of_a_kilometre_has_not_leapt() -> None:
    """A counter that steps by 100 m every 20 s is coarse, not broken."""
    time_s = np.arange(1000.0)
    counted_m = np.floor(5 * time_s / 100) * 100
    motion = measure_motion(recording("odo.csv", time_s, distance_m=counted_m), Bike())
    assert motion.distances_m["device"][-1] == 4900.0
    assert motion.findings == ()


def test_a_leap_of_the_positions_is_no_way_ridden() -> None:
    """The positions stand at 0 N 0 E from 500 s on, as devices say without a fix: 499 steps of 5.558 m were ridden.

    1/20000 degree of latitude at 46.51 N is 5.558 m: pi/180/20000 times the meridian's radius of curvature
    a (1 - e²) / (1 - e² sin² latitude)^1.5 on WGS 84 (by hand; the radius changes by 5e-6 along the way).
    """
    time_s = np.arange(600.0)
    lost = time_s >= 500
    track = recording(
        "t.gpx",
        time_s,
        latitude_deg=np.where(lost, 0.0, 46.5 + time_s / 20000),
        longitude_deg=np.where(lost, 0.0, -32.0),
    )
    motion = measure_motion(track, Bike())
    assert motion.distances_m["positions"][-1] == pytest.approx(499 * 5.558, abs=1.0)
    [finding] = motion.findings
    assert (finding.code, finding.severity, finding.start_s) == ("stray-positions", "warning", 500.0)
