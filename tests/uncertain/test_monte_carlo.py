"""Propagation of distributions against the worked examples of JCGM 101:2008 and closed forms.

Tolerances of random draws are stated in standard deviations of the figure itself; 4 of them, with fixed seeds.
"""

import itertools
import math

import numpy as np
import pytest
from scipy import integrate, optimize, stats

from ridelog.uncertain.gum import Contribution, Estimates, combine, propagate, rectangular_u, second_order_variance
from ridelog.uncertain.monte_carlo import (
    BATCH,
    coverage_interval,
    numerical_tolerance,
    propagate_adaptively,
    propagate_draws,
    spread_of,
)

M = 400_000
ROOT3 = math.sqrt(3)


def total(x):
    return x.sum(axis=0)


def bound_sd(p_below, density):
    """Standard deviation of a quantile of M draws: √(p (1 − p) / M) / density (any text on order statistics)."""
    return math.sqrt(p_below * (1 - p_below) / M) / density


# --- JCGM 101, 9.2: the sum of four inputs of u = 1 --------------------------------------------------


def irwin_hall_bound():
    """97.5 % point of the sum of four rectangular inputs of u = 1, from the closed form of Irwin and Hall."""

    def above(x):  # P(sum of four uniforms on 0..1 > 4 − x) for x <= 1 is x⁴/24
        return x**4 / 24

    edge = optimize.brentq(lambda x: above(x) - 0.025, 0, 1)
    return (4 - edge - 2) * 2 * ROOT3  # each of half-width √3


def test_the_law_of_propagation_gives_four_equal_inputs_the_published_interval():
    """JCGM 101, 9.2.2.2: u = 2.0 and ± 3.92, whatever the distributions."""
    combined = combine([Contribution(name, rectangular_u(ROOT3)) for name in "abcd"])
    assert combined.u_c == pytest.approx(2.0)
    assert combined.expanded == pytest.approx(3.92, abs=5e-3)


def test_four_gaussian_inputs_give_the_published_interval():
    """JCGM 101, 9.2.2: ± 3.92. Density of N(0, 2²) at 3.92 is 0.0292."""
    found = propagate_draws(total, np.random.default_rng(1).standard_normal((4, M)))
    off = 4 * bound_sd(0.025, 0.0292)
    assert (found.low, found.high) == pytest.approx((-3.919928, 3.919928), abs=off)
    assert found.u == pytest.approx(2.0, abs=4 * 2 / math.sqrt(2 * M))
    assert found.mean == pytest.approx(0.0, abs=4 * 2 / math.sqrt(M))


def test_four_rectangular_inputs_give_the_published_interval_and_that_of_irwin_and_hall():
    exact = irwin_hall_bound()
    assert exact == pytest.approx(3.87941, abs=5e-6)  # worked out elsewhere
    found = propagate_draws(total, np.random.default_rng(2).uniform(-ROOT3, ROOT3, (4, M)))
    density = 0.88013**3 / 6 / (2 * ROOT3)  # x³/6 where x⁴/24 = 0.025, per unit of width 2√3
    off = 4 * bound_sd(0.025, density)
    assert off < 0.04  # or the next line could not tell 3.88 from 3.92
    assert (found.low, found.high) == pytest.approx((-exact, exact), abs=off)
    assert (found.low, found.high) == pytest.approx((-3.88, 3.88), abs=off + 0.005)  # JCGM 101, 9.2.3


