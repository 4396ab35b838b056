"""The law of propagation of uncertainty against the worked examples of JCGM 100:2008 and two independent calculators.

Published values are given to the digits printed, so a tolerance of half (or, where the standard rounds its inputs
first, one)
unit in the last digit is what they can prove; values worked out elsewhere carry more digits.
"""

import math

import GTC
import numpy as np
import pytest
import uncertainties
from scipy import stats
from uncertainties import umath

from ridelog.uncertain.gum import (
    Contribution,
    Estimates,
    arcsine_u,
    combine,
    coverage_factor,
    expanded_to_u,
    fit_line,
    judged_dof,
    mean_estimate,
    propagate,
    rectangular_u,
    second_order_variance,
    sensitivities,
    simultaneous_means,
    triangular_u,
)

# --- H.1: an end gauge compared with a standard [nm, °C] -------------------------------------------------------------
# inputs as JCGM 100, H.1 states them: name, best value, u, degrees of freedom
END_GAUGE = [
    ("standard", 50_000_623.0, expanded_to_u(75, 3), 18.0),
    ("five readings", 215.0, 13 / math.sqrt(5), 24.0),
    ("comparator, random", 0.0, expanded_to_u(10, coverage_factor(5)), 5.0),
    ("comparator, systematic", 0.0, expanded_to_u(20, 3), judged_dof(0.25)),
    ("difference of expansion", 0.0, rectangular_u(1e-6), judged_dof(0.10)),
    ("mean temperature", -0.1, 0.2, math.inf),
    ("swing of temperature", 0.0, arcsine_u(0.5), math.inf),
    ("expansion", 11.5e-6, rectangular_u(2e-6), math.inf),
    ("difference of temperature", 0.0, rectangular_u(0.05), judged_dof(0.50)),
]
NAMES, VALUES, U, DOF = (list(column) for column in zip(*END_GAUGE, strict=True))


def end_gauge_nm(x):
    standard, readings, random, systematic, d_alpha, mean_t, swing_t, alpha, d_theta = x
    return standard + readings + random + systematic - standard * (d_alpha * (mean_t + swing_t) + alpha * d_theta)


def end_gauge_contributions():
    slopes = sensitivities(end_gauge_nm, VALUES, U)[0]
    return [Contribution(*row) for row in zip(NAMES, U, slopes, DOF, strict=True)]


def test_the_end_gauge_has_the_published_length():
    assert end_gauge_nm(VALUES) == pytest.approx(50_000_838, abs=0.5)  # JCGM 100, H.1.5


def test_the_end_gauge_has_the_published_contributions():
    """JCGM 100, table H.1, in nm; the temperature and the expansion count only in second order."""
    sizes = [abs(item.signed_u) for item in end_gauge_contributions()]
    assert sizes == pytest.approx([25, 5.8, 3.9, 6.7, 2.9, 0, 0, 0, 16.6], abs=0.05)


def test_the_end_gauge_has_the_published_combined_uncertainty():
    combined = combine(end_gauge_contributions())
    assert combined.u_c == pytest.approx(32, abs=0.5)  # JCGM 100, H.1.4
    # worked out elsewhere from the contributions as printed, to one decimal: each rounded by up to 0.05 of some 20 nm
    assert combined.u_c == pytest.approx(31.664, abs=0.02)


def test_the_end_gauge_has_the_published_degrees_of_freedom_and_coverage_factors():
    """JCGM 100, H.1.6: 16.7 (from contributions rounded to one decimal), truncated to 16; t_95 and t_99."""
    contributions = end_gauge_contributions()
    combined = combine(contributions)
    assert combined.dof == pytest.approx(16.7, abs=0.1)
    assert combined.factor == pytest.approx(2.12, abs=0.005)
    assert combined.factor == pytest.approx(2.11991, abs=5e-6)  # Student's t, worked out elsewhere
    at_99 = combine(contributions, p=0.99)
    assert at_99.factor == pytest.approx(2.92, abs=0.005)
    assert at_99.expanded == pytest.approx(93, abs=1)  # recalled, not seen: U_99 = 93 nm


