"""What a rider is told of how two clocks were joined."""

from ridelog.recording import Ride
from ridelog.timeline.clock.findings import in_words
from ridelog.timeline.ride import join_recordings
from tests.timeline.said import message
from tests.timeline.simulated import controller_log, track_log, true_ride


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


def test_times_are_said_in_words() -> None:
    assert in_words(31 * 60 + 10) == "31 min"
    assert in_words(45.2) == "45 s"
    assert in_words(2 * 3600 + 300) == "2 h 5 min"
    assert in_words(3.4249, exact=True) == "3.42 s"
    assert in_words(7203.42, exact=True) == "2 h 0 min 3.42 s"
    assert in_words(59.999, exact=True) == "1 min 0.00 s"
