"""Recordings to a ride: reference, joins, series, findings."""

import io
import subprocess
import sys
from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from ridelog.channels import validate
from ridelog.errors import UsageError
from ridelog.recording import Recording, Ride
from ridelog.settings.bike import Bike, BikeSection, SensorSection
from ridelog.timeline.clock.findings import in_words
from ridelog.timeline.ride import join_recordings, load_ride, ride_name
from tests.timeline.simulated import START, Truth, controller_log, recording, track_log, true_ride


def codes(ride: Ride) -> list[str]:
    """The codes of the ride's findings."""
    return [finding.code for finding in ride.findings]


def message(ride: Ride, code: str) -> str:
    """The one message of a code."""
    (text,) = [finding.message for finding in ride.findings if finding.code == code]
    return text


@pytest.fixture(scope="module")
def truth() -> Truth:
    return true_ride(31)


@pytest.fixture(scope="module")
def ride(truth: Truth) -> Ride:
    """A 5 Hz log without wall time and a track that begins 45.6 s later, with dropouts."""
    return join_recordings(
        [track_log(truth, start_s=45.6, dropouts=4), controller_log(truth, clock="elapsed")], name="To Quillmoor"
    )


def test_rows_are_the_electrical_samples(ride: Ride) -> None:
    assert ride.name == "To Quillmoor"
    assert ride.reference is ride.electrical is ride.recordings[1]
    assert [join.method for join in ride.joins] == ["speed", "reference"]
    assert ride.series["elapsed_s"].tolist() == ride.reference.time_s.tolist()
    assert ride.series["current_a"].tolist() == ride.reference.frame["current_a"].tolist()


def test_a_joined_track_gives_the_series_its_time_of_day(ride: Ride) -> None:
    """The log began with the simulated ride."""
    index = ride.series.index
    assert isinstance(index, pd.DatetimeIndex)
    assert (index.name, str(index.tz)) == ("time", "UTC")
    assert abs((index[0] - START).total_seconds()) < 0.1
    assert index.is_monotonic_increasing
    steps_us = np.diff(index.to_numpy()).astype("timedelta64[us]").astype(int)
    assert set(steps_us.tolist()) == {200_000}


def test_the_track_lies_on_the_log_where_the_bike_was(ride: Ride, truth: Truth) -> None:
    """At a lag error of 0.1 s and 8 m/s, within 0.8 m, and the simulated fixes wander by 2 m (three times that)."""
    at_s = ride.series["elapsed_s"].to_numpy()
    north_m = 111_200 * (ride.series["latitude_deg"].to_numpy() - np.interp(at_s, truth.time_s, truth.latitude_deg))
    assert np.nanmax(np.abs(north_m)) < 7.0
    assert np.isnan(north_m[at_s < 45]).all()
    assert np.isfinite(north_m).mean() > 0.85


def test_nothing_is_invented_in_a_dropout(ride: Ride) -> None:
    track = ride.recordings[0]
    edges_s = ride.joins[0].to_reference_s(track.time_s)
    longest = int(np.argmax(np.diff(edges_s)))
    inside_mask = ride.series["elapsed_s"].between(edges_s[longest] + 0.01, edges_s[longest + 1] - 0.01)
    assert inside_mask.sum() > 20
    assert ride.series.loc[inside_mask, ["latitude_deg", "altitude_m"]].isna().all(axis=None)


def test_distance_along_the_ride_is_the_true_one(ride: Ride, truth: Truth) -> None:
    """Known at every row (dropouts filled from the log's speed); 1 % for the fixes' scatter of 0.1 m a second."""
    distance_m = ride.series["distance_m"].to_numpy()
    assert np.isfinite(distance_m).all()
    assert distance_m[0] == 0.0
    assert (np.diff(distance_m) >= 0).all()
    assert distance_m[-1] == pytest.approx(truth.distance_m[-1], rel=0.01)


def test_speed_is_the_logs_own_and_the_tracks_stands_beside_it(ride: Ride, truth: Truth) -> None:
    assert ride.series["speed_mps"].tolist() == ride.reference.frame["speed_mps"].tolist()
    off_mps = ride.series["track_speed_mps"] - ride.series["speed_mps"]
    assert off_mps.abs().median() < 0.15
    assert message(ride, "motion-sources") == (
        "Speed is that of controller.csv (its own record); distance that of track.gpx (its positions)."
    )