def test_curvature_raises_the_end_gauge_to_the_published_34_nm():
    """JCGM 100, H.1.7: second-order terms of 11.7 nm and 1.7 nm (the two sizes recalled; 34 nm seen)."""
    curved = second_order_variance(end_gauge_nm, VALUES, U)
    assert math.sqrt(curved) == pytest.approx(math.hypot(11.7, 1.7), abs=0.1)
    combined = combine(end_gauge_contributions(), second_order_variance=curved)
    assert combined.u_c == pytest.approx(34, abs=0.5)
    assert combined.dof == combine(end_gauge_contributions()).dof


def test_gtc_agrees_on_the_end_gauge():
    inputs = [GTC.ureal(value, u, dof) for value, u, dof in zip(VALUES, U, DOF, strict=True)]
    theirs, ours = end_gauge_nm(inputs), combine(end_gauge_contributions())
    # central differences of a bilinear model are exact but for the rounding of 5·10⁷ nm
    assert ours.u_c == pytest.approx(GTC.uncertainty(theirs), rel=1e-8)
    assert ours.dof == pytest.approx(GTC.dof(theirs), rel=1e-7)


def test_uncertainties_agrees_on_the_end_gauge():
    theirs = end_gauge_nm([uncertainties.ufloat(value, u) for value, u in zip(VALUES, U, strict=True)])
    assert combine(end_gauge_contributions()).u_c == pytest.approx(theirs.std_dev, rel=1e-8)


# --- H.2: resistance, reactance and impedance observed together ------------------------------------------------------
# observations of JCGM 100, table H.2: V [V], I [A], φ [rad]
OBSERVED = np.array(
    [
        [5.007, 4.994, 5.005, 4.990, 4.999],
        [19.663e-3, 19.639e-3, 19.640e-3, 19.685e-3, 19.678e-3],
        [1.0456, 1.0438, 1.0468, 1.0428, 1.0433],
    ]
)


def impedance_ohm(x):
    volts, amps, phase = x
    return np.stack([volts / amps * np.cos(phase), volts / amps * np.sin(phase), volts / amps])


def test_means_observed_together_have_the_published_spreads_and_correlations():
    means = simultaneous_means(OBSERVED)
    assert means.values == pytest.approx([4.9990, 19.6610e-3, 1.04446], rel=1e-6)  # JCGM 100, table H.2
    assert means.u == pytest.approx([3.2094e-3, 9.471e-6, 7.5206e-4], rel=2e-5)  # worked out elsewhere, five digits
    r = means.correlation
    assert [r[0, 1], r[0, 2], r[1, 2]] == pytest.approx([-0.3553, 0.8576, -0.6451], abs=5e-5)  # worked out elsewhere
    assert means.dof == 4


def test_the_impedance_has_the_published_values_uncertainties_and_correlations():
    found = propagate(impedance_ohm, simultaneous_means(OBSERVED))
    assert found.values == pytest.approx([127.732, 219.847, 254.260], abs=5e-4)  # JCGM 100, table H.3
    assert found.u == pytest.approx([0.071, 0.295, 0.236], abs=1e-3)  # the standard rounds its inputs first
    # worked out elsewhere, to the digits given; steps of one u leave u²/6 = 10⁻⁷ of the derivatives
    assert found.u == pytest.approx([0.071071, 0.295582, 0.236336], abs=1e-6)
    r = found.correlation
    assert [r[0, 1], r[0, 2], r[1, 2]] == pytest.approx([-0.58843, -0.48526, 0.99251], abs=1e-5)


def test_the_impedance_without_correlations_errs_both_ways():
    means = simultaneous_means(OBSERVED)
    blind = propagate(impedance_ohm, Estimates(means.values, np.diag(np.diag(means.covariance))))
    assert blind.u == pytest.approx([0.1945, 0.2009, 0.2041], abs=5e-5)  # worked out elsewhere


def test_the_second_approach_of_the_standard_gives_the_same_impedance():
    """JCGM 100, H.2.4: each result from each moment's observations, then type A; the same to the digits published."""
    found = propagate(impedance_ohm, simultaneous_means(OBSERVED))
    each = simultaneous_means(impedance_ohm(OBSERVED))
    assert each.values == pytest.approx([127.732, 219.847, 254.260], abs=5e-4)  # JCGM 100, table H.4
    # one observation's second-order part of R is X·s(φ)·s(I)/I ≈ 2.2e2 · 1.7e-3 · 1.1e-3 = 4e-4 Ω of s(R) = 0.16 Ω, and
    # there are three such products: up to 0.8 % apart
    assert each.u == pytest.approx(found.u, rel=8e-3)
    assert each.u == pytest.approx([0.071, 0.295, 0.236], abs=1e-3)  # JCGM 100, table H.4
    assert each.correlation == pytest.approx(found.correlation, abs=8e-3)


