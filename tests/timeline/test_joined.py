"""Values of a recording at other times: nothing invented across gaps and pauses."""

from dataclasses import replace

import numpy as np
import pytest

from ridelog.recording import ClockJoin
from ridelog.timeline.joined import JoinedRecording, interpolated, longitudes, steps
from ridelog.timeline.motion.speeds import Motion
from tests.timeline.simulated import recording


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
    got = interpolated(np.array([0.9, 1.0, 1.9]), np.array([0.0, 1.0, 2.0]), np.array([0.0, 1.0, 0.0]), between=steps)
    assert got.tolist() == [0.0, 1.0, 1.0]


def test_longitudes_go_the_short_way_round() -> None:
    got = interpolated(np.array([0.5, 1.5]), np.arange(3.0), np.array([179.9, -179.9, -179.7]), between=longitudes)
    assert abs(got[0]) == pytest.approx(180.0)
    assert got[1] == pytest.approx(-179.8)


def test_a_channel_without_values_gives_none() -> None:
    assert np.isnan(interpolated(np.arange(3.0), np.arange(3.0), np.full(3, np.nan))).all()


def joined(method: str, lag_s: float, drift_ppm: float | None, motion: Motion = Motion()) -> JoinedRecording:  # noqa: B008
    """Ten samples, a second apart, with a pause from 2 to 3 s."""
    log = replace(recording("t.gpx", np.arange(10.0), altitude_m=np.arange(10.0)), pauses_s=((2.0, 3.0),))
    join = ClockJoin("t.gpx", lag_s, -lag_s, drift_ppm, method, 0.9, 10.0, True)  # type: ignore[arg-type]
    return JoinedRecording(log, join, motion)


def test_samples_and_pauses_lie_on_the_references_clock() -> None:
    """By hand: 1000 ppm fast, 5 s later: its second s is the reference's 5 + s / 1.001."""
    item = joined("speed", 5.0, 1000.0)
    assert item.reference_s[[0, 9]] == pytest.approx([5.0, 5.0 + 9 / 1.001])
    assert item.pauses_s == (pytest.approx((5.0 + 2 / 1.001, 5.0 + 3 / 1.001)),)


def test_the_references_own_pauses_stay_as_they_are() -> None:
    assert joined("reference", 0.0, 0.0).pauses_s == ((2.0, 3.0),)


def test_values_are_read_on_the_references_clock_and_not_across_a_pause() -> None:
    item = joined("speed", 5.0, None)
    got = item.at(np.array([4.0, 5.5, 7.5, 8.5]), item.recording.frame["altitude_m"].to_numpy())
    assert np.isnan(got).tolist() == [True, False, True, False]
    assert got[[1, 3]].tolist() == [0.5, 3.5]


def test_a_speed_that_is_a_mean_over_steps_is_read_at_their_middles_and_positions_at_their_stamps() -> None:
    speeds = {"device": np.arange(10.0), "positions": np.arange(10.0)}
    item = joined("speed", 0.0, None, Motion(speeds, moments_s=np.arange(10.0) - 0.5))  # type: ignore[arg-type]
    at_s = np.array([5.0])
    assert item.speed_at_mps(at_s, "device").tolist() == [5.5]
    assert item.speed_at_mps(at_s, "positions").tolist() == [5.0]


def test_a_switch_before_its_first_sample_is_as_that_one_says() -> None:
    assert steps(np.array([-1.0, 0.5]), np.array([0.0, 1.0]), np.array([1.0, 0.0])).tolist() == [1.0, 1.0]
