"""What a rider is told of how two clocks were joined."""

from typing import get_args

import pytest

from ridelog.recording import Ride
from ridelog.timeline.clock.peak import Reason
from ridelog.timeline.ride import join_recordings
from tests.timeline.said import facts
from tests.timeline.simulated import controller_log, track_log, true_ride


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
