"""Sums, shares and products of uncertain numbers against JCGM 101:2008, JCGM 100:2008 H.2, closed forms, and unknowns.

Tolerances of random trials are stated in standard deviations of the figure itself; 4 of them, with fixed seeds.
"""

import math

import numpy as np
import pytest
from scipy import integrate, optimize, stats

from ridelog.uncertain.quantity import Quantity
from ridelog.uncertain.trials import (
    N_TRIALS,
    UNKNOWN,
    Uncertain,
    combined,
    evenly_between,
    exact,
    hull,
    known_quantity,
    rectangular,
    share_of_whole_pct,
    total,
    uncertain,
    unevaluated,
)

M = 400_000
ROOT3 = math.sqrt(3)


def normals(n, seed):
    return [Uncertain(0.0, row) for row in np.random.default_rng(seed).standard_normal((n, M))]


def rectangles(widths, seed):
    rng = np.random.default_rng(seed)
    return [Uncertain(0.0, width * ROOT3 * rng.uniform(-1, 1, M)) for width in widths]


def bound_sd(p_below, density):
    """Standard deviation of a quantile of M trials: √(p (1 − p) / M) / density (any text on order statistics)."""
    return math.sqrt(p_below * (1 - p_below) / M) / density


# --- JCGM 101, 9.2: the sum of four inputs of u = 1 --------------------------------------------------


def irwin_hall_bound():
    """97.5 % point of the sum of four rectangular inputs of u = 1, from the closed form of Irwin and Hall."""
    edge = optimize.brentq(lambda x: x**4 / 24 - 0.025, 0, 1)  # P(sum of four uniforms on 0..1 > 4 − x) for x <= 1
    return (4 - edge - 2) * 2 * ROOT3  # each of half-width √3


def test_four_gaussian_inputs_give_the_published_interval():
    """JCGM 101, 9.2.2: ± 3.92. Density of N(0, 2²) at 3.92 is 0.0292."""
    found = total(normals(4, 1))
    interval = found.quantity()
    off = 4 * bound_sd(0.025, 0.0292)
    assert (interval.low95, interval.high95) == pytest.approx((-3.919928, 3.919928), abs=off)
    assert found.u == pytest.approx(2.0, abs=4 * 2 / math.sqrt(2 * M))


def test_four_rectangular_inputs_give_the_published_interval_and_that_of_irwin_and_hall():
    bound = irwin_hall_bound()
    assert bound == pytest.approx(3.87941, abs=5e-6)  # worked out elsewhere
    found = total(rectangles([1, 1, 1, 1], 2)).quantity()
    density = 0.88013**3 / 6 / (2 * ROOT3)  # x³/6 where x⁴/24 = 0.025, per unit of width 2√3
    off = 4 * bound_sd(0.025, density)
    assert off < 0.04  # or the next line could not tell 3.88 from 3.92
    assert (found.low95, found.high95) == pytest.approx((-bound, bound), abs=off)
    assert (found.low95, found.high95) == pytest.approx((-3.88, 3.88), abs=off + 0.005)  # JCGM 101, 9.2.3


def test_a_dominant_rectangular_input_gives_the_interval_of_its_convolution():
    """JCGM 101, 9.2.4: one input of u = 10 beside three of 1; published ± 17.0 (recalled)."""
    wide = 10 * ROOT3

    def above(bound):  # P(R + W > bound), W the sum of three, its density that of Irwin and Hall of order 3
        def density(w):
            s = w / (2 * ROOT3) + 1.5
            return sum((-1) ** k * math.comb(3, k) * max(s - k, 0) ** 2 for k in range(4)) / 2 / (2 * ROOT3)

        def term(w):
            return density(w) * min(max((wide - bound + w) / (2 * wide), 0), 1)

        return integrate.quad(term, -3 * ROOT3, 3 * ROOT3, points=[-ROOT3, bound - wide, ROOT3])[0]

    bound = optimize.brentq(lambda b: above(b) - 0.025, 14, 20)
    assert bound == pytest.approx(17.0, abs=0.05)
    found = total(rectangles([1, 1, 1, 10], 3)).quantity()
    density = (above(bound - 0.01) - above(bound + 0.01)) / 0.02
    assert (found.low95, found.high95) == pytest.approx((-bound, bound), abs=4 * bound_sd(0.025, density))