def test_a_dominant_rectangular_input_gives_the_interval_of_its_convolution():
    """JCGM 101, 9.2.4: one input of u = 10 beside three of 1; published ± 17.0 against ± 19.9 (both recalled)."""
    wide = 10 * ROOT3

    def above(bound):  # P(R + W > bound), W the sum of three, its density that of Irwin and Hall of order 3
        def density(w):
            s = w / (2 * ROOT3) + 1.5
            return sum((-1) ** k * math.comb(3, k) * max(s - k, 0) ** 2 for k in range(4)) / 2 / (2 * ROOT3)

        def term(w):
            return density(w) * min(max((wide - bound + w) / (2 * wide), 0), 1)

        return integrate.quad(term, -3 * ROOT3, 3 * ROOT3, points=[-ROOT3, bound - wide, ROOT3])[0]

    exact = optimize.brentq(lambda b: above(b) - 0.025, 14, 20)
    assert exact == pytest.approx(17.0, abs=0.05)
    rng = np.random.default_rng(3)
    found = propagate_draws(total, rng.uniform(-ROOT3, ROOT3, (4, M)) * np.array([[1], [1], [1], [10]]))
    density = (above(exact - 0.01) - above(exact + 0.01)) / 0.02
    assert (found.low, found.high) == pytest.approx((-exact, exact), abs=4 * bound_sd(0.025, density))
    inputs = [Contribution("wide", rectangular_u(wide)), *(Contribution(n, rectangular_u(ROOT3)) for n in "abc")]
    assert combine(inputs).expanded == pytest.approx(19.9, abs=0.05)


# --- JCGM 101, 9.4: comparison loss δY = X1² + X2², u = 0.005 each --------------------------------------------------


def loss(x):
    return x[0] ** 2 + x[1] ** 2


U_LOSS = 0.005


def exact_loss(x1):
    """δY/u² is noncentral χ² with 2 degrees of freedom and noncentrality (x1/u)² (closed form)."""
    return stats.ncx2(2, (x1 / U_LOSS) ** 2, scale=U_LOSS**2) if x1 else stats.chi2(2, scale=U_LOSS**2)


def exact_shortest(x1):
    law = exact_loss(x1)
    best = optimize.minimize_scalar(
        lambda below: law.ppf(below + 0.95) - law.ppf(below),
        bounds=(0, 0.05),
        method="bounded",
        options={"xatol": 1e-9},
    )
    return law.ppf(best.x), law.ppf(best.x + 0.95)


# x1, then as published, in 10⁻⁶: interval by the law of propagation; mean, u and shortest interval by Monte Carlo.
# Seen: all intervals, and mean and u at 0. Recalled: mean and u at 0.010 and 0.050
LOSS_TABLE = [
    (0.0, (0, 0), (50, 50), (0, 150)),
    (0.010, (-96, 296), (150, 112), (0, 366)),
    (0.050, (1520, 3480), (2551, 502), (1590, 3543)),
]


@pytest.mark.parametrize(("x1", "interval", "drawn", "shortest"), LOSS_TABLE)
def test_the_law_of_propagation_gives_the_comparison_loss_its_published_interval(x1, interval, drawn, shortest):
    """JCGM 101, table 6 and 7: infeasible below 0 at 0.010, and no uncertainty at all at 0."""
    found = propagate(loss, Estimates(np.array([x1, 0.0]), np.diag([U_LOSS**2] * 2)))
    u = combine([Contribution("both", float(found.u[0]))]).expanded
    y = float(found.values[0])
    assert (1e6 * (y - u), 1e6 * (y + u)) == pytest.approx(interval, abs=0.5)


@pytest.mark.parametrize(("x1", "interval", "drawn", "shortest"), LOSS_TABLE)
def test_draws_give_the_comparison_loss_its_published_mean_and_shortest_interval(x1, interval, drawn, shortest):
    normal = np.random.default_rng(4).standard_normal((2, M))
    found = propagate_draws(loss, np.array([[x1], [0.0]]) + U_LOSS * normal, shortest=True)
    law = exact_loss(x1)
    fourth = float(law.stats(moments="k")) + 3
    assert found.mean == pytest.approx(law.mean(), abs=4 * law.std() / math.sqrt(M))
    assert found.u == pytest.approx(law.std(), rel=4 * math.sqrt((fourth - 1) / (4 * M)))
    # what it holds by the exact law: 0.95 within 4 √(0.95·0.05/M); as long as the exact shortest within 1 %
    assert law.cdf(found.high) - law.cdf(found.low) == pytest.approx(0.95, abs=4 * math.sqrt(0.95 * 0.05 / M))
    exact = exact_shortest(x1)
    assert found.high - found.low == pytest.approx(exact[1] - exact[0], rel=0.01)
    # the printed table; bounds of a shortest interval wander by some M^(−1/3) ≈ 1 % of u, the table's own by as much
    assert (1e6 * found.mean, 1e6 * found.u) == pytest.approx(drawn, abs=0.5 + 4e6 * law.std() / math.sqrt(M))
    assert (1e6 * found.low, 1e6 * found.high) == pytest.approx(shortest, abs=0.5 + 0.05 * drawn[1])