def test_power_is_filled_in_from_voltage_and_current(ride: Ride) -> None:
    assert ride.series["power_w"].to_numpy() == pytest.approx(48.0 * ride.series["current_a"].to_numpy())


def test_every_column_of_the_series_passes_the_table_of_channels(ride: Ride) -> None:
    frame = ride.series.drop(columns="elapsed_s")
    assert validate(frame.set_axis(ride.series["elapsed_s"].to_numpy()), "ride")[1] == ()


def test_a_join_is_told_in_one_sentence() -> None:
    truth = true_ride(32)
    told = message(join_recordings([controller_log(truth), track_log(truth, clock_error_s=3.42)]), "clock-joined")
    assert told.startswith("track.gpx runs 3.")
    assert "s ahead of controller.csv (agreement 1.00 over 30 min" in told


def test_a_join_without_wall_time_tells_which_began_first(ride: Ride) -> None:
    assert message(ride, "clock-joined").startswith("track.gpx begins 45.")
    assert "s after controller.csv (agreement" in message(ride, "clock-joined")


def test_a_track_that_cannot_be_joined_is_left_out() -> None:
    ride = join_recordings([controller_log(true_ride(1), clock="elapsed"), track_log(true_ride(60), clock="elapsed")])
    assert "latitude_deg" not in ride.series
    assert not ride.joins[1].trusted
    assert "The ride is measured without track.gpx." in message(ride, "clocks-not-joined")


def test_tracks_of_other_days_do_not_overlap() -> None:
    ride = join_recordings([controller_log(true_ride(1)), track_log(true_ride(60), clock_error_s=3 * 86400)])
    assert message(ride, "no-overlap") == (
        "track.gpx (2026-05-04 08:00 to 08:29 UTC) and controller.csv (2026-05-01 08:00 to 08:29 UTC) do not overlap "
        "in time; track.gpx was left out."
    )
    assert "latitude_deg" not in ride.series


def test_clocks_that_disagree_by_hours_are_a_warning() -> None:
    truth = true_ride(33)
    ride = join_recordings([controller_log(truth), track_log(truth, clock_error_s=7200)])
    assert ride.joins[1].trusted
    assert "are 2 h 0 min apart" in message(ride, "clocks-disagree")


def test_a_ride_without_an_electrical_log_stands_on_its_track(truth: Truth) -> None:
    ride = join_recordings([track_log(truth)])
    assert ride.electrical is None
    assert ride.reference.name == "track.gpx"
    assert {"latitude_deg", "altitude_m", "speed_mps", "distance_m"} <= set(ride.series)


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


def test_of_several_current_logs_the_one_with_voltage_is_counted(truth: Truth) -> None:
    bare = controller_log(truth)
    bare = replace(bare, name="bms.csv", sha256="bms", frame=bare.frame.drop(columns="voltage_v"))
    whole = controller_log(truth, step_s=1.0)
    ride = join_recordings([bare, whole])
    assert ride.electrical is whole
    assert message(ride, "several-current-logs") == (
        "controller.csv and bms.csv hold battery current; that of controller.csv is counted, "
        "because it also holds voltage."
    )


def test_of_equal_current_logs_the_finer_one_is_counted(truth: Truth) -> None:
    coarse = replace(controller_log(truth, step_s=1.0), name="bms.csv", sha256="bms")
    ride = join_recordings([coarse, controller_log(truth)])
    assert ride.electrical is not None
    assert ride.electrical.name == "controller.csv"
    assert "its samples are the closest together" in message(ride, "several-current-logs")


def test_battery_current_comes_before_motor_current(truth: Truth) -> None:
    log = controller_log(truth)
    motor = recording("motor.csv", log.time_s, motor_current_a=log.frame["current_a"].to_numpy() * 3)
    assert join_recordings([motor, log]).reference is log
    assert "several-current-logs" not in codes(join_recordings([motor, log]))


def test_another_log_gives_the_channels_that_the_counted_one_lacks(truth: Truth) -> None:
    log = controller_log(truth)
    pack = controller_log(truth, step_s=1.0)
    extra = pack.frame.drop(columns="voltage_v").assign(battery_temperature_c=20.0, brake_ratio=0.0)
    pack = replace(pack, name="bms.csv", sha256="bms", frame=extra)
    series = join_recordings([log, pack]).series
    assert series["battery_temperature_c"].dropna().eq(20.0).all()
    assert series["battery_temperature_c"].notna().mean() > 0.99
    assert series["current_a"].tolist() == log.frame["current_a"].tolist()


