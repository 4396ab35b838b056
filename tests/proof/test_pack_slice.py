"""A small slice of the study of packs that every test run can afford; fixed seeds, short rides.

A count is held against what intervals of the promised coverage would break once in a thousand times.
"""

import pytest

from tests.proof.pack_study import measure_pack, measure_tripping, quick
from tests.proof.study import Plan, Result, run_study
from tests.proof.table import named
from tests.proof.test_slice import least_covered


@pytest.fixture(scope="module")
def healthy() -> Result:
    """6 short rides with four loggers each, on packs whose limits were kept."""
    return run_study(range(22_000, 22_006), Plan(n_loggers=4, short_rides=True), workers=1, task=measure_pack)


def test_the_resistance_is_covered_as_often_as_promised(healthy):
    """95 times in 100; and each within 5 % of the truth."""
    rows = named(healthy.rows, "resistance")
    assert len(rows) == 24
    assert sum(row.covered for row in rows) >= least_covered(24, 0.93)
    assert max(abs(row.value / row.truth - 1) for row in rows) < 0.05


@pytest.mark.parametrize("name", ["highest cell", "highest charge current", "headroom"])
def test_the_other_numbers_are_covered_nine_times_in_ten(healthy, name):
    rows = named(healthy.rows, name) if name == "headroom" else quick(named(healthy.rows, name))
    assert len(rows) >= 9
    assert sum(row.covered for row in rows) >= least_covered(len(rows), 0.90)


def test_packs_within_their_limits_raise_no_alarm(healthy):
    assert healthy.n_events == 24
    assert healthy.n_events_found == 0


def test_a_charge_path_that_opened_is_found_and_nothing_else_taken_for_one():
    found = run_study((21_000, 21_002, 21_003), Plan(n_loggers=2), workers=1, task=measure_tripping)
    assert found.n_hills >= 2
    assert found.n_hills_found >= 0.75 * found.n_hills
    assert found.n_events_found == 0