def test_the_shortest_interval_of_a_loss_at_zero_is_that_of_the_exponential():
    """x1 = 0: δY is exponential of mean 2 u², so the shortest interval is 0 to −2 u² ln 0.05 = 149.79·10⁻⁶."""
    assert exact_shortest(0.0)[1] == pytest.approx(-2 * U_LOSS**2 * math.log(0.05), rel=1e-4)
    draws = U_LOSS * np.random.default_rng(5).standard_normal((2, M))
    found = propagate_draws(loss, draws, shortest=True)
    assert found.high == pytest.approx(149.79e-6, rel=0.02)  # 4 √(0.95·0.05/M)/(0.05/2u²), as part of it
    symmetric = propagate_draws(loss, draws)
    # −2 u² ln 0.975 and −2 u² ln 0.025; within 4 √(p(1−p)/M)/density of the exponential there
    assert symmetric.low == pytest.approx(1.2659e-6, rel=0.05)
    assert symmetric.high == pytest.approx(184.44e-6, rel=0.015)


@pytest.mark.parametrize("x1", [0.0, 0.010, 0.050])
def test_second_order_terms_give_the_spread_of_the_comparison_loss_that_the_first_order_misses(x1):
    """u² = 4 u²x1² + 4 u⁴ (closed form of the noncentral χ²)."""
    first = float(propagate(loss, Estimates(np.array([x1, 0.0]), np.diag([U_LOSS**2] * 2))).covariance[0, 0])
    u = math.sqrt(first + second_order_variance(loss, [x1, 0.0], [U_LOSS] * 2))
    assert u == pytest.approx(exact_loss(x1).std(), rel=1e-9)


# --- coverage intervals ----------------------------------------------------------------------------------------------


def test_a_hundred_draws_in_order_give_the_bounds_counted_by_hand():
    """JCGM 101, 7.7.2: M = 100, q = 95, r = (5 + 1)/2 = 3: from the 3rd to the 98th."""
    draws = np.random.default_rng(6).permutation(np.arange(1.0, 101.0))
    assert coverage_interval(draws) == (3, 98)


def test_the_shortest_interval_is_the_shortest_of_all_that_hold_enough():
    draws = np.random.default_rng(7).exponential(size=200)
    ordered = sorted(draws)
    every = [(b - a, a, b) for a, b in zip(ordered, ordered[190:], strict=False)]  # q = 190 of 200
    assert coverage_interval(draws, shortest=True) == min(every)[1:]


@pytest.mark.parametrize(("m", "p"), [*itertools.product([21, 50, 1000, 4000], [0.5, 0.68, 0.95])])
def test_the_two_tails_hold_alike(m, p):
    draws = np.random.default_rng(8).standard_normal(m)
    low, high = coverage_interval(draws, p=p)
    below, above = (draws < low).sum(), (draws > high).sum()
    assert abs(below - above) <= 1
    assert m - below - above - 1 == pytest.approx(p * m, abs=0.5)  # q steps from bound to bound


def test_the_spread_of_draws_counts_one_less_than_their_number():
    """0 to 20: mean 10, variance 21·22/12 = 38.5 (closed form)."""
    found = spread_of(np.arange(21.0))
    assert (found.mean, found.u**2) == pytest.approx((10, 38.5))


def test_draws_that_cannot_give_an_interval_are_refused():
    with pytest.raises(ValueError, match="too few"):
        coverage_interval(np.arange(5.0))
    with pytest.raises(ValueError, match="1 of 100 draws are not finite"):
        coverage_interval(np.r_[np.arange(99.0), np.nan])
    with pytest.raises(ValueError, match="between 0 and 1"):
        coverage_interval(np.arange(100.0), p=95)
    with pytest.raises(ValueError, match="one dimension"):
        spread_of(np.ones((2, 100)))


