"""What a rider is told of how two clocks were joined."""

from dataclasses import replace
from datetime import timedelta
from functools import cache
from typing import get_args

import numpy as np
import pandas as pd
import pytest

from ridelog.recording import Clock, Recording, Ride
from ridelog.timeline.clock.peak import Reason
from ridelog.timeline.ride import join_recordings
from sample_rides.loggers import electrical_log
from sample_rides.loggers import track_log as sample_track
from sample_rides.scenarios import random_scenario
from sample_rides.simulation import Simulated, simulate
from tests.timeline.said import codes, facts
from tests.timeline.simulated import START, controller_log, recording, track_log, true_ride


def test_a_join_is_told_with_its_offset_and_agreement() -> None:
    truth = true_ride(32)
    told = facts(join_recordings([controller_log(truth), track_log(truth, clock_error_s=3.42)]), "clock-joined")
    assert (told["file"], told["reference"], told["method"]) == ("track.gpx", "controller.csv", "speed")
    assert told["offset_s"] == pytest.approx(3.42, abs=0.5)
    assert told["agreement"] > 0.99
    assert told["wall_clocks"]
    assert told["overlap_s"] == pytest.approx(1800, abs=60)


def test_a_join_without_wall_time_tells_which_began_first(ride: Ride) -> None:
    told = facts(ride, "clock-joined")
    assert not told["wall_clocks"]
    assert told["lag_s"] == pytest.approx(45.6, abs=0.1)
    assert told["offset_s"] == ride.joins[0].offset_s == pytest.approx(-told["lag_s"], abs=0.01)


def test_a_track_that_cannot_be_joined_is_left_out() -> None:
    ride = join_recordings([controller_log(true_ride(1), clock="elapsed"), track_log(true_ride(60), clock="elapsed")])
    assert "latitude_deg" not in ride.series
    assert not ride.joins[1].trusted
    told = facts(ride, "clocks-not-joined")
    assert (told["file"], told["reference"]) == ("track.gpx", "controller.csv")
    assert told["reason"] in get_args(Reason)


def test_tracks_of_other_days_do_not_overlap() -> None:
    ride = join_recordings([controller_log(true_ride(1)), track_log(true_ride(60), clock_error_s=3 * 86400)])
    told = facts(ride, "no-overlap")
    assert (told["file"], told["reference"]) == ("track.gpx", "controller.csv")
    assert told["file_start"].startswith("2026-05-04T08:00")
    assert told["file_end"].startswith("2026-05-04T08:29")
    assert told["reference_start"].startswith("2026-05-01T08:00")
    assert told["reference_end"].startswith("2026-05-01T08:29")
    assert "latitude_deg" not in ride.series


def test_clocks_that_disagree_by_hours_are_a_warning() -> None:
    truth = true_ride(33)
    ride = join_recordings([controller_log(truth), track_log(truth, clock_error_s=7200)])
    assert ride.joins[1].trusted
    assert facts(ride, "clocks-disagree")["apart_s"] == pytest.approx(7200, abs=1)


@cache
def two_days_on_one_road() -> tuple[Simulated, Simulated]:
    """The same way to work: another day's waits at its stops, other pace, one stop in ten not needed."""
    rng = np.random.default_rng([4, 4])
    monday = random_scenario(rng)
    stops = tuple(
        replace(stop, wait_s=float(stop.wait_s * rng.uniform(0.3, 2.0)))
        for stop in monday.route.stops
        if rng.random() < 0.9
    )
    rider = replace(monday.rider, cruise_mps=1.02 * monday.rider.cruise_mps)
    tuesday = replace(monday, seed=monday.seed + 1, rider=rider, route=replace(monday.route, stops=stops))
    return simulate(monday), simulate(tuesday)


def road_log(ride: Simulated, *, days: float = 0.0, clock: Clock = "utc") -> Recording:
    log = electrical_log(ride)
    columns = {name: log[name].to_numpy() for name in ("current_a", "voltage_v", "speed_mps")}
    return recording("log.csv", log["time_s"].to_numpy(), start=START + timedelta(days=days), clock=clock, **columns)


def road_track(ride: Simulated, *, days: float = 0.0, clock: Clock = "utc", name: str = "track.gpx") -> Recording:
    track = sample_track(ride)
    columns = {channel: track[channel].to_numpy() for channel in ("latitude_deg", "longitude_deg", "altitude_m")}
    return recording(name, track["time_s"].to_numpy(), start=START + timedelta(days=days), clock=clock, **columns)


@pytest.mark.parametrize("clock", ["utc", "local"])
def test_a_track_of_another_day_on_the_same_road_is_not_joined(clock: Clock) -> None:
    monday, tuesday = two_days_on_one_road()
    ride = join_recordings([road_log(monday, clock=clock), road_track(tuesday, days=1)])
    assert not ride.joins[1].trusted
    assert "latitude_deg" not in ride.series
    assert "no-overlap" in codes(ride)


def test_a_track_of_another_day_is_not_joined_to_a_log_without_wall_time() -> None:
    """Where they fit best, speeds on one road agree by more than chance does; their slow course does not."""
    monday, tuesday = two_days_on_one_road()
    refused = join_recordings([road_log(monday, clock="elapsed"), road_track(tuesday, days=1)])
    told = facts(refused, "clocks-not-joined")
    assert (told["reason"], told["least_agreement"]) == ("unlike", 0.92)
    assert 0.5 < told["agreement"] < 0.92
    assert join_recordings([road_log(monday, clock="elapsed"), road_track(monday, days=1)]).joins[1].trusted


@pytest.mark.parametrize("days", [-365.25, 7.0, 1024 * 7.0])
def test_a_track_whose_clock_is_far_off_is_joined_by_its_speed_with_a_warning(days: float) -> None:
    monday, _ = two_days_on_one_road()
    ride = join_recordings([road_log(monday), road_track(monday, days=days)])
    assert ride.joins[1].trusted
    assert ride.joins[1].lag_s == pytest.approx(0.0, abs=0.2)
    assert facts(ride, "clocks-disagree")["apart_s"] == pytest.approx(abs(days) * 86400, rel=1e-3)


@pytest.mark.parametrize("clock", ["utc", "local"])
def test_copies_of_a_ride_dated_a_week_apart_are_not_one_ride(clock: Clock) -> None:
    """The first is measured as if it had been given alone; the others are told."""
    monday, _ = two_days_on_one_road()
    copies = [replace(road_log(monday, days=days, clock=clock), name=f"{days}.csv") for days in (0, 7, 14)]
    ride = join_recordings(copies)
    assert [join.trusted for join in ride.joins] == [True, False, False]
    assert codes(ride).count("no-overlap") == 2
    pd.testing.assert_frame_equal(ride.series, join_recordings(copies[:1]).series)
    tracks = join_recordings([road_track(monday, days=days, name=f"{days}.gpx") for days in (0, 7, 14)])
    assert [join.trusted for join in tracks.joins].count(True) == 1
    assert codes(tracks).count("no-overlap") == 2


def test_beside_the_track_of_the_day_a_copy_of_another_week_is_left_out() -> None:
    monday, _ = two_days_on_one_road()
    ride = join_recordings(
        [road_log(monday), road_track(monday, days=7, name="copy.gpx"), road_track(monday, name="track.gpx")]
    )
    assert [join.trusted for join in ride.joins] == [True, False, True]
    assert facts(ride, "no-overlap")["file"] == "copy.gpx"
    assert "clocks-disagree" not in codes(ride)
