"""Which speed a ride is told by."""

from dataclasses import replace

import numpy as np
import pytest

from ridelog.settings.bike import Bike, BikeSection, SensorSection
from ridelog.timeline.ride import join_recordings
from tests.timeline.said import codes, facts
from tests.timeline.simulated import Truth, controller_log, recording, track_log


def test_a_log_without_motion_has_no_motion_columns(truth: Truth) -> None:
    ride = join_recordings([controller_log(truth, with_speed=False)])
    assert not {"speed_mps", "distance_m"} & set(ride.series)


def test_a_speedless_log_takes_speed_from_its_track(truth: Truth) -> None:
    ride = join_recordings([controller_log(truth, with_speed=False), track_log(truth)])
    assert ride.joins[1].method == "power"
    assert "track_speed_mps" not in ride.series
    assert ride.series["speed_mps"].notna().mean() > 0.95


def test_the_speed_of_an_averaged_log_stands_where_the_bike_was(truth: Truth) -> None:
    """Means over the second before each sample, of the true ride: left as they are they lag by 0.5 s, at 0.9 m/s² by
    0.45 m/s. Moved, what is left is the bend of the speed within a second: on average less than a third of that."""
    mean_mps = truth.speed_mps[: len(truth.speed_mps) // 20 * 20].reshape(-1, 20).mean(axis=1)  # steps of 0.05 s
    time_s = 1.0 + np.arange(len(mean_mps))  # each mean ends at its stamp
    log = recording("c.csv", time_s, clock="elapsed", current_a=np.ones(len(time_s)), speed_mps=mean_mps)
    bike = Bike(sensor=SensorSection(averaged=True))
    true_mps = np.interp(time_s, truth.time_s, truth.speed_mps)
    moved_mps = join_recordings([log], bike).series["speed_mps"].to_numpy()
    left_mps = join_recordings([log]).series["speed_mps"].to_numpy()
    changing_mask = np.abs(np.gradient(true_mps)) > 0.3
    moved_off, left_off = (float(np.abs(one - true_mps)[changing_mask].mean()) for one in (moved_mps, left_mps))
    assert left_off == pytest.approx(0.5 * float(np.abs(np.gradient(true_mps))[changing_mask].mean()), rel=0.3)
    assert moved_off < left_off / 3
    assert np.isfinite(moved_mps).all()


def test_an_unknown_wheel_is_measured_by_the_track(truth: Truth) -> None:
    """The simulated wheel measures 2.20 m; 1 % for the track's scatter."""
    log = controller_log(truth, with_speed=False)
    turning_rpm = np.interp(log.time_s, truth.time_s, truth.speed_mps) / 2.20 * 60
    ride = join_recordings([replace(log, frame=log.frame.assign(wheel_speed_rpm=turning_rpm)), track_log(truth)])
    assert ride.joins[1].method == "speed"
    found = facts(ride, "wheel-circumference-found")
    assert found["file"] == "track.gpx"
    assert found["wheel_circumference_m"] == pytest.approx(2.205, abs=0.01)
    assert np.nanmax(ride.series["speed_mps"]) == pytest.approx(truth.speed_mps.max(), rel=0.02)


def test_an_unknown_wheel_without_a_track_gives_no_speed_but_a_warning(truth: Truth) -> None:
    log = recording("c.csv", np.arange(100.0), current_a=np.ones(100), wheel_speed_rpm=np.full(100, 150.0))
    ride = join_recordings([log])
    assert "speed_mps" not in ride.series
    assert facts(ride, "wheel-circumference-unknown") == {"file": "c.csv"}
    known = join_recordings([log], Bike(bike=BikeSection(wheel_circumference_m=2.0)))
    assert known.series["speed_mps"].tolist() == pytest.approx([5.0] * 100)
    assert known.series["distance_m"].iloc[-1] == pytest.approx(495.0)


def test_a_device_set_to_a_wrong_wheel_is_told(truth: Truth) -> None:
    log = controller_log(truth)
    fast = replace(log, frame=log.frame.assign(speed_mps=log.frame["speed_mps"] * 1.1))
    told = facts(join_recordings([fast, track_log(truth)]), "speeds-disagree")
    assert (told["file"], told["other_file"]) == ("controller.csv", "track.gpx")
    assert told["off_pct"] == pytest.approx(9.5, abs=1)
    assert told["unit_slip"] == "none"


@pytest.mark.parametrize(
    ("factor", "units"),
    [(3.6, "km/h and m/s"), (1 / 3.6, "km/h and m/s"), (1.609, "mph and km/h"), (0.447, "mph and m/s")],
)
def test_a_speed_in_another_unit_than_it_says_is_told_as_that(truth: Truth, factor: float, units: str) -> None:
    """Nobody sets a wheel 3.6 times too large."""
    log = controller_log(truth)
    slip = replace(log, frame=log.frame.assign(speed_mps=log.frame["speed_mps"] * factor))
    told = facts(join_recordings([slip, track_log(truth)]), "speeds-disagree")
    assert told["unit_slip"] == units


def test_a_false_sample_after_a_pause_does_not_reach_the_series() -> None:
    time_s = np.concatenate((np.arange(100.0), np.arange(140.0, 240.0)))
    speed_mps = np.concatenate((np.full(98, 5.0), [2.0, 0.0], [0.0, 26.1, 0.0], np.full(97, 5.0)))
    ride = join_recordings([recording("ride.fit", time_s, speed_mps=speed_mps)])
    assert ride.series["speed_mps"].max() == 5.0
    assert ride.series["speed_mps"].isna().sum() == 1
    assert "speed-spike" in codes(ride)
