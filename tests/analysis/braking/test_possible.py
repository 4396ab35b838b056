"""What came back bounds what was available, and what was available bounds what was captured: closed forms."""

import numpy as np
import pytest
from scipy import stats

from ridelog.analysis.braking.possible import EVERY, CaptureSettings, captured_pct, held_to_whole, possible, raised
from ridelog.uncertain.trials import UNKNOWN, Uncertain, exact

ALL_OF_IT = CaptureSettings(best_efficiency=1.0)
MOST_PCT = 100 * CaptureSettings().best_efficiency


def normal(value, u, *, seed=1, n=4000):
    """A number with a normal distribution."""
    return Uncertain(value, np.random.default_rng(seed).normal(value, u, n))


def certain(value, n=4000):
    """A number of which every trial is the same."""
    return Uncertain(value, np.full(n, value))


def share(returned, available, settings=ALL_OF_IT):
    """The captured share as records form it."""
    among = possible(returned, available, settings=settings)
    return captured_pct(returned, raised(available, returned, among, settings=settings), among, settings=settings)


def test_captured_keeps_what_returned_and_available_have_in_common():
    """Both 10 % too large in the same trials: their share does not move."""
    scale = np.random.default_rng(1).uniform(0.9, 1.1, 4000)
    found = share(Uncertain(0.4, 0.4 * scale), Uncertain(1.0, scale))
    assert (found.value, found.low95, found.high95) == pytest.approx((40, 40, 40))


def test_captured_keeps_to_what_the_wheel_had_to_give():
    """0.05 of 0.1 ± 0.1 Wh (normal): possible where available lies above 0.05, a normal cut off at −0.5 of its u.

    Its 2.5 % and 97.5 % quantiles there (closed form, by scipy) give 100 × 0.05 / available; 3 % for 4000 trials.
    """
    found = share(certain(0.05), normal(0.1, 0.1))
    law = stats.truncnorm(-0.5, np.inf, loc=0.1, scale=0.1)
    assert found.value == pytest.approx(50)
    assert found.low95 == pytest.approx(5 / law.ppf(0.975), rel=0.03)
    assert found.high95 == pytest.approx(5 / law.ppf(0.025), rel=0.03)


def test_what_came_back_bounds_what_was_available_from_below():
    """The same cut off normal bounds the available energy itself; its median is the best value where that was less.

    2 % for the ends of some 1200 trials.
    """
    returned, available = certain(0.11), normal(0.1, 0.02)
    among = possible(returned, available, settings=ALL_OF_IT)
    law = stats.truncnorm(0.5, np.inf, loc=0.1, scale=0.02)
    said = among.of(raised(available, returned, among, settings=ALL_OF_IT)).quantity()
    assert said.value == pytest.approx(law.ppf(0.5), rel=0.01)
    assert said.low95 == pytest.approx(law.ppf(0.025), rel=0.02)
    assert said.high95 == pytest.approx(law.ppf(0.975), rel=0.02)
    assert share(returned, available).value == pytest.approx(11 / law.ppf(0.5), rel=0.01)


def test_no_generator_returns_all_that_it_takes():
    """With the best efficiency of 97 %, 0.1 Wh that came back took at least 0.1031 Wh, and no share is beyond 97 %."""
    returned, available = certain(0.1), normal(0.1, 0.02)
    among = possible(returned, available)
    assert among.of(available).trials.min() >= 0.1 / 0.97
    assert share(returned, available, CaptureSettings()).high95 <= MOST_PCT


@pytest.mark.parametrize(("returned", "available"), [(0.0, 0.0), (0.02, 0.0), (0.3, 0.31), (0.01, 0.5), (1.0, 1.02)])
def test_whatever_came_back_the_value_lies_in_its_interval_and_both_within_bounds(returned, available):
    found = share(
        normal(returned, 0.01), Uncertain(available, normal(available, 0.1, seed=2).trials), CaptureSettings()
    )
    if found is not None:
        assert 0 <= found.low95 <= found.value <= found.high95 <= MOST_PCT


def test_numbers_of_one_stretch_stay_together():
    """A difference by the possible trials is that of the two numbers by them: 0 where they are alike in each."""
    available, returned = normal(0.1, 0.05), certain(0.08)
    among = possible(returned, available)
    twice = Uncertain(0.2, 2 * available.trials)
    left = among.of(twice) - among.of(available) - among.of(available)
    assert np.abs(left.trials).max() < 1e-12
    assert (among.of(available - returned).trials > 0).all()


def test_where_hardly_any_trial_is_possible_nothing_is_said_of_what_was_captured():
    """A contradiction is left to its finding: what was available stays as the road has it."""
    returned, available = certain(0.2), normal(0.1, 0.01)
    among = possible(returned, available)
    assert among.contradicted
    assert raised(available, returned, among).value == pytest.approx(0.1)
    assert captured_pct(returned, available, among) is None
    assert captured_pct(normal(0.05, 0.01), certain(0.0), EVERY) is None


def test_what_is_not_known_bounds_nothing():
    available = normal(0.1, 0.1)
    assert possible(UNKNOWN, available) is EVERY
    assert possible(exact(0.05), Uncertain(0.1, np.array([np.nan]))) is EVERY
    assert captured_pct(exact(0.05), Uncertain(0.1, np.array([np.nan])), EVERY).low95 is None


def test_parts_together_have_no_more_than_the_whole():
    """By hand: 3 and 2 Wh of 4, of which 0.97 and nothing came back: 1 is sure, 3/4 of the other 4 are left."""
    parts = [(exact(3.0), exact(0.97)), (exact(2.0), exact(0.0)), (UNKNOWN, exact(1.0))]
    held = held_to_whole(parts, 4.0)
    assert [one.value for one in held[:2]] == pytest.approx([1 + 0.75 * 2, 0.75 * 2])
    assert not held[2].known
    assert [one.value for one in held_to_whole(parts[:2], 5.0)] == [3.0, 2.0]


def test_where_more_came_back_than_the_whole_had_all_parts_are_less_alike():
    held = held_to_whole([(exact(3.0), exact(2.91)), (exact(2.0), exact(1.94))], 4.0)
    assert [one.value for one in held] == pytest.approx([2.4, 1.6])
    assert [one.value for one in held_to_whole([(exact(1.0), UNKNOWN)], 0.0)] == [0.0]
