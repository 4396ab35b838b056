"""Counted distances: integrals of published drive cycles, counters that tick, leap or start anew."""

import csv

import numpy as np
import pytest

from ridelog.settings.bike import Bike, SensorSection
from ridelog.timeline.motion.counted import counted_distance_m, counted_speed_mps, integral_m
from ridelog.timeline.motion.speeds import measure_motion
from tests.places import REFERENCE
from tests.timeline.simulated import recording

CYCLES = REFERENCE / "cycles"


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


def test_the_distance_of_an_averaged_speed_does_not_lag() -> None:
    """v = 0.5 t, means over 2 s: 0.25 t² m at each stamp, exactly; by trapezoids half a step late."""
    time_s = np.arange(2.0, 41.0, 2.0)
    means_mps = 0.5 * (time_s - 1.0)
    log = recording("averaged.csv", time_s, speed_mps=means_mps, current_a=np.zeros(20))
    distance_m = measure_motion(log, Bike(sensor=SensorSection(averaged=True))).distances_m["speed"]
    assert distance_m == pytest.approx(0.25 * time_s**2 - 1.0)
    assert measure_motion(log, Bike()).distances_m["speed"][-1] < distance_m[-1] - 15.0


def test_a_mean_after_a_gap_counts_for_its_own_step() -> None:
    """Means over 1 s at 5 m/s, nothing between 3 and 60 s: 3 + 1 + 1 steps of 5 m after the first stamp."""
    log = recording(
        "averaged.csv", np.array([0.0, 1.0, 2.0, 3.0, 60.0, 61.0]), speed_mps=np.full(6, 5.0), power_w=np.zeros(6)
    )
    distance_m = measure_motion(log, Bike(sensor=SensorSection(averaged=True))).distances_m["speed"]
    assert distance_m.tolist() == [0.0, 5.0, 10.0, 15.0, 20.0, 25.0]


@pytest.mark.parametrize("offset_m", [1.2e9, -2503.0])
def test_a_counter_that_leaps_or_starts_anew_goes_on_counting(offset_m: float) -> None:
    """1000 s at 5 m/s are 4995 m between the samples; of the one step that cannot be, nothing is counted (by hand)."""
    time_s = np.arange(1000.0)
    counted_m = 5 * time_s + np.where(time_s >= 500, offset_m, 0.0)
    motion = measure_motion(recording("odo.csv", time_s, distance_m=counted_m), Bike())
    assert motion.distances_m["device"][[0, 499, 500, 999]].tolist() == [0.0, 2495.0, 2495.0, 4990.0]
    [finding] = motion.findings
    assert (finding.code, finding.start_s) == ("impossible-values", 500.0)
    expected = {"file": "odo.csv", "n_resets": 1, "first_step_m": offset_m + 5, "first_s": 500.0}
    assert finding.facts == expected


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


def test_the_speed_of_a_counter_is_its_central_difference_over_two_seconds() -> None:
    """d = 0.5 t² at 2 Hz: (d(t + 1) - d(t - 1)) / 2 s is t, but for the two samples at either end."""
    time_s = np.arange(0.0, 10.0, 0.5)
    speed_mps = counted_speed_mps(time_s, 0.5 * time_s**2, np.ones(len(time_s) - 1, dtype=bool))
    assert np.flatnonzero(np.isnan(speed_mps)).tolist() == [0, 1, 18, 19]
    assert speed_mps[2:-2] == pytest.approx(time_s[2:-2])


def test_a_counter_has_no_speed_across_a_gap_nor_where_too_short() -> None:
    bridged_mask = np.array([True, True, True, False, True, True, True])
    speed_mps = counted_speed_mps(np.arange(8.0), 5 * np.arange(8.0), bridged_mask)
    assert np.flatnonzero(np.isfinite(speed_mps)).tolist() == [1, 2, 5, 6]
    assert np.isnan(counted_speed_mps(np.arange(2.0), np.arange(2.0), np.ones(1, dtype=bool))).all()


@pytest.mark.parametrize("counted", [np.full(20, 7.0), np.full(20, np.nan)], ids=["standing", "unknown"])
def test_a_counter_that_does_not_count_gives_no_distance(counted: np.ndarray) -> None:
    assert counted_distance_m(recording("odo.csv", np.arange(20.0), distance_m=counted), counted) == (None, ())
