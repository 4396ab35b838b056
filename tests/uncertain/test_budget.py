"""The uncertainty budget against hand-worked sums and published contributions."""

import math

import numpy as np
import pytest

from ridelog.uncertain.budget import TOGETHER, budget_from_contributions, budget_from_draws
from ridelog.uncertain.gum import Contribution
from ridelog.uncertain.quantity import Quantity

M = 20_000


def test_the_end_gauge_gets_its_budget_from_the_largest_share_down():
    """JCGM 100, table H.1: contributions 25, 9.7, 2.9 and 16.6 nm; u_c² = 1002 nm² so 25²/1002 = 62.4 % (by hand)."""
    budget = budget_from_contributions(
        "length",
        "nm",
        50_000_838.0,
        [
            Contribution("difference", 9.7, 1.0, 25.6),
            Contribution("standard", 25.0, 1.0, 18.0, "a better calibration"),
            Contribution("expansion", 2.9, 1.0, 50.0),
            Contribution("temperature", 16.6, -1.0, 2.0),
        ],
    )
    assert [row.name for row in budget.rows] == ["standard", "temperature", "difference", "expansion"]
    assert [row.u for row in budget.rows] == [25, 16.6, 9.7, 2.9]
    assert [row.share_pct for row in budget.rows] == pytest.approx([62.3, 27.5, 9.4, 0.8], abs=0.1)
    assert budget.u_c == pytest.approx(31.7, abs=0.05)
    assert budget.high95 - budget.value == pytest.approx(2.12 * 31.66, abs=0.2)  # t_95 of 16 degrees of freedom
    assert budget.value - budget.low95 == pytest.approx(budget.high95 - budget.value)
    assert budget.largest == budget.rows[0]
    assert budget.largest.advice == "a better calibration"


def test_the_example_budget_of_returned_charge_is_reproduced():
    """Worked out elsewhere: gain 1 % of 0.6 Ah, zero 0.05 A over 4 min, 40 events sampled 0.5 s off at 9 A: 1.74 %."""
    budget = budget_from_contributions(
        "returned",
        "Ah",
        0.6,
        [
            Contribution("gain", 0.01, 0.6),
            Contribution("zero", 0.05, 4 / 60),
            Contribution("sampling", 0.5 * math.sqrt(40), 9 / 3600),
        ],
    )
    assert [row.name for row in budget.rows] == ["sampling", "gain", "zero"]
    assert [row.u for row in budget.rows] == pytest.approx([0.0079, 0.0060, 0.0033], abs=5e-5)
    assert budget.u_c == pytest.approx(0.01047, abs=1e-5)
    assert 100 * budget.u_c / 0.6 == pytest.approx(1.74, abs=0.005)


def test_curvature_is_a_row_that_is_never_the_one_to_shrink():
    """3² + 4² = 25, of which the 16 come from curvature: 64 %."""
    budget = budget_from_contributions("x", "m", 0.0, [Contribution("a", 3.0)], second_order_variance=16.0)
    assert [(row.name, row.u) for row in budget.rows] == [(TOGETHER, 4), ("a", 3)]
    assert [row.share_pct for row in budget.rows] == pytest.approx([64, 36])
    assert budget.largest.name == "a"


def test_correlation_can_give_a_row_a_negative_share():
    """4 − 3 = 1 under full anticorrelation; shares 16 − 12 and 9 − 12 of 1 (by hand)."""
    budget = budget_from_contributions(
        "x", "m", 0.0, [Contribution("a", 3.0), Contribution("b", 4.0)], correlation=[[1, -1], [-1, 1]]
    )
    assert [(row.name, row.share_pct) for row in budget.rows] == [("b", pytest.approx(400)), ("a", pytest.approx(-300))]
    assert budget.u_c == pytest.approx(1)


def test_no_uncertainty_has_no_shares():
    budget = budget_from_contributions("x", "m", 2.0, [Contribution("a", 0.0)])
    assert budget.rows[0].share_pct is None
    assert budget.largest is None
    assert (budget.low95, budget.high95) == (2, 2)