# --- JCGM 101, 9.4: comparison loss δY = X1² + X2², u = 0.005 each -----------------------------------

U_LOSS = 0.005


@pytest.mark.parametrize(
    ("x1", "mean", "u"),  # in 10⁻⁶; seen: both at 0; recalled: at 0.010 and 0.050
    [(0.0, 50, 50), (0.010, 150, 112), (0.050, 2551, 502)],
)
def test_squares_give_the_comparison_loss_its_published_mean_and_uncertainty(x1, mean, u):
    """δY/u² is noncentral χ² with 2 degrees of freedom (closed form); the interval holds 0.95 of it, tails alike."""
    law = stats.ncx2(2, (x1 / U_LOSS) ** 2, scale=U_LOSS**2) if x1 else stats.chi2(2, scale=U_LOSS**2)
    first, second = (x * U_LOSS for x in normals(2, 4))
    found = (first + x1) * (first + x1) + second * second
    assert 1e6 * found.trials.mean() == pytest.approx(mean, abs=0.5 + 4e6 * law.std() / math.sqrt(M))
    fourth = float(law.stats(moments="k")) + 3
    assert found.u == pytest.approx(law.std(), rel=4 * math.sqrt((fourth - 1) / (4 * M)))
    assert 1e6 * found.u == pytest.approx(u, rel=0.01)
    interval = found.quantity()
    off = 4 * math.sqrt(0.025 * 0.975 / M)
    assert law.cdf(interval.high95) == pytest.approx(0.975, abs=off)
    if x1:  # at 0 the best value, 0, lies below all trials, and the interval reaches to it
        assert law.cdf(interval.low95) == pytest.approx(0.025, abs=off)
    else:
        assert interval.low95 == 0


# --- JCGM 100, H.2: resistance, reactance and impedance, whose inputs were observed together ---------

OBSERVED = np.array(  # table H.2: V [V], I [A], φ [rad]
    [
        [5.007, 4.994, 5.005, 4.990, 4.999],
        [19.663e-3, 19.639e-3, 19.640e-3, 19.685e-3, 19.678e-3],
        [1.0456, 1.0438, 1.0468, 1.0428, 1.0433],
    ]
)


def impedance_ohm(*, correlated):
    means, covariance = OBSERVED.mean(axis=1), np.cov(OBSERVED) / 5
    if not correlated:
        covariance = np.diag(np.diag(covariance))
    rows = np.random.default_rng(9).multivariate_normal(means, covariance, M).T
    volts, amps = (Uncertain(mean, row) for mean, row in zip(means[:2], rows[:2], strict=True))
    cosine, sine = (Uncertain(float(f(means[2])), f(rows[2])) for f in (np.cos, np.sin))
    return volts / amps * cosine, volts / amps * sine, volts / amps


def test_quotients_keep_what_their_parts_share():
    """JCGM 100, H.2.4: R 127.732 (0.071), X 219.847 (0.295), Z 254.260 (0.236) ohm; r −0.588, −0.485, 0.993."""
    found = impedance_ohm(correlated=True)
    assert [each.value for each in found] == pytest.approx([127.732, 219.847, 254.260], abs=5e-4)
    chance = 4 / math.sqrt(2 * M)
    for each, u in zip(found, [0.071071, 0.295582, 0.236336], strict=True):
        assert each.u == pytest.approx(u, rel=chance + 5e-4)
    r = np.corrcoef([each.trials for each in found])
    assert (r[0, 1], r[0, 2], r[1, 2]) == pytest.approx((-0.588, -0.485, 0.993), abs=0.005)


def test_taken_as_independent_the_impedance_errs_both_ways():
    """Worked out elsewhere without the correlations: 0.1945, 0.2009, 0.2041 ohm."""
    for each, u in zip(impedance_ohm(correlated=False), [0.1945, 0.2009, 0.2041], strict=True):
        assert each.u == pytest.approx(u, rel=4 / math.sqrt(2 * M) + 1e-3)


# --- what is shared, what is not known ---------------------------------------------------------------


def test_what_two_numbers_share_leaves_their_difference_alone():
    """10 and 7 with one error of u = 1 in both and own ones of 0.1: √2 · 0.1, not √2 · 1 (by hand)."""
    shared, first, second = normals(3, 5)
    difference = (shared + first * 0.1 + 10) - (shared + second * 0.1 + 7)
    assert difference.value == pytest.approx(3.0)
    assert difference.u == pytest.approx(math.sqrt(2) * 0.1, rel=4 / math.sqrt(2 * M))