def test_contributions_with_correlations_give_the_resistance_with_its_four_degrees_of_freedom():
    means = simultaneous_means(OBSERVED)
    slopes = sensitivities(impedance_ohm, means.values, means.u)
    for result, u in zip(slopes, [0.071071, 0.295582, 0.236336], strict=True):  # as above
        parts = [Contribution(n, u, c, means.dof) for n, u, c in zip("VIφ", means.u, result, strict=True)]
        combined = combine(parts, means.correlation)
        assert combined.u_c == pytest.approx(u, abs=1e-6)
        assert combined.dof == pytest.approx(4)
        assert combined.factor == pytest.approx(stats.t.ppf(0.975, 4))
        assert sum(combined.shares_pct) == pytest.approx(100)


def test_gtc_agrees_on_the_impedance_also_with_another_source_beside_it():
    v, i, phi = GTC.type_a.multi_estimate_real(OBSERVED.tolist())
    theirs = [v / i * GTC.cos(phi), v / i * GTC.sin(phi), v / i]
    means = simultaneous_means(OBSERVED)
    ours = propagate(impedance_ohm, means)
    assert ours.u == pytest.approx([GTC.uncertainty(t) for t in theirs], rel=1e-6)
    assert ours.correlation[0, 1] == pytest.approx(GTC.get_correlation(theirs[0], theirs[1]), rel=1e-6)

    slopes = sensitivities(impedance_ohm, means.values, means.u)[0]
    parts = [Contribution(n, u, c, means.dof) for n, u, c in zip("VIφ", means.u, slopes, strict=True)]
    with_other = np.eye(4)
    with_other[:3, :3] = means.correlation
    combined = combine([*parts, Contribution("meter", 0.05, 1.0, 3.0)], with_other)
    beside = theirs[0] + GTC.ureal(0.0, 0.05, 3.0)
    assert combined.u_c == pytest.approx(GTC.uncertainty(beside), rel=1e-6)
    assert combined.dof == pytest.approx(GTC.dof(beside), rel=1e-6)


def test_uncertainties_agrees_on_the_impedance():
    means = simultaneous_means(OBSERVED)
    v, i, phi = uncertainties.correlated_values(means.values, means.covariance)
    theirs = uncertainties.covariance_matrix([v / i * umath.cos(phi), v / i * umath.sin(phi), v / i])
    scale = np.max(np.abs(theirs))  # entries that cancel are compared with the largest
    assert propagate(impedance_ohm, means).covariance == pytest.approx(np.array(theirs), abs=1e-6 * scale)


def test_a_given_jacobian_replaces_the_differences():
    means = simultaneous_means(OBSERVED)
    v, i, phi = means.values
    exact = [
        [math.cos(phi) / i, -v / i**2 * math.cos(phi), -v / i * math.sin(phi)],
        [math.sin(phi) / i, -v / i**2 * math.sin(phi), v / i * math.cos(phi)],
        [1 / i, -v / i**2, 0],
    ]
    found = propagate(impedance_ohm, means, jacobian=exact)
    assert found.u == pytest.approx([0.071071, 0.295582, 0.236336], abs=5e-7)  # worked out elsewhere


# --- H.3: calibration line of a thermometer [°C] ---------------------------------------------------------------------
# JCGM 100, table H.6: readings and corrections
READ_C = [21.521, 22.012, 22.512, 23.003, 23.507, 23.999, 24.513, 25.002, 25.503, 26.010, 26.511]
CORRECTION_C = [-0.171, -0.169, -0.166, -0.159, -0.164, -0.165, -0.156, -0.157, -0.159, -0.161, -0.160]


