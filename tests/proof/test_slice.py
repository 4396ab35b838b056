"""A small slice of the coverage study that every test run can afford; the same bench, fixed seeds, short rides.

Counts are held against the binomial distribution: a bound is what intervals of the promised coverage (93 to 97 %,
`tests/proof/test_coverage.py`) would break once in a thousand times.
"""

import numpy as np
import pandas as pd
import pytest

from sample_rides.loggers import with_dropouts
from tests.proof.bench import QUANTITIES, random_case
from tests.proof.study import Plan, Result, run_study
from tests.proof.table import median_width, named, oracle_ratio

SLICE = Plan(n_loggers=6, n_tracks=1, n_oracle=1, with_sharp=True, short_rides=True)
SEEDS = range(10_000, 10_012)
FALSE_ALARM = 1e-3


@pytest.fixture(scope="module")
def study() -> Result:
    """12 short rides, each with six loggers by chance, the sharp logger and one track."""
    return run_study(SEEDS, SLICE, workers=1)


def least_covered(n: int, coverage: float) -> int:
    """The count that n intervals of this coverage stay below once in a thousand times."""
    from scipy.stats import binom

    return int(binom.ppf(FALSE_ALARM, n, coverage))


def test_the_bound_on_a_count_is_the_binomial_one():
    """Of ten fair coins at least one shows heads but once in 1024 times, and at least two but 11 times in 1024."""
    assert least_covered(10, 0.5) == 1  # P(0) = 1/1024 < 0.001 <= P(0) + P(1) = 11/1024, by hand


def test_a_logger_by_chance_is_the_same_for_the_same_seed():
    """The study's fixed seeds fix its loggers."""
    first, second = (random_case(np.random.default_rng([7, 2, 0])) for _ in range(2))
    assert first == second


def test_dropouts_lose_the_share_asked_for_and_keep_both_ends():
    """Of 10,000 samples at least 5 % are lost, no more than one burst beyond it, and the span stays the same."""
    log = pd.DataFrame({"time_s": 0.2 * np.arange(10_000)})
    left = with_dropouts(log, 0.05, np.random.default_rng(1))
    longest = round(np.diff(left["time_s"]).max() / 0.2)
    assert 500 <= len(log) - len(left) <= 500 + longest
    assert longest >= 10  # bursts, not single samples: their mean is 2 s
    assert left["time_s"].iloc[[0, -1]].tolist() == log["time_s"].iloc[[0, -1]].tolist()


@pytest.mark.parametrize("name", QUANTITIES)
def test_the_slice_is_covered(study, name):
    """Each total's intervals hold the truth about as often as they say."""
    rows = named(study.rows, name)
    assert len(rows) == 72
    assert sum(row.covered for row in rows) >= least_covered(len(rows), 0.93)


def test_what_braking_events_returned_is_covered_in_the_slice(study):
    """Each braking event's interval holds the truth at least 90 times in 100."""
    rows = named(study.rows, "event returned, own span")
    assert len(rows) >= 48
    assert sum(row.covered for row in rows) >= least_covered(len(rows), 0.90)


def test_the_slice_is_sharp(study):
    """Intervals are not right merely by being wide: half a point at 5 Hz, and 1.4 times the oracle's width."""
    rows = named(study.rows, "sharp recovered_ah_pct")
    assert len(rows) == 12
    assert median_width(rows) <= 0.5
    assert oracle_ratio(rows) <= 1.4


def test_no_clock_of_the_slice_is_wrong(study):
    """Every track joined is within 2 s of the truth, all along."""
    trusted = [join for join in study.joins if join.trusted]
    assert len(trusted) >= 11
    assert max(join.worst_error_s for join in trusted) < 2.0