def test_a_gain_in_both_parts_of_a_share_cancels():
    gain = Uncertain(1.0, np.random.default_rng(6).uniform(0.9, 1.1, N_TRIALS))
    share = (gain * 3).share_pct(gain * 60).quantity()
    assert (share.value, share.low95, share.high95) == pytest.approx((5, 5, 5), rel=1e-12)


def test_plain_numbers_take_part_on_either_side():
    two = Uncertain(2.0, np.array([1.0, 2.0, 3.0]))
    for found, value, trials in (
        (two + 1, 3, [2, 3, 4]),
        (1 + two, 3, [2, 3, 4]),
        (5 - two, 3, [4, 3, 2]),
        (two - 5, -3, [-4, -3, -2]),
        (3 * two, 6, [3, 6, 9]),
        (two / 2, 1, [0.5, 1, 1.5]),
        (-two, -2, [-1, -2, -3]),
        (sum([two, two]), 4, [2, 4, 6]),
    ):
        assert found.value == value
        assert found.trials.tolist() == trials


def test_the_sources_of_a_result_are_those_of_all_its_parts():
    rng = np.random.default_rng(7)
    zero, mass = rectangular(-1, 1, rng, source="current zero"), rectangular(90, 110, rng, source="mass")
    for found in (zero + mass, zero - mass, zero * mass, zero / mass, zero.share_pct(mass)):
        assert found.sources == {"current zero", "mass"}
    assert uncertain(3.0).sources == frozenset()


@pytest.mark.parametrize(
    "result",
    [
        lambda x: x + 1,
        lambda x: 1 - x,
        lambda x: x * 0,
        lambda x: x / 2,
        lambda x: exact(1) / x,
        lambda x: x.share_pct(exact(2)),
        lambda x: exact(2).share_pct(x),
        lambda x: x.at_least(0),
        lambda x: total([exact(1), x]),
    ],
    ids=["sum", "from a number", "product", "quotient", "divisor", "part", "whole", "least", "total"],
)
def test_what_is_not_known_makes_every_result_unknown(result):
    assert not result(UNKNOWN).known
    assert result(UNKNOWN).quantity() is None


def test_a_share_of_nothing_and_a_quotient_by_nothing_are_not_known():
    assert exact(1).share_pct(exact(0)).quantity() is None
    assert exact(1).share_pct(exact(-1)).quantity() is None
    assert (exact(1) / 0).quantity() is None


def test_a_share_of_what_may_be_nothing_is_unknown():
    """Of 1 ± 1 (normal) 16 % of the trials are no whole: the share has no upper bound. Of 3 ± 1 it is 0.1 %."""
    normal = np.random.default_rng(5).standard_normal(4000)
    assert exact(1).share_pct(Uncertain(1.0, 1 + normal)).quantity() is None
    assert exact(1).share_pct(Uncertain(3.0, 3 + normal)).quantity().high95 < 200


def test_a_sum_may_go_on_without_a_part_that_is_not_known():
    assert (exact(2) + UNKNOWN.or_else(0.0)).quantity() == Quantity(2.0, 2.0, 2.0)
    assert exact(5).or_else(0.0).value == 5


def test_a_number_whose_trials_are_not_known_has_a_value_without_bounds():
    assert unevaluated(4.0).quantity() == Quantity(4.0)
    assert (unevaluated(4.0) + exact(1)).quantity() == Quantity(5.0)
    assert unevaluated(None).quantity() is None
    assert unevaluated(math.nan).quantity() is None


def test_bounds_keep_to_what_is_possible_and_reach_to_the_best_value():
    """Trials from 5 to 7 around a best value of 4, which cannot lie below 3 or above 6."""
    number = evenly_between(5, 7, np.random.default_rng(8))
    found = Uncertain(4.0, number.trials).quantity(least=3.0, most=6.0)
    assert (found.low95, found.high95) == (4.0, 6.0)


def test_evenly_spread_trials_have_the_bounds_of_their_rectangle():
    """2.5 % of 100 inside, to half a trial of 4000 (0.0125); their spread is 100/√12, chance aside."""
    number = evenly_between(0.0, 100.0, np.random.default_rng(9))
    found = number.quantity()
    assert (found.low95, found.high95) == pytest.approx((2.5, 97.5), abs=0.026)
    assert number.u == pytest.approx(100 / math.sqrt(12), rel=2e-4)


