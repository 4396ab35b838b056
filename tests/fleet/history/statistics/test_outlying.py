"""How probable a value as low is: Student's t, Pearson's type III, and what a few others leave open."""

import numpy as np
import pytest
from scipy import special, stats

from ridelog.fleet.history.statistics import outlying
from ridelog.fleet.history.statistics.outlying import as_low


def test_without_skewness_it_is_students_t(monkeypatch):
    # externally studentised: (x - mean of the others) / (s root(1 + 1/n)), n - 1 degrees of freedom
    monkeypatch.setattr(outlying, "SKEWNESSES", (0.0,))
    others = np.array([42.0, 42, 43, 43, 50])
    sd = others.std(ddof=1)
    assert as_low(30.0, others) == pytest.approx(stats.t.cdf(-14 / (sd * np.sqrt(1.2)), 4))
    assert as_low(30.0, others, 25.0) == pytest.approx(stats.t.cdf(-14 / np.sqrt(1.2 * sd**2 + 25), 4))
    assert as_low(44.0, others) == pytest.approx(0.5)


@pytest.mark.parametrize("n", [6, 20, 60])
def test_centres_and_spreads_together_make_students_t(n):
    """The mean of normal tails over what is likely of centre and spread is t (any book on prediction; Geisser 1993)."""
    others = np.random.default_rng(n).normal(size=n)
    down = (others.mean() - others) / others.std(ddof=1)
    for own_down in (2.0, 4.0):
        log, tails = outlying._given(0.0, down, own_down, 0.0)
        weights = np.exp(log - log.max())
        by_t = stats.t.sf(own_down / np.sqrt(1 + 1 / n), n - 1)
        assert (weights * tails).sum() / weights.sum() == pytest.approx(by_t, rel=0.02)


@pytest.mark.parametrize("skewness", [0.4, 1.0, 2.0])
def test_of_many_others_it_is_pearsons_type_iii(monkeypatch, skewness):
    monkeypatch.setattr(outlying, "SKEWNESSES", (skewness,))
    others = -stats.pearson3(skewness).ppf((np.arange(2000) + 0.5) / 2000)
    assert as_low(-4.0, others) == pytest.approx(stats.pearson3(skewness).sf(4), rel=0.1)
    monkeypatch.undo()
    assert as_low(-4.0, others) == pytest.approx(stats.pearson3(skewness).sf(4), rel=0.2)  # found among all


def test_a_dozen_values_leave_open_how_far_down_others_may_lie():
    others = special.ndtri((np.arange(12) + 0.5) / 12)
    by_t = stats.t.cdf((-5 - others.mean()) / (others.std(ddof=1) * np.sqrt(1 + 1 / 12)), 11)
    few, many = as_low(-5.0, others), as_low(-5.0, special.ndtri((np.arange(400) + 0.5) / 400))
    assert few > 2 * by_t
    assert few > 50 * many


def test_values_that_do_not_differ_say_nothing():
    assert as_low(3.0, np.full(5, 4.0)) == 1.0
    assert as_low(3.0, np.full(5, 4.0), 1.0) == pytest.approx(stats.t.cdf(-1, 4))