# --- from draws ------------------------------------------------------------------------------------------------------


def normal_draws():
    return np.random.default_rng(1).standard_normal((2, M))


def test_draws_with_one_error_at_a_time_give_its_u_and_share():
    """3² : 4² = 36 : 64, within 4 √(2/M) of a variance each."""
    a, b = normal_draws()
    answer = Quantity(10.0, 0.2, 19.8)
    parts = {"zero": 10 + 3 * a, "sampling": 10 + 4 * b}
    budget = budget_from_draws(
        "recovered", "%", answer, parts, together=10 + 3 * a + 4 * b, advice={"sampling": "log faster"}
    )
    assert [(row.name, row.advice) for row in budget.rows] == [("sampling", "log faster"), ("zero", "")]
    assert [row.u for row in budget.rows] == pytest.approx([4, 3], rel=4 / math.sqrt(2 * M))
    assert [row.share_pct for row in budget.rows] == pytest.approx([64, 36], abs=4 * 64 * 36 / 100 * 2 / math.sqrt(M))
    assert sum(row.share_pct for row in budget.rows) == pytest.approx(100)
    assert budget.u_c == pytest.approx(5, rel=4 / math.sqrt(2 * M))
    assert (budget.value, budget.low95, budget.high95) == (10, 0.2, 19.8)


def test_errors_that_only_matter_together_get_a_row_of_their_own():
    """x·y about 0: each alone does nothing, together the variance is that of a product of two normals, 1."""
    a, b = normal_draws()
    budget = budget_from_draws("x", "m", Quantity(0.0, -2.0, 2.0), {"a": 0 * a, "b": 0 * b}, together=a * b)
    assert (budget.rows[0].name, budget.rows[0].share_pct) == (TOGETHER, pytest.approx(100))
    # the variance of x²y² is E x⁴ E y⁴ − 1 = 8
    assert budget.rows[0].u == pytest.approx(1, rel=4 * math.sqrt(8 / M) / 2)
    assert budget.largest.name == "a"


def test_errors_that_hold_each_other_back_take_from_the_whole():
    """3 a and −2.5 a: alone 9 and 6.25, together 0.25; −15 of 0.25 is −6000 %."""
    a, _ = normal_draws()
    budget = budget_from_draws("x", "m", Quantity(0.0, -1.0, 1.0), {"a": 3 * a, "b": -2.5 * a}, together=0.5 * a)
    assert [row.name for row in budget.rows] == ["a", "b", TOGETHER]
    assert [row.share_pct for row in budget.rows] == pytest.approx([3600, 2500, -6000])
    assert budget.rows[-1].u is None


def test_independent_draws_of_some_thousands_show_no_false_interplay():
    """Separate draws for every part, as few as 4000: chance alone must not invent a row; 200 budgets."""
    rng = np.random.default_rng(2)
    invented = 0
    for _ in range(200):
        parts = {name: size * rng.standard_normal(4000) for name, size in (("a", 1.0), ("b", 2.0), ("c", 0.5))}
        together = math.sqrt(1 + 4 + 0.25) * rng.standard_normal(4000)
        budget = budget_from_draws("x", "m", Quantity(0.0, -1.0, 1.0), parts, together=together)
        invented += any(row.name == TOGETHER for row in budget.rows)
    assert invented == 0  # 4 standard deviations: 1 in 16,000


def test_draws_that_cannot_be_budgeted_are_refused_by_name():
    good = np.arange(10.0)
    with pytest.raises(ValueError, match="clock: draws"):
        budget_from_draws("x", "m", Quantity(0.0, -1.0, 1.0), {"clock": np.full(10, np.nan)}, together=good)
    with pytest.raises(ValueError, match="bounds"):
        budget_from_draws("x", "m", Quantity(0.0), {"clock": good}, together=good)


def test_draws_without_any_spread_have_no_shares():
    budget = budget_from_draws("x", "m", Quantity(1.0, 1.0, 1.0), {"zero": np.ones(10)}, together=np.ones(10))
    assert budget.rows[0].share_pct is None
    assert budget.largest is None