def test_trials_of_different_lengths_do_not_belong_together():
    with pytest.raises(ValueError, match="broadcast"):
        Uncertain(0.0, np.zeros(10)) + Uncertain(0.0, np.zeros(20))


def test_a_hull_holds_both_ends_and_has_no_bounds_without_theirs():
    assert hull(2.0, [Quantity(1, 0, 2), Quantity(3, 2, 5)]) == Quantity(2.0, 0, 5)
    assert hull(2.0, [Quantity(1), Quantity(3, 2, 5)]) == Quantity(2.0)
    assert type(hull(np.float64(2.0), [Quantity(1, 0, 2)]).value) is float


def test_an_unknown_number_where_one_is_needed_is_a_fault():
    with pytest.raises(ValueError, match="not known"):
        known_quantity(UNKNOWN)


def test_a_part_is_no_more_than_its_whole():
    """A part of 0 to 2 in a whole of 1: trials up to 1 are possible, evenly from 0 to 100 %, and 50 % is their middle.

    2.5 % are left out at either end, to the scatter of some 2000 trials (0.5 points).
    """
    part = evenly_between(0.0, 2.0, np.random.default_rng(10))
    found = share_of_whole_pct(Uncertain(1.3, part.trials), exact(1.0))
    assert (found.value, found.low95, found.high95) == pytest.approx((50.0, 2.5, 97.5), abs=0.5)


def test_a_share_of_a_whole_that_may_be_nothing_stays_below_100_percent():
    whole = evenly_between(-1.0, 1.0, np.random.default_rng(11)).at_least(0.0)
    found = share_of_whole_pct(Uncertain(0.1, whole.trials / 2), Uncertain(0.2, whole.trials))
    assert (found.value, found.low95, found.high95) == pytest.approx((50.0, 0.0, 50.0))
    assert share_of_whole_pct(exact(1.0), exact(4.0)) == Quantity(25.0, 25.0, 25.0)
    assert share_of_whole_pct(exact(1.0), exact(0.0)) is None
    assert share_of_whole_pct(UNKNOWN, exact(1.0)) is None


def test_a_part_that_exceeds_its_whole_in_nearly_all_trials_has_no_share():
    whole = evenly_between(0.0, 1.0, np.random.default_rng(12))
    assert share_of_whole_pct(Uncertain(0.1, whole.trials + 0.01), Uncertain(0.2, whole.trials)) is None


def test_the_spread_of_what_was_not_evaluated_is_not_known():
    assert exact(3.0).u == 0.0
    assert math.isnan(unevaluated(3.0).u)
    assert math.isnan(UNKNOWN.u)


def test_a_divisor_that_is_0_in_a_trial_leaves_that_trial_unknown_and_warns_nobody():
    """What is formed from it on has a best value and no bounds: 6 / 3 − 6 / 3, in trials 6 / 0 − 6 / 0."""
    six = Uncertain(6.0, np.array([6.0, 6.0]))
    quotient = six / Uncertain(3.0, np.array([3.0, 0.0]))
    assert np.isnan(quotient.trials[1])
    assert (quotient - quotient).quantity() == Quantity(0.0)
    assert (quotient * exact(0.0)).quantity() == Quantity(0.0)


@pytest.mark.parametrize(("m", "k", "n"), [(1, 13, 4000), (7, 6, 20_000), (3, 1, 50), (6, 4000, 7), (0, 5, 9)])
def test_rows_of_trials_are_combined_in_products_that_one_thread_does(monkeypatch, m, k, n):
    multiplied, shapes = np.matmul, []

    def seen(a, b, **kept):
        shapes.append((len(a), len(b), b.shape[1]))
        return multiplied(a, b, **kept)

    monkeypatch.setattr(np, "matmul", seen)
    rng = np.random.default_rng(5)
    factors, trials = rng.standard_normal((m, k)), rng.standard_normal((k, n))
    # sums of up to 4000 products of the order of 1, rounded otherwise
    assert combined(factors, trials) == pytest.approx(np.einsum("mk,kn->mn", factors, trials), abs=1e-11)
    assert all(2 <= rows <= 4 and rows * inner * columns < 2**18 for rows, inner, columns in shapes)
