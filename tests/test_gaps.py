"""Gaps: which steps nothing may be said of."""

import numpy as np
import pytest

from ridelog.arrays import default_gap_limit_s, pause_steps, time_gaps


def test_the_limit_of_an_even_log_is_three_steps_but_at_least_two_seconds() -> None:
    assert default_gap_limit_s(np.arange(100) * 0.2) == 2.0
    assert default_gap_limit_s(np.arange(100) * 1.0) == pytest.approx(3.0)
    assert default_gap_limit_s(np.arange(100) * 5.0) == pytest.approx(15.0)


def test_a_single_long_step_does_not_move_the_limit() -> None:
    time_s = np.append(np.arange(100.0), 500.0)
    assert default_gap_limit_s(time_s) == pytest.approx(3.0)
    assert np.flatnonzero(time_gaps(time_s)).tolist() == [99]


def test_a_log_without_steps_has_no_gaps() -> None:
    assert default_gap_limit_s(np.array([7.0])) == 2.0
    assert time_gaps(np.empty(0)).tolist() == []


def test_a_stated_limit_wins() -> None:
    assert time_gaps(np.array([0.0, 1.0, 3.0]), 1.5).tolist() == [False, True]


@pytest.mark.parametrize(
    ("pause_s", "steps"),
    [
        ((1.0, 2.0), [1]),  # from sample to sample: that step only
        ((1.2, 1.8), [1]),  # within a step
        ((0.5, 2.5), [0, 1, 2]),  # cutting into steps on both sides
        ((2.0, 2.0), []),  # an instant is no pause
        ((-5.0, 0.0), []),  # before the first sample
        ((3.0, 9.0), []),  # after the last one
    ],
)
def test_a_pause_bars_every_step_that_it_shares_time_with(pause_s: tuple[float, float], steps: list[int]) -> None:
    assert np.flatnonzero(pause_steps(np.arange(4.0), (pause_s,))).tolist() == steps
