"""The law of propagation of uncertainty against the worked example of JCGM 100:2008 and two independent calculators.

Published values are given to the digits printed, so a tolerance of half (or, where the standard rounds its inputs
first, one) unit in the last digit is what they can prove; values worked out elsewhere carry more digits.
"""

import math

import GTC
import pytest
import uncertainties
from scipy import stats

from ridelog.uncertain.gum import Contribution, combine, coverage_factor, rectangular_u

# H.1: an end gauge compared with a standard [nm]. JCGM 100, H.1 and table H.1: name, u of the input, sensitivity,
# degrees of freedom; the temperature and the expansion themselves count only in second order
END_GAUGE = [
    ("standard", 75 / 3, 1.0, 18.0),
    ("five readings", 13 / math.sqrt(5), 1.0, 24.0),
    ("comparator, random", 10 / coverage_factor(5), 1.0, 5.0),
    ("comparator, systematic", 20 / 3, 1.0, 8.0),
    ("difference of expansion", rectangular_u(1e-6), 50_000_623 * 0.1, 50.0),
    ("difference of temperature", rectangular_u(0.05), -50_000_623 * 11.5e-6, 2.0),
]


def end_gauge():
    return [Contribution(*row) for row in END_GAUGE]


def test_the_end_gauge_has_the_published_contributions():
    """JCGM 100, table H.1, in nm."""
    sizes = [abs(item.signed_u) for item in end_gauge()]
    assert sizes == pytest.approx([25, 5.8, 3.9, 6.7, 2.9, 16.6], abs=0.05)


def test_the_end_gauge_has_the_published_combined_uncertainty():
    combined = combine(end_gauge())
    assert combined.u_c == pytest.approx(32, abs=0.5)  # JCGM 100, H.1.4
    # worked out elsewhere from the contributions as printed, to one decimal: each rounded by up to 0.05 of some 20 nm
    assert combined.u_c == pytest.approx(31.664, abs=0.02)


def test_the_end_gauge_has_the_published_degrees_of_freedom_and_coverage_factors():
    """JCGM 100, H.1.6: 16.7 (from contributions rounded to one decimal), truncated to 16; t_95 and t_99."""
    combined = combine(end_gauge())
    assert combined.dof == pytest.approx(16.7, abs=0.1)
    assert combined.factor == pytest.approx(2.12, abs=0.005)
    assert combined.factor == pytest.approx(2.11991, abs=5e-6)  # Student's t, worked out elsewhere
    at_99 = combine(end_gauge(), p=0.99)
    assert at_99.factor == pytest.approx(2.92, abs=0.005)
    assert at_99.expanded == pytest.approx(93, abs=1)  # recalled, not seen: U_99 = 93 nm


def test_gtc_agrees_on_the_end_gauge():
    theirs = sum(GTC.ureal(0, item.u, item.dof) * item.sensitivity for item in end_gauge())
    ours = combine(end_gauge())
    assert ours.u_c == pytest.approx(GTC.uncertainty(theirs), rel=1e-12)
    assert ours.dof == pytest.approx(GTC.dof(theirs), rel=1e-9)


def test_uncertainties_agrees_on_the_end_gauge():
    theirs = sum(uncertainties.ufloat(0, item.u) * item.sensitivity for item in end_gauge())
    assert combine(end_gauge()).u_c == pytest.approx(theirs.std_dev, rel=1e-12)


def test_a_rectangle_has_the_uncertainty_of_its_closed_form():
    """JCGM 100, 4.3.7: half-width over √3, the spread of an even distribution."""
    assert rectangular_u(0.05) == pytest.approx(stats.uniform(-0.05, 0.1).std())


@pytest.mark.parametrize("width", [-0.1, math.nan, math.inf])
def test_an_absurd_width_is_refused(width):
    with pytest.raises(ValueError, match="half_width"):
        rectangular_u(width)


def test_three_four_make_five():
    combined = combine([Contribution("a", 3.0), Contribution("b", 2.0, sensitivity=-2.0)])
    assert (combined.u_c, combined.dof) == (5.0, math.inf)
    assert combined.expanded == pytest.approx(5 * 1.959964, abs=1e-5)


def test_what_has_no_uncertainty_gives_none():
    assert combine([Contribution("a", 0.0, dof=3)]).expanded == 0


def test_coverage_factors_are_those_of_students_table():
    for dof in (1, 2, 4, 10, 50):
        for p in (0.6827, 0.95, 0.99):
            assert coverage_factor(dof, p=p) == pytest.approx(stats.t.ppf((1 + p) / 2, dof), rel=1e-9)
    assert coverage_factor() == pytest.approx(stats.norm.ppf(0.975), rel=1e-12)
    assert coverage_factor(16.99) == coverage_factor(16)
    assert coverage_factor(4 - 1e-12) == coverage_factor(4)
    assert coverage_factor(0.4) == coverage_factor(1)


@pytest.mark.parametrize("p", [0.0, 1.0, -0.1, 95])
def test_an_absurd_probability_is_refused(p):
    with pytest.raises(ValueError, match="coverage probability"):
        coverage_factor(10, p=p)


def test_nothing_to_combine_and_impossible_contributions_are_refused():
    with pytest.raises(ValueError, match="no contribution"):
        combine([])
    for impossible in ((-1.0, 1.0, 5.0), (math.nan, 1.0, 5.0), (1.0, math.inf, 5.0), (1.0, 1.0, 0.0)):
        with pytest.raises(ValueError, match="clock"):
            Contribution("clock", *impossible)