def test_the_thermometer_line_has_the_published_coefficients():
    line = fit_line(READ_C, CORRECTION_C, x0=20)
    # JCGM 100, H.3.3
    assert (line.intercept.value, line.intercept.u) == pytest.approx((-0.1712, 0.0029), abs=5e-5)
    assert (line.slope.value, line.slope.u) == pytest.approx((0.00218, 0.00067), abs=5e-6)
    assert line.coefficients.correlation[0, 1] == pytest.approx(-0.930, abs=5e-4)
    assert line.coefficients.dof == 9
    # worked out elsewhere, to the digits given
    assert line.coefficients.values == pytest.approx([-0.17120379, 0.00218270], abs=5e-9)
    assert line.coefficients.u == pytest.approx([0.0028776, 0.00066794], abs=5e-8)
    assert line.residual_s == pytest.approx(0.0034976, abs=5e-8)
    assert line.residual_s**2 * 9 == pytest.approx(1.10097e-4, abs=5e-10)  # published sum of squares


def test_the_thermometer_line_gives_the_published_correction_beyond_its_points():
    at_30 = fit_line(READ_C, CORRECTION_C, x0=20).at(30)
    assert (at_30.value, at_30.u) == pytest.approx((-0.1494, 0.0041), abs=5e-5)  # JCGM 100, H.3.4
    assert (at_30.value, at_30.u) == pytest.approx((-0.1493768, 0.0041386), abs=5e-8)  # worked out elsewhere
    assert at_30.dof == 9


def test_the_thermometer_line_does_not_depend_on_where_its_intercept_is():
    """JCGM 100, H.3.5: at the mean reading the coefficients are uncorrelated and the prediction stays."""
    middle = float(np.mean(READ_C))
    line = fit_line(READ_C, CORRECTION_C, x0=middle)
    assert line.coefficients.correlation[0, 1] == pytest.approx(0, abs=1e-12)
    assert line.at(30).u == pytest.approx(0.0041386, abs=5e-8)
    assert line.slope.value == pytest.approx(0.00218270, abs=5e-9)


def test_gtc_scipy_and_uncertainties_agree_on_the_thermometer():
    line = fit_line(READ_C, CORRECTION_C, x0=20)
    off = [reading - 20 for reading in READ_C]
    theirs = GTC.type_a.line_fit(off, CORRECTION_C)
    at_30 = theirs.intercept + theirs.slope * 10
    ours = line.at(30)
    assert (ours.value, ours.u) == pytest.approx((GTC.value(at_30), GTC.uncertainty(at_30)), rel=1e-9)
    assert ours.dof == GTC.dof(at_30)

    regression = stats.linregress(off, CORRECTION_C)
    assert line.slope.u == pytest.approx(regression.stderr, rel=1e-9)
    assert line.intercept.u == pytest.approx(regression.intercept_stderr, rel=1e-9)

    y1, y2 = uncertainties.correlated_values(line.coefficients.values, line.coefficients.covariance)
    assert ours.u == pytest.approx((y1 + y2 * 10).std_dev, rel=1e-9)


@pytest.mark.parametrize(
    ("x", "y"), [([1, 2], [1, 2]), ([1, 1, 1], [1, 2, 3]), ([1, 2, math.nan], [1, 2, 3]), ([1, 2, 3], [1, 2])]
)
def test_a_line_that_cannot_be_fitted_is_refused(x, y):
    with pytest.raises(ValueError, match=r"line|slope"):
        fit_line(x, y)


# --- single inputs ---------------------------------------------------------------------------------------------------


def test_distributions_of_given_width_have_the_uncertainty_of_their_closed_form():
    assert rectangular_u(0.05) == pytest.approx(0.0289, abs=5e-5)  # JCGM 100, H.1.3.6: 0.05 °C gives 0.029
    assert arcsine_u(0.5) == pytest.approx(0.35, abs=5e-3)  # JCGM 100, H.1.3.4
    for ours, theirs in [
        (rectangular_u, GTC.type_b.uniform),
        (triangular_u, GTC.type_b.triangular),
        (arcsine_u, GTC.type_b.arcsine),
    ]:
        assert ours(0.7) == pytest.approx(theirs(0.7), rel=1e-12)
        assert ours(0) == 0


def test_repeated_observations_give_their_mean_with_s_over_root_n():
    """1, 2, 3, 4: mean 2.5, s² = 5/3, u = √(5/12) = 0.645497 (by hand)."""
    found = mean_estimate([1, 2, 3, 4])
    assert (found.value, found.u, found.dof) == pytest.approx((2.5, 0.645497, 3), abs=5e-7)
    theirs = GTC.type_a.estimate([1, 2, 3, 4])
    assert found.u == pytest.approx(GTC.uncertainty(theirs))


