"""The pack's numbers and findings over many rides by chance; expected values are the simulation's own truth."""

import numpy as np
import pytest

from tests.proof.pack_study import measure_pack, measure_tripping, quick
from tests.proof.study import Plan, Result, run_study
from tests.proof.table import named

pytestmark = pytest.mark.proof


@pytest.fixture(scope="module")
def healthy() -> Result:
    """80 rides, each with six loggers by chance, on packs whose limits were kept."""
    return run_study(range(20_000, 20_080), Plan(n_loggers=6), task=measure_pack)


@pytest.fixture(scope="module")
def tripping() -> Result:
    """40 rides on nearly full packs that open their charge path, each with three loggers."""
    return run_study(range(21_000, 21_040), Plan(n_loggers=3), task=measure_tripping)


def _covered(result: Result, name: str) -> float:
    rows = [row for row in named(result.rows, name) if row.value is not None]
    assert len(rows) >= 300
    return float(np.mean([row.covered for row in rows]))


def test_the_resistance_is_covered_93_to_97_times_in_100(healthy):
    assert 0.93 <= _covered(healthy, "resistance") <= 0.97


def test_the_resistance_is_within_5_per_cent(healthy):
    """With every logger of the study, those at 5 Hz among them; at most one in twenty gives none."""
    rows = named(healthy.rows, "resistance")
    known = [row for row in rows if row.value is not None]
    assert len(known) >= 0.95 * len(rows)
    assert max(abs(row.value / row.truth - 1) for row in known) < 0.05


def test_the_headroom_is_covered_at_least_90_times_in_100(healthy):
    assert _covered(healthy, "headroom") >= 0.90


@pytest.mark.parametrize("name", ["highest cell", "highest charge current"])
def test_peaks_are_covered_at_least_90_times_in_100_where_the_log_can_show_them(healthy, name):
    """Means over a step, and samples a second apart, lose pulses that are shorter: it is the log's own peak."""
    rows = quick(named(healthy.rows, name))
    assert len(rows) >= 200
    assert np.mean([row.covered for row in rows]) >= 0.90


def test_a_pack_within_its_limits_raises_no_alarm(healthy):
    """Fewer than 1 in 200 of the rides have a finding on the pack beyond a note."""
    assert healthy.n_events >= 400
    assert healthy.n_events_found < healthy.n_events / 200


def test_a_charge_path_that_opened_is_found(tripping):
    """At least 8 in 10 of the rides in which it did while the rider braked on for 6 s."""
    assert tripping.n_hills >= 20
    assert tripping.n_hills_found >= 0.8 * tripping.n_hills


def test_no_other_moment_is_taken_for_a_charge_path_that_opened(tripping):
    assert tripping.n_events_found < tripping.n_events / 50
