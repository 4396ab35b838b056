"""Holm's correction."""

import numpy as np
import pytest

from ridelog.fleet.history.statistics.corrected import stepped, told


def test_a_worked_example():
    # Holm 1979's procedure by hand: 0.01 <= 0.05/4, 0.013 <= 0.05/3, 0.03 > 0.05/2: it ends there
    assert told([0.01, 0.03, 0.013, 0.04], 0.05).tolist() == [True, False, True, False]


def test_one_test_more_can_silence_another():
    assert told([0.04], 0.05).tolist() == [True]
    assert told([0.04, 0.5], 0.05).tolist() == [False, False]
    assert told([], 0.05).tolist() == []


def test_levels_are_those_that_each_test_is_held_against():
    # the same example: 0.05/4, 0.05/3, 0.05/2 where it ends, and no more than that for what comes after
    p_values = [0.01, 0.03, 0.013, 0.04]
    assert stepped(p_values, 0.05)[1].tolist() == pytest.approx([0.05 / 4, 0.05 / 2, 0.05 / 3, 0.05 / 2])
    # corrected: 4 times 0.01, 3 times 0.013, 2 times 0.03, and no less than the one before
    assert stepped(p_values, 0.05)[0].tolist() == pytest.approx([0.04, 0.06, 0.04, 0.06])
    assert [each.tolist() for each in stepped([], 0.05)] == [[], []]
    assert [each.tolist() for each in stepped([0.3], 0.05)] == [[0.3], [0.05]]


def test_a_test_is_told_where_its_p_value_is_within_its_level(monkeypatch):
    # statsmodels looks for garbage at each call, among all that tests hold
    monkeypatch.setattr("gc.collect", lambda: 0)
    rng = np.random.default_rng(4)
    for _ in range(20):
        p_values = rng.uniform(0, 1, rng.integers(1, 7)) ** 4
        assert (p_values <= stepped(p_values, 0.05)[1]).tolist() == told(p_values, 0.05).tolist()