def test_a_judgement_that_is_a_quarter_off_has_eight_degrees_of_freedom():
    """JCGM 100, G.4.2, example."""
    assert judged_dof(0.25) == pytest.approx(8)
    assert judged_dof(0) == math.inf


@pytest.mark.parametrize("observations", [[], [3.0], [1.0, math.nan]])
def test_no_spread_is_made_up_from_too_little(observations):
    with pytest.raises(ValueError, match=r"observation"):
        mean_estimate(observations)


@pytest.mark.parametrize("call", [rectangular_u, triangular_u, arcsine_u, judged_dof])
@pytest.mark.parametrize("width", [-0.1, math.nan, math.inf])
def test_an_absurd_width_is_refused(call, width):
    with pytest.raises(ValueError, match="at least 0"):
        call(width)


# --- combining -------------------------------------------------------------------------------------------------------


def test_absurd_factors_and_probabilities_are_refused():
    with pytest.raises(ValueError, match="coverage factor"):
        expanded_to_u(75, 0)
    for p in (0, 1, 95, -0.5):
        with pytest.raises(ValueError, match="between 0 and 1"):
            coverage_factor(10, p=p)


def test_three_four_make_five():
    combined = combine([Contribution("a", 3.0), Contribution("b", 2.0, -2.0)])
    assert combined.u_c == pytest.approx(5)
    assert combined.shares_pct == pytest.approx((36, 64))
    assert combined.dof == math.inf
    assert combined.expanded == pytest.approx(5 * 1.959964, abs=5e-6)  # table of the normal distribution


@pytest.mark.parametrize(("r", "u_c", "shares"), [(1, 7, (300 / 7, 400 / 7)), (-1, 1, (-300, 400)), (0, 5, (36, 64))])
def test_full_correlation_adds_or_takes_away_straight(r, u_c, shares):
    combined = combine([Contribution("a", 3.0), Contribution("b", 4.0)], [[1, r], [r, 1]])
    assert combined.u_c == pytest.approx(u_c)
    assert combined.shares_pct == pytest.approx(shares)


def test_errors_that_cancel_leave_nothing_to_share():
    combined = combine([Contribution("a", 2.0, 1.0, 5.0), Contribution("b", 2.0, -1.0, 5.0)], np.ones((2, 2)))
    assert (combined.u_c, combined.expanded, combined.shares_pct) == (0, 0, None)


def test_coverage_factors_are_those_of_students_table():
    for dof in (1, 2, 8, 16, 30, 1000):
        for p in (0.5, 0.95, 0.99):
            assert coverage_factor(dof, p=p) == pytest.approx(stats.t.ppf((1 + p) / 2, dof), rel=1e-9)
    assert coverage_factor() == pytest.approx(stats.norm.ppf(0.975), rel=1e-12)
    assert coverage_factor(16.99) == coverage_factor(16)
    assert coverage_factor(4 - 1e-12) == coverage_factor(4)
    assert coverage_factor(0.4) == coverage_factor(1)


@pytest.mark.parametrize("seed", range(10))
def test_uncertainties_agrees_on_any_correlated_sum(seed):
    rng = np.random.default_rng(seed)
    mix = rng.standard_normal((5, 5))
    inputs = Estimates(rng.standard_normal(5), mix @ mix.T)
    slopes = rng.standard_normal(5)
    theirs = sum(
        c * x for c, x in zip(slopes, uncertainties.correlated_values(inputs.values, inputs.covariance), strict=True)
    )
    parts = [Contribution(str(k), u, c) for k, (u, c) in enumerate(zip(inputs.u, slopes, strict=True))]
    combined = combine(parts, inputs.correlation)
    # uncertainties takes the matrix apart into eigenvectors: 10⁻¹⁶ of the largest terms, which cancel to a tenth or so
    assert combined.u_c == pytest.approx(theirs.std_dev, rel=1e-9)
    assert sum(combined.shares_pct) == pytest.approx(100)


def test_inputs_linked_only_through_a_third_are_one_term_with_its_smallest_degrees_of_freedom():
    r = [[1, 0.5, 0], [0.5, 1, 0.5], [0, 0.5, 1]]
    parts = [Contribution("a", 1.0, 1.0, 7.0), Contribution("b", 1.0, 1.0, 5.0), Contribution("c", 1.0, 1.0, 9.0)]
    assert combine(parts, r).dof == pytest.approx(5)


