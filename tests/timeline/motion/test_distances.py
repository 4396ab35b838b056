"""Distance along the ride: the best source, and what fills its holes."""

from dataclasses import replace

import numpy as np
import pytest

from ridelog.timeline.motion.distances import combined_distance_m
from ridelog.timeline.ride import join_recordings
from tests.timeline.said import message
from tests.timeline.simulated import Truth, controller_log, track_log


def test_a_hole_in_the_best_distance_takes_the_course_of_the_next() -> None:
    """Best knows 0..3 and 7..9 s at 5 m/s; the next one has its own zero and reads 10 % more."""
    at_s = np.arange(10.0)
    best_m = np.where((at_s > 3) & (at_s < 7), np.nan, 5 * at_s)
    got = combined_distance_m(at_s, [best_m, 100 + 5.5 * at_s])
    assert got is not None
    assert got[[0, 3, 7, 9]].tolist() == [0.0, 15.0, 35.0, 45.0]
    assert got[4:7] == pytest.approx(5 * at_s[4:7])


def test_ends_that_the_best_distance_does_not_reach_come_from_the_next() -> None:
    at_s = np.arange(10.0)
    best_m = np.where((at_s < 2) | (at_s > 7), np.nan, 5 * at_s)
    got = combined_distance_m(at_s, [best_m, 6 * at_s])
    assert got is not None
    assert got[0] == 0.0
    assert np.diff(got) == pytest.approx([6.0, 6.0, 5.0, 5.0, 5.0, 5.0, 5.0, 6.0, 6.0])


def test_a_distance_never_falls_and_unknown_stays_unknown() -> None:
    at_s = np.arange(100.0)
    values = 5 * at_s
    values[13] = 59.8  # back by 0.2 m
    values[50:60] = np.nan
    got = combined_distance_m(at_s, [values])
    assert got is not None
    assert got[12:15].tolist() == [60.0, 60.0, 70.0]
    assert np.flatnonzero(np.isnan(got)).tolist() == list(range(50, 60))
    assert combined_distance_m(at_s, []) is None


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
