"""Values of a recording at other times: nothing invented across gaps and pauses."""

import numpy as np
import pytest

from ridelog.timeline.joined import interpolated, longitudes, steps


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
