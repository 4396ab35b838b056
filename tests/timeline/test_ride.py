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
from ridelog.timeline.ride import join_recordings, load_ride, ride_name
from tests.timeline.said import codes, facts
from tests.timeline.simulated import START, Truth, controller_log, recording, track_log, true_ride


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
    told = facts(ride, "motion-sources")
    assert (told["speed_file"], told["speed_source"]) == ("controller.csv", "device")
    assert (told["distance_file"], told["distance_source"]) == ("track.gpx", "positions")


def test_power_is_filled_in_from_voltage_and_current(ride: Ride) -> None:
    assert ride.series["power_w"].to_numpy() == pytest.approx(48.0 * ride.series["current_a"].to_numpy())


def test_every_column_of_the_series_passes_the_table_of_channels(ride: Ride) -> None:
    frame = ride.series.drop(columns="elapsed_s")
    channels = {name: frame[name].to_numpy() for name in frame}
    assert validate(channels, ride.series["elapsed_s"].to_numpy(), "ride")[1] == ()


def test_a_ride_without_an_electrical_log_stands_on_its_track(truth: Truth) -> None:
    ride = join_recordings([track_log(truth)])
    assert ride.electrical is None
    assert ride.reference.name == "track.gpx"
    assert {"latitude_deg", "altitude_m", "speed_mps", "distance_m"} <= set(ride.series)


def test_another_log_gives_the_channels_that_the_counted_one_lacks(truth: Truth) -> None:
    log = controller_log(truth)
    pack = controller_log(truth, step_s=1.0)
    extra = pack.frame.drop(columns="voltage_v").assign(battery_temperature_c=20.0, brake_ratio=0.0)
    pack = replace(pack, name="bms.csv", sha256="bms", frame=extra)
    series = join_recordings([log, pack]).series
    assert series["battery_temperature_c"].dropna().eq(20.0).all()
    assert series["battery_temperature_c"].notna().mean() > 0.99
    assert series["current_a"].tolist() == log.frame["current_a"].tolist()


def test_a_rotated_log_is_one_ride(truth: Truth) -> None:
    first = replace(controller_log(truth, end_s=800), name="log1.csv", sha256="1")
    second = replace(controller_log(truth, start_s=810.0), name="log2.csv", sha256="2")
    ride = join_recordings([second, track_log(truth), first])
    assert [item.name for item in ride.recordings] == ["log1.csv + log2.csv", "track.gpx"]
    assert "log-continued" in codes(ride)
    assert ride.joins[1].trusted
    assert ride.name == "log1 + track"


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


def test_a_pair_of_single_samples_is_a_ride() -> None:
    one = recording("c.csv", np.array([0.0]), current_a=np.array([1.0]), voltage_v=np.array([48.0]))
    two = recording("t.gpx", np.array([0.0]), latitude_deg=np.array([46.5]), longitude_deg=np.array([-32.0]))
    ride = join_recordings([one, two])
    assert len(ride.series) == 1
    assert "clocks-not-joined" in codes(ride)


def test_loading_the_timeline_imports_nothing_slow() -> None:
    """scipy.signal and scipy.interpolate cost about a second each; Student's factor uses scipy, when it is used."""
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
