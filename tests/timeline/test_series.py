"""The common series: rows of the reference, nothing invented across gaps and pauses."""

from datetime import UTC, datetime, timedelta

import numpy as np
import pytest

from ridelog.recording import ClockJoin
from ridelog.timeline.motion.speeds import Motion
from ridelog.timeline.series import EPOCH, Joined, combined_distance_m, interpolated, wall_start
from tests.timeline.simulated import START, recording


def test_values_lie_on_the_straight_line_between_samples() -> None:
    got = interpolated(np.array([0.0, 0.5, 1.0, 1.25]), np.array([0.0, 1.0, 2.0]), np.array([0.0, 10.0, 30.0]))
    assert got.tolist() == [0.0, 5.0, 10.0, 15.0]


def test_nothing_is_said_outside_the_samples() -> None:
    got = interpolated(np.array([-0.1, 0.0, 2.0, 2.1]), np.array([0.0, 1.0, 2.0]), np.ones(3))
    assert np.isnan(got).tolist() == [True, False, False, True]


def test_nothing_is_said_inside_a_gap_but_at_its_ends() -> None:
    time_s = np.concatenate((np.arange(10.0), np.arange(20.0, 30.0)))
    got = interpolated(np.array([8.5, 9.0, 9.1, 15.0, 19.9, 20.0, 20.5]), time_s, time_s)
    assert np.isnan(got).tolist() == [False, False, True, True, True, False, False]


def test_a_missing_value_is_bridged_like_a_missing_sample() -> None:
    time_s = np.arange(100.0)
    values = time_s.copy()
    values[10] = np.nan  # 2 s: bridged at a limit of 3 s
    values[20:24] = np.nan  # 5 s: not
    got = interpolated(np.array([10.0, 21.0]), time_s, values)
    assert got[0] == 10.0
    assert np.isnan(got[1])


def test_nothing_is_bridged_across_a_pause() -> None:
    time_s = np.arange(10.0)
    got = interpolated(np.array([3.5, 4.5, 5.5]), time_s, time_s, pauses_s=((4.0, 5.0),))
    assert np.isnan(got).tolist() == [False, True, False]


def test_a_switch_holds_until_its_next_sample() -> None:
    got = interpolated(np.array([0.9, 1.0, 1.9]), np.array([0.0, 1.0, 2.0]), np.array([0.0, 1.0, 0.0]), stepped=True)
    assert got.tolist() == [0.0, 1.0, 1.0]


def test_longitudes_go_the_short_way_round() -> None:
    got = interpolated(np.array([0.5, 1.5]), np.arange(3.0), np.array([179.9, -179.9, -179.7]), turn=360.0)
    assert abs(got[0]) == pytest.approx(180.0)
    assert got[1] == pytest.approx(-179.8)


def test_a_channel_without_values_gives_none() -> None:
    assert np.isnan(interpolated(np.arange(3.0), np.arange(3.0), np.full(3, np.nan))).all()


def test_a_hole_in_the_best_distance_takes_the_course_of_the_next() -> None:
    """Best knows 0..3 and 7..9 s at 5 m/s; the next one has its own zero and reads 10 % more."""
    at_s = np.arange(10.0)
    best_m = np.where((at_s > 3) & (at_s < 7), np.nan, 5 * at_s)
    got = combined_distance_m(at_s, [(at_s, best_m, ()), (at_s, 100 + 5.5 * at_s, ())])
    assert got is not None
    assert got[[0, 3, 7, 9]].tolist() == [0.0, 15.0, 35.0, 45.0]
    assert got[4:7] == pytest.approx(5 * at_s[4:7])


def test_ends_that_the_best_distance_does_not_reach_come_from_the_next() -> None:
    at_s = np.arange(10.0)
    best_m = np.where((at_s < 2) | (at_s > 7), np.nan, 5 * at_s)
    got = combined_distance_m(at_s, [(at_s, best_m, ()), (at_s, 6 * at_s, ())])
    assert got is not None
    assert got[0] == 0.0
    assert np.diff(got) == pytest.approx([6.0, 6.0, 5.0, 5.0, 5.0, 5.0, 5.0, 6.0, 6.0])


def test_a_distance_never_falls_and_unknown_stays_unknown() -> None:
    at_s = np.arange(100.0)
    values = 5 * at_s
    values[13] = 59.8  # back by 0.2 m
    values[50:60] = np.nan
    got = combined_distance_m(at_s, [(at_s, values, ())])
    assert got is not None
    assert got[12:15].tolist() == [60.0, 60.0, 70.0]
    assert np.flatnonzero(np.isnan(got)).tolist() == list(range(50, 60))
    assert combined_distance_m(at_s, []) is None


def _joined(name: str, method: str, lag_s: float, **options: object) -> Joined:
    log = recording(name, np.arange(10.0), current_a=np.ones(10), **options)  # type: ignore[arg-type]
    join = ClockJoin(name, lag_s, None, None, method, None, 10.0, True)  # type: ignore[arg-type]
    return Joined(log, join, Motion())


def test_the_reference_tells_the_time_of_day_if_it_knows_it() -> None:
    own = _joined("c.csv", "reference", 0.0)
    assert wall_start(own.recording, [_joined("t.gpx", "speed", 5.0, start=START + timedelta(hours=9))]) == (START, ())


@pytest.mark.parametrize("clock", ["local", "elapsed"])
def test_a_joined_track_tells_the_time_of_day_if_the_reference_does_not_know_it(clock: str) -> None:
    own = _joined("c.csv", "reference", 0.0, clock=clock)
    start, findings = wall_start(own.recording, [_joined("t.gpx", "speed", 5.5)])
    assert start == START - timedelta(seconds=5.5)
    assert findings == ()


def test_an_unknown_time_zone_and_an_unknown_time_are_findings() -> None:
    own = _joined("c.csv", "reference", 0.0, clock="local")
    start, (finding,) = wall_start(own.recording, [])
    assert (start, finding.code) == (START, "time-zone-unknown")
    own = _joined("c.csv", "reference", 0.0, clock="elapsed")
    start, (finding,) = wall_start(own.recording, [_joined("t.gpx", "speed", 60.0, clock="local")])
    assert (start, finding.code) == (START - timedelta(seconds=60), "time-zone-unknown")
    start, (finding,) = wall_start(own.recording, [])
    assert (start, finding.code) == (EPOCH, "no-wall-time")
    assert datetime(1970, 1, 1, tzinfo=UTC) == EPOCH
