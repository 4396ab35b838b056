"""The uncertainty budget against hand-worked sums."""

import math

import numpy as np
import pytest

from ridelog.uncertain.budget import TOGETHER, budget_from_trials
from ridelog.uncertain.quantity import Quantity

M = 20_000


def normal_trials():
    return np.random.default_rng(1).standard_normal((2, M))


def test_trials_with_one_error_at_a_time_give_its_u_and_share():
    """3² : 4² = 36 : 64, within 4 √(2/M) of a variance each."""
    a, b = normal_trials()
    answer = Quantity(10.0, 0.2, 19.8)
    parts = {"zero": 10 + 3 * a, "sampling": 10 + 4 * b}
    budget = budget_from_trials(
        "recovered", "%", answer, parts, together=10 + 3 * a + 4 * b, advice={"sampling": "log-faster"}
    )
    assert [(row.name, row.advice) for row in budget.rows] == [("sampling", "log-faster"), ("zero", "")]
    assert [row.u for row in budget.rows] == pytest.approx([4, 3], rel=4 / math.sqrt(2 * M))
    assert [row.share_pct for row in budget.rows] == pytest.approx([64, 36], abs=4 * 64 * 36 / 100 * 2 / math.sqrt(M))
    assert sum(row.share_pct for row in budget.rows) == pytest.approx(100)
    assert budget.u_c == pytest.approx(5, rel=4 / math.sqrt(2 * M))
    assert (budget.value, budget.low95, budget.high95) == (10, 0.2, 19.8)


def test_errors_that_only_matter_together_get_a_row_of_their_own():
    """x·y about 0: each alone does nothing, together the variance is that of a product of two normals, 1."""
    a, b = normal_trials()
    budget = budget_from_trials("x", "m", Quantity(0.0, -2.0, 2.0), {"a": 0 * a, "b": 0 * b}, together=a * b)
    assert (budget.rows[0].name, budget.rows[0].share_pct) == (TOGETHER, pytest.approx(100))
    # the variance of x²y² is E x⁴ E y⁴ − 1 = 8
    assert budget.rows[0].u == pytest.approx(1, rel=4 * math.sqrt(8 / M) / 2)
    assert budget.largest.name == "a"


def test_errors_that_hold_each_other_back_take_from_the_whole():
    """3 a and −2.5 a: alone 9 and 6.25, together 0.25; −15 of 0.25 is −6000 %."""
    a, _ = normal_trials()
    budget = budget_from_trials("x", "m", Quantity(0.0, -1.0, 1.0), {"a": 3 * a, "b": -2.5 * a}, together=0.5 * a)
    assert [row.name for row in budget.rows] == ["a", "b", TOGETHER]
    assert [row.share_pct for row in budget.rows] == pytest.approx([3600, 2500, -6000])
    assert budget.rows[-1].u is None


def test_independent_trials_of_some_thousands_show_no_false_interplay():
    """Separate trials for every part, as few as 4000: chance alone must not invent a row; 200 budgets."""
    rng = np.random.default_rng(2)
    invented = 0
    for _ in range(200):
        parts = {name: size * rng.standard_normal(4000) for name, size in (("a", 1.0), ("b", 2.0), ("c", 0.5))}
        together = math.sqrt(1 + 4 + 0.25) * rng.standard_normal(4000)
        budget = budget_from_trials("x", "m", Quantity(0.0, -1.0, 1.0), parts, together=together)
        invented += any(row.name == TOGETHER for row in budget.rows)
    assert invented == 0  # 4 standard deviations: 1 in 16,000


def test_trials_that_cannot_be_budgeted_are_refused_by_name():
    good = np.arange(10.0)
    with pytest.raises(ValueError, match="clock: trials"):
        budget_from_trials("x", "m", Quantity(0.0, -1.0, 1.0), {"clock": np.full(10, np.nan)}, together=good)
    with pytest.raises(ValueError, match="bounds"):
        budget_from_trials("x", "m", Quantity(0.0), {"clock": good}, together=good)


def test_trials_without_any_spread_have_no_shares():
    budget = budget_from_trials("x", "m", Quantity(1.0, 1.0, 1.0), {"zero": np.ones(10)}, together=np.ones(10))
    assert budget.rows[0].share_pct is None
    assert budget.largest is None