def test_the_same_file_given_twice_is_taken_once(truth: Truth) -> None:
    log = controller_log(truth)
    ride = join_recordings([log, replace(log, name="copy of controller.csv")])
    assert len(ride.recordings) == 1
    assert message(ride, "same-file-twice").startswith("copy of controller.csv holds the same bytes")


def test_a_rotated_log_is_one_ride(truth: Truth) -> None:
    first = replace(controller_log(truth, end_s=800), name="log1.csv", sha256="1")
    second = replace(controller_log(truth, start_s=810.0), name="log2.csv", sha256="2")
    ride = join_recordings([second, track_log(truth), first])
    assert [item.name for item in ride.recordings] == ["log1.csv + log2.csv", "track.gpx"]
    assert "log-continued" in codes(ride)
    assert ride.joins[1].trusted
    assert ride.name == "log1 + track"


def test_an_unknown_wheel_is_measured_by_the_track(truth: Truth) -> None:
    """The simulated wheel measures 2.20 m; 1 % for the track's scatter."""
    log = controller_log(truth, with_speed=False)
    turning_rpm = np.interp(log.time_s, truth.time_s, truth.speed_mps) / 2.20 * 60
    ride = join_recordings([replace(log, frame=log.frame.assign(wheel_speed_rpm=turning_rpm)), track_log(truth)])
    assert ride.joins[1].method == "speed"
    assert "2.20 m" in message(ride, "wheel-circumference-found") or "2.21 m" in message(
        ride, "wheel-circumference-found"
    )
    assert np.nanmax(ride.series["speed_mps"]) == pytest.approx(truth.speed_mps.max(), rel=0.02)


def test_an_unknown_wheel_without_a_track_gives_no_speed_but_a_warning(truth: Truth) -> None:
    log = recording("c.csv", np.arange(100.0), current_a=np.ones(100), wheel_speed_rpm=np.full(100, 150.0))
    ride = join_recordings([log])
    assert "speed_mps" not in ride.series
    assert "bike.wheel_circumference_m" in message(ride, "wheel-circumference-unknown")
    known = join_recordings([log], Bike(bike=BikeSection(wheel_circumference_m=2.0)))
    assert known.series["speed_mps"].tolist() == pytest.approx([5.0] * 100)
    assert known.series["distance_m"].iloc[-1] == pytest.approx(495.0)


def test_a_device_set_to_a_wrong_wheel_is_told(truth: Truth) -> None:
    log = controller_log(truth)
    fast = replace(log, frame=log.frame.assign(speed_mps=log.frame["speed_mps"] * 1.1))
    told = message(join_recordings([fast, track_log(truth)]), "speeds-disagree")
    assert told.startswith(("controller.csv shows 9 % more", "controller.csv shows 10 % more"))


def test_a_counted_distance_that_contradicts_the_positions_is_not_used(truth: Truth) -> None:
    log = controller_log(truth)
    counted_m = 1.3 * np.interp(log.time_s, truth.time_s, truth.distance_m)
    ride = join_recordings([replace(log, frame=log.frame.assign(distance_m=counted_m)), track_log(truth)])
    assert "longer than the way along the positions of track.gpx" in message(ride, "distances-disagree")
    assert ride.series["distance_m"].iloc[-1] == pytest.approx(truth.distance_m[-1], rel=0.01)


def test_a_counter_of_tenths_of_a_kilometre_does_not_tell_where_on_the_way(truth: Truth) -> None:
    log = controller_log(truth)
    counted_m = np.floor(np.interp(log.time_s, truth.time_s, truth.distance_m) / 100) * 100
    ride = join_recordings([replace(log, frame=log.frame.assign(distance_m=counted_m))])
    assert np.diff(ride.series["distance_m"]).max() < 5.0


def test_a_false_sample_after_a_pause_does_not_reach_the_series() -> None:
    time_s = np.concatenate((np.arange(100.0), np.arange(140.0, 240.0)))
    speed_mps = np.concatenate((np.full(98, 5.0), [2.0, 0.0], [0.0, 26.1, 0.0], np.full(97, 5.0)))
    ride = join_recordings([recording("ride.fit", time_s, speed_mps=speed_mps)])
    assert ride.series["speed_mps"].max() == 5.0
    assert ride.series["speed_mps"].isna().sum() == 1
    assert "speed-spike" in codes(ride)


