"""Holm's correction."""

from ridelog.fleet.history.statistics.corrected import told


def test_a_worked_example():
    # Holm 1979's procedure by hand: 0.01 <= 0.05/4, 0.013 <= 0.05/3, 0.03 > 0.05/2: it ends there
    assert told([0.01, 0.03, 0.013, 0.04], 0.05).tolist() == [True, False, True, False]


def test_one_test_more_can_silence_another():
    assert told([0.04], 0.05).tolist() == [True]
    assert told([0.04, 0.5], 0.05).tolist() == [False, False]
    assert told([], 0.05).tolist() == []
