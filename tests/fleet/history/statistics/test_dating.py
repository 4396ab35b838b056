"""Since which ride: lines of Huber's weights against statsmodels', shapes of a change, dates and their intervals."""

import numpy as np
import pytest

from ridelog.fleet.history.statistics import dating
from ridelog.fleet.history.statistics.dating import (
    TO_THE_END,
    Way,
    dated,
    likelihood_ratio,
    regressors,
    resemblance,
    robust_lines,
    ways,
)
from ridelog.fleet.history.suspicions import DATED_OVER, FALLS_TO

PLACES = range(4, 29)


def test_a_change_has_the_shape_of_what_goes_evenly():
    assert regressors([Way(1, 3)], 5)[:, 0].tolist() == [0, 0, 0, 1, 1]
    assert regressors([Way(2, 1)], 5)[:, 0].tolist() == [0, 0.5, 1, 1, 1]
    assert regressors([Way(TO_THE_END, 3)], 5)[:, 0].tolist() == [0, 0, 0, 0.5, 1]
    # evenly from 1 to 0.25 over three rides: 0.75, 0.5, 0.25, whose logarithms over ln 0.25 are 0.2075, 0.5, 1
    assert regressors([Way(3, 0, 0.25)], 4)[:, 0] == pytest.approx([0.20752, 0.5, 1, 1], abs=1e-5)


def test_each_change_that_may_have_been_is_looked_at_once():
    found = ways(10, (1, 3, TO_THE_END), range(4, 9), (0.5,))
    assert len(found) == len(set(found)) == 5 + 2 * 3 + 2 * 5
    assert {each.over for each in found if each.at > 6} == {1, TO_THE_END}  # three rides would outlast them


def test_robust_lines_are_those_of_an_independent_library():
    # statsmodels.RLM: Huber's T with the same 2.5, and the median absolute deviation about 0 at each round
    import statsmodels.api as sm

    rng = np.random.default_rng(7)
    designs = np.stack([np.column_stack([np.ones(40), rng.normal(size=40), np.arange(40) >= at]) for at in (10, 20)])
    values = designs[0] @ [3, 2, -4] + rng.normal(0, 0.3, 40)
    values[3] = 500
    for design, own in zip(designs, robust_lines(designs, values), strict=True):
        fit = sm.RLM(values, design, M=sm.robust.norms.HuberT(2.5)).fit(maxiter=12, tol=0, scale_est="mad")
        assert own == pytest.approx(fit.params, abs=1e-5)
    assert robust_lines(designs, values)[0] == pytest.approx([3, 2, -4], abs=0.2)


def test_a_line_that_is_met_exactly_ends_there():
    design = np.column_stack([np.ones(6), np.arange(6.0)])
    assert robust_lines(design[None], design @ [1, 2])[0] == pytest.approx([1, 2])
    assert robust_lines(np.ones((1, 6, 2)), np.ones(6))[0] == pytest.approx([0.5, 0.5])  # not told apart


@pytest.mark.parametrize(("over", "left"), [(1, 0.6), (5, 0.3), (20, 0.2)])
def test_a_share_that_falls_evenly_is_dated_by_its_logarithm(over, left):
    """Of 12 series: dated within two rides in 11, in 10 by an interval of 95 % that holds it (fewer: p = 2 %)."""
    true = 1 - (1 - left) * np.clip(np.arange(33) - 11, 0, over) / over
    near = held = 0
    for seed in range(12):
        values = np.log(5 * true) + np.random.default_rng(seed).normal(0, 0.03, 33)
        found = dated(values, np.ones((33, 1)), ways(33, DATED_OVER, PLACES, FALLS_TO), direction=-1)
        places = [way.at for way in found.likely]
        near += abs(found.best.at - 12) <= 2
        held += min(places) <= 12 <= max(places)
    assert near >= 11
    assert held >= 10