def test_findings_of_a_joined_recording_count_on_the_references_clock(truth: Truth) -> None:
    track = track_log(truth, start_s=100.0)
    speed_mps = np.interp(track.time_s + 100.0, truth.time_s, truth.speed_mps)
    speed_mps[500] = 30.0
    track = replace(track, frame=track.frame.assign(speed_mps=speed_mps))
    ride = join_recordings([controller_log(truth, clock="elapsed"), track])
    (finding,) = [finding for finding in ride.findings if finding.code == "speed-spike"]
    assert finding.start_s == pytest.approx(600.0, abs=0.1)


def test_no_recording_is_a_usage_error() -> None:
    for nothing in ([], ()):
        with pytest.raises(UsageError, match="no recording"):
            load_ride(nothing)
    with pytest.raises(UsageError, match="no recording"):
        join_recordings([])
    with pytest.raises(UsageError, match="a list of files"):
        load_ride("controller.csv")  # type: ignore[arg-type]


def test_files_are_paths_open_files_or_named_files(monkeypatch: pytest.MonkeyPatch, truth: Truth) -> None:
    """The importers are stood in for: what they are given is what counts here."""
    import ridelog.importers.registry

    asked: list[tuple[object, str | None]] = []

    def read(source: object, *, name: str | None = None, columns: object = None) -> list[Recording]:
        asked.append((source, name))
        return [replace(controller_log(truth), sha256=str(len(asked)))]

    monkeypatch.setattr(ridelog.importers.registry, "read", read)
    opened = io.BytesIO(b"")
    ride = load_ride(["a.csv", Path("b.csv"), opened, ("d.csv", opened), replace(track_log(truth), name="t.gpx")])
    assert asked == [("a.csv", None), (Path("b.csv"), None), (opened, None), ("d.csv", opened)[::-1]]
    assert ride.recordings[-1].name == "t.gpx"  # read already: joined as it is


def test_a_ride_is_named_after_its_files(truth: Truth) -> None:
    log, track = controller_log(truth), track_log(truth)
    assert ride_name([log, track]) == "controller + track"
    assert ride_name([replace(log, name="/data/monday.zip/monday.csv"), replace(track, name="monday.gpx")]) == "monday"


def test_times_are_said_in_words() -> None:
    assert in_words(31 * 60 + 10) == "31 min"
    assert in_words(45.2) == "45 s"
    assert in_words(2 * 3600 + 300) == "2 h 5 min"
    assert in_words(3.4249, exact=True) == "3.42 s"
    assert in_words(7203.42, exact=True) == "2 h 0 min 3.42 s"
    assert in_words(59.999, exact=True) == "1 min 0.00 s"


def test_a_pair_of_single_samples_is_a_ride() -> None:
    one = recording("c.csv", np.array([0.0]), current_a=np.array([1.0]), voltage_v=np.array([48.0]))
    two = recording("t.gpx", np.array([0.0]), latitude_deg=np.array([46.5]), longitude_deg=np.array([-32.0]))
    ride = join_recordings([one, two])
    assert len(ride.series) == 1
    assert "clocks-not-joined" in codes(ride)


def test_loading_the_timeline_imports_nothing_slow() -> None:
    """scipy.signal and scipy.interpolate cost about a second each; correlation uses scipy.fft, when it is used."""
    code = "import sys, ridelog.timeline.ride; print([m for m in sys.modules if m.startswith('scipy')])"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"


def test_a_million_samples_are_joined() -> None:
    """100 Hz for nearly three hours: the join stands on a thinned grid, the series on every sample."""
    truth = true_ride(4, 10_000.0)
    time_s = np.arange(1_000_000) * 0.01
    reference = recording(
        "c.csv",
        time_s,
        current_a=np.interp(time_s, truth.time_s, truth.power_w) / 48,
        speed_mps=np.interp(time_s, truth.time_s, truth.speed_mps),
    )
    track = track_log(truth, start_s=100.0, clock_error_s=10.0)
    ride = join_recordings([reference, track])
    assert len(ride.series) == 1_000_000
    assert ride.joins[1].lag_s == pytest.approx(100.0, abs=0.1)
    assert ride.series.index[0] == pd.Timestamp(START + timedelta(0))
