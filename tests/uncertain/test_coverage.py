"""The coverage interval against counts by hand."""

import itertools

import numpy as np
import pytest

from ridelog.uncertain.coverage import all_finite, coverage_interval


def test_a_hundred_trials_in_order_give_the_bounds_counted_by_hand():
    """JCGM 101, 7.7.2: M = 100, q = 95, r = (5 + 1)/2 = 3: from the 3rd to the 98th."""
    trials = np.random.default_rng(6).permutation(np.arange(1.0, 101.0))
    assert coverage_interval(trials) == (3, 98)


@pytest.mark.parametrize(("m", "p"), [*itertools.product([21, 50, 1000, 4000], [0.5, 0.68, 0.95])])
def test_the_two_tails_hold_alike(m, p):
    trials = np.random.default_rng(8).standard_normal(m)
    low, high = coverage_interval(trials, p=p)
    below, above = (trials < low).sum(), (trials > high).sum()
    assert abs(below - above) <= 1
    assert m - below - above - 1 == pytest.approx(p * m, abs=0.5)  # q steps from bound to bound


@pytest.mark.parametrize(
    "kind", ["normal", "skewed", "in order", "mostly one value", "two values", "few beyond the rest"]
)
def test_the_bounds_are_those_of_all_trials_in_order(kind):
    """By sorting all, to the last bit, whatever the first trials show of the others."""
    rng = np.random.default_rng(12)
    normal = rng.standard_normal(4000)
    trials = {
        "normal": normal,
        "skewed": np.exp(3 * normal),
        "in order": np.sort(normal),
        "mostly one value": np.maximum(normal, 1.9),
        "two values": np.sign(normal),
        "few beyond the rest": np.where(np.arange(4000) < 256, 1e6, normal),
    }[kind]
    ordered = np.sort(trials)
    assert coverage_interval(trials) == (ordered[99], ordered[3899])  # JCGM 101, 7.7: the 100th of 4000 on


def test_trials_that_cannot_give_an_interval_are_refused():
    with pytest.raises(ValueError, match="too few"):
        coverage_interval(np.arange(5.0))
    with pytest.raises(ValueError, match="1 of 100 trials are not finite"):
        coverage_interval(np.r_[np.arange(99.0), np.nan])
    with pytest.raises(ValueError, match="between 0 and 1"):
        coverage_interval(np.arange(100.0), p=95)
    with pytest.raises(ValueError, match="one dimension"):
        coverage_interval(np.ones((2, 100)))


def test_trials_that_all_agree_have_an_interval_without_width():
    assert coverage_interval(np.full(100, 7.0)) == (7, 7)


def test_numbers_are_told_from_what_is_none_even_where_their_sum_is_none():
    assert all_finite(np.full(3, 1e308))
    for none in (np.nan, np.inf, -np.inf):
        assert not all_finite(np.array([1.0, none, 2.0]))
    assert not all_finite(np.array([np.inf, -np.inf]))