def test_a_straight_line_dates_such_a_fall_late():
    true = 1 - 0.7 * np.clip(np.arange(33) - 11, 0, 8) / 8
    dates = [
        dated(
            np.log(true) + np.random.default_rng(seed).normal(0, 0.03, 33),
            np.ones((33, 1)),
            ways(33, (1, 3, 6, 12), PLACES),
        ).best.at
        for seed in range(10)
    ]
    assert np.mean(dates) >= 13


def test_what_the_conditions_explain_or_goes_the_other_way_is_no_change():
    values = np.repeat([1.0, 2.0], 6) + np.random.default_rng(1).normal(0, 0.01, 12)
    around = np.column_stack([np.ones(12), np.arange(12) >= 6])
    assert dated(values, around, [Way(1, 6)]) is None
    assert dated(values, np.ones((12, 1)), [Way(1, 6)], direction=-1) is None
    assert dated(values, np.ones((12, 1)), [Way(1, 6)], direction=1).best == Way(1, 6)


@pytest.mark.parametrize(("sd", "over", "odd"), [(0.03, 5, 0.0), (0.15, 8, 0.0), (0.1, 1, -2.0)])
def test_what_is_left_out_before_fitting_would_not_have_been_among_the_best(monkeypatch, sd, over, odd):
    rng = np.random.default_rng(over)
    around = np.column_stack([np.ones(33), rng.normal(size=33)])
    values = np.log(1 - 0.6 * np.clip((np.arange(33) - 11) / over, 0, 1)) + rng.normal(0, sd, 33)
    values[5] += odd
    every = ways(33, (1, 2, 3, 5, 8, 12, TO_THE_END), PLACES, (0.6, 0.3))
    quick = dated(values, around, every, direction=-1)
    monkeypatch.setattr(dating, "_FEW", len(every))
    whole = dated(values, around, every, direction=-1)
    assert quick.best == whole.best
    assert set(quick.likely) == set(whole.likely)


def test_the_likelihood_ratio_is_as_hansen_tabulates_it():
    # Hansen 2000, Econometrica 68:575, table I: 5.94 at 90 %, 7.35 at 95 %, 10.59 at 99 %
    assert [likelihood_ratio(level) for level in (0.9, 0.95, 0.99)] == pytest.approx([5.94, 7.35, 10.59], abs=0.005)


def alike(n, r, rng):
    """Rides that resemble the one before: an AR(1) series of variance 1."""
    values = rng.normal(size=n)
    for at in range(1, n):
        values[at] = r * values[at - 1] + np.sqrt(1 - r**2) * values[at]
    return values


def test_a_mean_of_rides_that_resemble_each_other_varies_more():
    # by hand: r = (1 - 1 + 1) / 4; what goes up and down counts as independent
    assert resemblance(np.array([1.0, 1, -1, -1, 0])) == pytest.approx((1 + 0.25) / (1 - 0.25))
    assert resemblance(np.array([1.0, -1, 1, -1])) == 1
    assert resemblance(np.zeros(3)) == 1
    # of an AR(1) series the variance of the mean of many is (1 + r) / (1 - r) / n (Bartlett 1946)
    long = alike(20_000, 0.4, np.random.default_rng(3))
    assert resemblance(long) == pytest.approx(1.4 / 0.6, rel=0.1)
    means = long.reshape(-1, 50).mean(axis=1)
    assert 50 * means.var() == pytest.approx(1.4 / 0.6, rel=0.2)


def test_where_the_narrowest_of_several_is_told_each_is_wider():
    values = np.log(1 - 0.5 * (np.arange(33) >= 12)) + np.random.default_rng(21).normal(0, 0.2, 33)
    every = ways(33, DATED_OVER, PLACES, FALLS_TO)
    one, two = (dated(values, np.ones((33, 1)), every, direction=-1, told_of=n) for n in (1, 2))
    assert one.best == two.best
    assert set(one.likely) < set(two.likely)
