"""Trials of what flowed in gaps: held of the first, the same when drawn again, and no more memory than that."""

import tracemalloc

import numpy as np
import pytest

from ridelog.analysis.electrical.gaps.trials import MOST_HELD, TOGETHER, Across, Learnt

N_TRIALS, N = 400, MOST_HELD + 3 * TOGETHER + 5


@pytest.fixture(scope="module")
def some():
    """Trials of so many gaps that most are not held."""
    return np.random.default_rng(5).normal(3.0, 1.0, (N, 2, N_TRIALS)).astype(np.float32)


@pytest.mark.parametrize(
    ("first", "end"), [(0, N), (3, 9), (200, 300), (MOST_HELD, MOST_HELD + TOGETHER), (270, N - 2), (N - 1, N), (5, 5)]
)
def test_a_sum_is_that_of_its_gaps_whether_they_are_held_or_not(some, first, end):
    across = Across(N, N_TRIALS, some.__getitem__)
    for gap, trials in enumerate(some):
        across.put(gap, trials)
    assert across.summed(first, end) == pytest.approx(some[first:end].astype(float).sum(axis=0), rel=1e-12)
    assert all(np.array_equal(across.of(gap), some[gap]) for gap in range(first, end))


def test_trials_are_the_same_when_they_are_drawn_again_and_others_of_another_gap():
    rng = np.random.default_rng(6)
    learnt = Learnt(3, N_TRIALS, n_alike=20, n_near=4)
    cells = np.arange(12)
    first = [learnt.first(gap, rng.normal(size=(2, 12)), 5000 + cells, 0.01) for gap in (2, 0)]
    for gap, trials in zip((2, 0), first, strict=True):
        assert np.array_equal(learnt.again(gap), trials.astype(np.float32))
    assert not np.array_equal(*first)
    assert not learnt.again(1).any()  # of which nothing was learnt


def test_a_gap_misses_what_its_places_do():
    """By hand: the nearest 4 miss 8 an hour, the others 2; their mean is 4, so that trials lie at 8 + 4 or 8 - 2."""
    learnt = Learnt(1, N_TRIALS, n_alike=12, n_near=4)
    missed = np.tile(np.repeat([8.0, 2.0], [4, 8]), (2, 1))
    trials = learnt.first(0, missed, np.arange(12), 0.5)
    assert sorted(set(np.round(trials.ravel(), 6).tolist())) == [3.0, 6.0]
    assert np.mean(trials > 5.0) == pytest.approx(1 / 3, abs=0.1)


def test_many_gaps_take_two_kilobytes_each_and_their_sum_next_to_nothing():
    """They are the most that a ride takes: held in single precision 32 kB each, 1600 of them took 0.46 GB."""
    n, n_more = MOST_HELD + 20 * TOGETHER, 20 * TOGETHER
    missed, cells = np.zeros((2, 50)), np.arange(50)
    Learnt(1, 4000, n_alike=50, n_near=8).first(0, missed, cells, 1.0)  # what all gaps have in common
    tracemalloc.start()
    learnt = Learnt(n, 4000, n_alike=50, n_near=8)
    across = Across(n, 4000, learnt.again)
    for gap in range(0, n, 40):
        across.put(gap, learnt.first(gap, missed, cells, 1.0))
    held_bytes = tracemalloc.get_traced_memory()[0]
    tracemalloc.reset_peak()
    across.summed(0, n - 1)
    peak_bytes = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert held_bytes < MOST_HELD * 32_100 + n_more * 2_100 + MOST_HELD * 1_000
    assert peak_bytes - held_bytes < 5_000_000
