"""Masks and runs."""

import itertools

import numpy as np
import pytest

from ridelog.arrays import (
    RunningRows,
    default_gap_limit_s,
    hysteresis_mask,
    local_slope,
    mask_runs,
    merge_runs,
    robust_scale,
    runs_mask,
    straight_pieces,
)


def test_a_run_begins_at_the_upper_threshold_and_ends_below_the_lower():
    values = np.array([0.0, 0.3, 0.5, 0.3, 0.2, 0.1, 0.3, 0.6])
    assert hysteresis_mask(values, on=0.5, off=0.2).tolist() == [False, False, True, True, True, False, False, True]


def test_an_unknown_value_ends_a_run():
    values = np.array([1.0, np.nan, 0.3, 1.0])
    assert hysteresis_mask(values, on=0.5, off=0.2).tolist() == [True, False, False, True]


def test_runs_and_mask_are_each_other_turned_round():
    mask = np.array([1, 1, 0, 1, 0, 0, 1], dtype=bool)
    assert mask_runs(mask) == [(0, 1), (3, 3), (6, 6)]
    assert (runs_mask(mask_runs(mask), len(mask)) == mask).all()
    assert mask_runs(np.zeros(3, dtype=bool)) == []


def test_runs_merge_only_across_short_gaps():
    time_s = np.array([0.0, 1.0, 2.0, 3.0, 10.0])
    assert merge_runs([(0, 0), (2, 2), (4, 4)], time_s, gap_s=2.0) == [(0, 2), (4, 4)]


@pytest.mark.parametrize("longest_s", [0.4, 0.1])
def test_the_local_slope_is_that_of_the_least_squares_line_in_the_window(longest_s):
    """Against numpy.polyfit, window by window, on uneven and on even steps with unknown values."""
    rng = np.random.default_rng(4)
    time_s = np.cumsum(rng.uniform(0.1, longest_s, 300))
    values = np.sin(time_s / 5) + rng.normal(0, 0.05, 300)
    values[[40, 41, 200]] = np.nan
    slope = local_slope(time_s, values, window_s=2.0)
    for k in range(0, 300, 7):
        inside = (np.abs(time_s - time_s[k]) <= 1.0 + 1e-9) & np.isfinite(values)
        expected = np.polyfit(time_s[inside] - time_s[k], values[inside], 1)[0]
        assert slope[k] == pytest.approx(expected, abs=1e-9)  # rounding of prefix sums over 60 s


def test_a_window_with_a_single_sample_has_no_slope():
    assert np.isnan(local_slope(np.array([0.0, 10.0]), np.array([1.0, 2.0]), window_s=2.0)).all()


def test_the_robust_scale_is_the_standard_deviation_of_normal_values_and_forgets_wild_ones():
    """Of {1, 1, 2, 2, 4, 6, 9} the median is 2, the deviations' median 1; of 100000 normal values of σ = 3, 3."""
    assert robust_scale(np.array([1.0, 1, 2, 2, 4, 6, 9])) == pytest.approx(1.4826)
    assert robust_scale(np.array([-1.0, 2.0, 3.0]), centre=0.0) == pytest.approx(2 * 1.4826)
    values = np.random.default_rng(2).normal(7, 3, 100_000)
    values[:1000] = 1e6
    assert robust_scale(values) == pytest.approx(3.0, rel=0.03)
    assert robust_scale(np.empty(0)) == 0.0


def test_a_bent_line_is_its_straight_pieces():
    line = np.interp(np.arange(61.0), [0, 20, 45, 60], [0, 40, 40, 10])
    assert straight_pieces(line, 0.01, 5.0).tolist() == [0, 20, 45, 60]
    assert straight_pieces(line[:21], 0.01, 5.0).tolist() == [0, 20]


def test_the_straight_pieces_are_the_best_of_all():
    """Every way of bending 9 steps, 2^8 of them, weighed one by one; a bend costs what two squared deviations do."""
    steps = np.random.default_rng(3).normal(0, 1, (20, 9)) + np.repeat([0.0, 3.0, -1.0], 3)
    for one in steps:
        costs = {}
        for choice in range(2**8):
            bends = [0, *(k + 1 for k in range(8) if choice >> k & 1), 9]
            pieces = [one[a:b] for a, b in itertools.pairwise(bends)]
            costs[tuple(bends)] = sum(((piece - piece.mean()) ** 2).sum() for piece in pieces) + 2.0 * len(pieces)
        best = min(costs, key=lambda bends: costs[bends])
        assert straight_pieces(np.concatenate(([0.0], np.cumsum(one))), 1.0, 2.0).tolist() == list(best)


def test_no_piece_is_shorter_than_the_fewest_steps():
    values = np.cumsum(np.random.default_rng(4).normal(0, 1, 200))
    assert np.diff(straight_pieces(values, 0.05, 2.0, fewest=6)).min() >= 6


@pytest.mark.parametrize("n", [1, 16, 17, 1000, RunningRows.LONG + 5])
@pytest.mark.parametrize("is_kept", [True, False])
def test_running_rows_give_back_what_was_put_into_them(n, is_kept):
    """To the last digits, whether all totals are kept or what they grow by is added up anew."""
    totals = np.cumsum(np.random.default_rng(3).random((2, n)), axis=1)
    rows = RunningRows(2, n, None if is_kept else lambda at: np.diff(totals[:, at], axis=-1))
    for row, one in enumerate(totals):
        rows.put(row, one)
    at = np.unique(np.linspace(0, n - 1, 1000).astype(int))
    assert rows.at(at) == pytest.approx(totals[:, at], rel=1e-14)
    assert rows.pieces(n // 3, n - 1) == pytest.approx(totals[:, n // 3 :], rel=1e-13)


def test_running_rows_that_are_added_up_anew_take_a_sixteenth():
    kept, anew = (RunningRows(2, 160_000, growth) for growth in (None, lambda at: np.zeros((2, *at.shape))))
    sizes = [sum(each.nbytes for each in vars(rows).values() if isinstance(each, np.ndarray)) for rows in (kept, anew)]
    assert sizes == [2 * 8 * 170_000, 2 * 8 * 10_000]


@pytest.mark.parametrize("seed", range(40))
def test_the_longest_bridgeable_step_is_what_the_quantile_says(seed):
    """Steps about the length at which the rule begins to follow the log, in any number; numpy's quantile beside it."""
    rng = np.random.default_rng(seed)
    steps_s = rng.choice([0.1, 0.66, 2 / 3, 0.67, 5.0], size=int(rng.integers(1, 60)), p=[0.7, 0.1, 0.1, 0.05, 0.05])
    time_s = np.concatenate(([0.0], np.cumsum(steps_s)))
    expected_s = max(2.0, 3.0 * float(np.quantile(np.diff(time_s), 0.95)))
    assert default_gap_limit_s(time_s) == pytest.approx(expected_s, rel=1e-12)