@pytest.mark.parametrize(
    "r",
    [
        [[1, 0.5], [0.4, 1]],
        [[1, 1.5], [1.5, 1]],
        [[2, 0], [0, 1]],
        [[1, math.nan], [math.nan, 1]],
        [[1, 0, 0], [0, 1, 0], [0, 0, 1]],
    ],
)
def test_impossible_correlations_are_refused(r):
    with pytest.raises(ValueError, match="correlations"):
        combine([Contribution("a", 1.0), Contribution("b", 1.0)], r)


def test_nothing_to_combine_and_impossible_contributions_are_refused():
    with pytest.raises(ValueError, match="no contribution"):
        combine([])
    for bad in ({"u": -1.0}, {"u": math.nan}, {"u": 1.0, "sensitivity": math.inf}, {"u": 1.0, "dof": 0.0}):
        with pytest.raises(ValueError, match="zero error"):
            Contribution("zero error", **bad)


# --- models ----------------------------------------------------------------------------------------------------------


def test_curvature_alone_gives_the_spread_of_a_square():
    """x² of a normal x about 0: variance 2 u⁴; about x: 4 x² u² + 2 u⁴ (closed form of the normal's fourth moment)."""

    def square(x):
        return x[0] ** 2

    for x in (0.0, 0.3):
        first = (sensitivities(square, [x], [0.1])[0, 0] * 0.1) ** 2
        found = first + second_order_variance(square, [x], [0.1])
        assert found == pytest.approx(4 * x**2 * 0.1**2 + 2 * 0.1**4, rel=1e-9)


def test_a_product_has_the_spread_of_its_closed_form():
    """Variance of x·y of independent x and y: x² u_y² + y² u_x² + u_x² u_y² (exact for any distributions)."""
    x, u = [3.0, 5.0], [0.5, 1.0]

    def product(v):
        return v[0] * v[1]

    parts = [Contribution("", *pair) for pair in zip(u, sensitivities(product, x, u)[0], strict=True)]
    combined = combine(parts, second_order_variance=second_order_variance(product, x, u))
    assert combined.u_c**2 == pytest.approx(9 * 1 + 25 * 0.25 + 0.25, rel=1e-9)


def test_third_derivatives_count_with_their_slope():
    """x + x³/6 about 0 with u = 0.1: slope 1, third derivative 1, so u_c² = u² + u⁴ to this order (by hand).

    Differences over ± u see the slope and the third derivative of a cubic with its own share of u²/6 on the slope.
    """
    found = second_order_variance(lambda x: x[0] + x[0] ** 3 / 6, [0.0], [0.1])
    assert found == pytest.approx(0.1**4 * (1 + 0.1**2 / 6), rel=1e-6)


def test_second_order_terms_that_outweigh_the_rest_send_to_monte_carlo():
    with pytest.raises(ValueError, match="Monte Carlo"):
        combine([Contribution("a", 1.0)], second_order_variance=-2.0)


def test_smaller_steps_find_the_slope_at_the_point_itself():
    """x³ at 2: differences over ± h give 12 + h² (by hand)."""
    for step_u in (1.0, 0.1):
        slope = sensitivities(lambda x: x[0] ** 3, [2.0], [0.5], step_u=step_u)[0, 0]
        assert slope == pytest.approx(12 + (0.5 * step_u) ** 2, rel=1e-9)


def test_a_step_that_rounds_is_divided_by_what_it_became():
    """At 10⁹ numbers are 1.2·10⁻⁷ apart: a step of 10⁻⁷ becomes one of those, and the slope stays 1."""
    assert sensitivities(lambda x: x[0], [1e9], [1e-7])[0, 0] == 1


def test_a_known_input_has_no_slope_to_find():
    slopes = sensitivities(lambda x: x[0] * x[1], [2.0, 3.0], [0.0, 0.1])
    assert slopes == pytest.approx(np.array([[0.0, 2.0]]))
    assert propagate(lambda x: x[0] * x[1], Estimates(np.array([2.0, 3.0]), np.diag([0.0, 0.01]))).u == pytest.approx(
        [0.2]
    )