def test_draws_that_all_agree_have_an_interval_without_width():
    assert coverage_interval(np.full(100, 7.0)) == (7, 7)
    assert coverage_interval(np.full(100, 7.0), shortest=True) == (7, 7)


# --- adaptive --------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("u", "n_digits", "tolerance"),
    [
        (0.00035, 2, 0.000005),  # JCGM 101, 7.9.2, example 1 (recalled): 35·10⁻⁵ g
        (0.00035, 1, 0.00005),  # example 2 (recalled): 4·10⁻⁴ g
        (2.0, 1, 0.5),  # example 3 (recalled): 2 K
        (2.0, 2, 0.05),  # 20·10⁻¹
        (0.0996, 2, 0.005),  # rounds to 10·10⁻², by hand
        (123.0, 2, 5.0),  # 12·10¹
    ],
)
def test_the_tolerance_is_half_a_unit_of_the_last_digit(u, n_digits, tolerance):
    assert numerical_tolerance(u, n_digits) == pytest.approx(tolerance)


@pytest.mark.parametrize("u", [0.0, -1.0, math.nan, math.inf])
def test_no_tolerance_is_made_up_without_an_uncertainty(u):
    with pytest.raises(ValueError, match="tolerance"):
        numerical_tolerance(u)


def rectangles(rng, n):
    return rng.uniform(-ROOT3, ROOT3, (4, n))


@pytest.mark.parametrize("seed", range(5))
def test_adaptive_draws_stop_once_the_bounds_stand_to_the_tolerance(seed):
    found = propagate_adaptively(total, rectangles, seed=seed)
    assert found.converged
    assert found.tolerance == pytest.approx(0.05)  # u = 2.0, two digits
    # the standard stops at two standard deviations within the tolerance: four of them are twice it
    exact = irwin_hall_bound()
    assert (found.spread.low, found.spread.high) == pytest.approx((-exact, exact), abs=2 * 0.05)
    assert found.spread.u == pytest.approx(2.0, abs=0.05)


def test_more_digits_take_more_draws_and_one_seed_gives_one_answer():
    """A bound's deviation is √(0.025·0.975)/0.0328/√M = 4.8/√M (density as above); 2 of them below 0.05: 4 batches."""
    few = propagate_adaptively(total, rectangles, n_digits=1, seed=9)
    assert few.n_draws == 10 * BATCH
    assert propagate_adaptively(total, rectangles, n_digits=1, seed=9) == few
    given_up = propagate_adaptively(total, rectangles, n_digits=4, max_draws=150_000, seed=9)
    assert given_up.n_draws == 150_000
    assert not given_up.converged
    assert given_up.tolerance == pytest.approx(0.0005)


def test_adaptive_draws_stop_at_two_standard_deviations_of_the_bounds():
    """One normal input, u = 1.00, so 0.005. A bound's deviation is √(0.025·0.975)/0.0584/√M = 2.67/√M: M = 1.14·10⁶.

    The deviation is itself estimated from some 100 batches (7 %), and the first time that both bounds look good enough
    ends it: between 0.6 and 1.3 of that.
    """
    found = propagate_adaptively(total, lambda rng, n: rng.standard_normal((1, n)), n_digits=3, seed=3)
    assert found.tolerance == pytest.approx(0.005)
    assert 0.6 < found.n_draws / 1.14e6 < 1.3
    assert found.spread.high == pytest.approx(1.959964, abs=2 * 0.005)


def test_a_result_without_uncertainty_settles_at_once():
    found = propagate_adaptively(lambda x: 0 * x[0] + 3.0, rectangles)
    assert found.converged
    assert (found.spread.low, found.spread.high, found.spread.u) == (3, 3, 0)


def test_a_model_that_breaks_down_in_some_draws_is_not_averaged_over():
    with pytest.raises(ValueError, match="not finite"):
        propagate_draws(lambda x: np.where(x[0] > 0, x[0], np.nan), np.random.default_rng(1).standard_normal((1, 1000)))
