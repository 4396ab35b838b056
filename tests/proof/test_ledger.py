"""The ledger study: does each line's interval hold the truth of rides whose bike file and logs are off within limits?

500 rides in `make proof`; a slice of short ones in every test run. Truths are sums over the simulation's steps.
"""

import numpy as np
import pytest
from scipy.stats import binom

from tests.proof.ledger_study import EVENT_LINES, LINES, measure_ledger
from tests.proof.study import Plan, Result, run_study
from tests.proof.table import named

LEAST_COVERAGE = 0.93
# What is decided once a ride (mass, Crr, drag, gains, efficiency) is one error in all its hills and events, so that
# thousands of these are no more than 500 tries of it; and the noise of two single speeds at a hill's ends is all that
# the speed gained on it is unsure by.
LEAST_OF_PARTS = 0.90
RIDE_LINES = [f"ride {line}" for line in LINES]
PART_LINES = [f"hill {line}" for line in LINES] + [f"event {line}" for line in EVENT_LINES]


def covered(rows) -> float:
    """Share of the intervals that hold the truth."""
    return float(np.mean([row.covered for row in rows]))


@pytest.fixture(scope="module")
def study() -> Result:
    """500 rides, each with one logger, one track and one bike file by chance."""
    return run_study(range(500), Plan(), task=measure_ledger)


@pytest.mark.proof
@pytest.mark.parametrize("name", RIDE_LINES)
def test_each_line_of_the_rides_is_covered_at_least_93_times_in_100(study, name):
    rows = named(study.rows, name)
    assert len(rows) >= 150
    assert covered(rows) >= LEAST_COVERAGE


@pytest.mark.proof
@pytest.mark.parametrize("name", PART_LINES)
def test_each_line_of_hills_and_events_is_covered_at_least_90_times_in_100(study, name):
    rows = named(study.rows, name)
    assert len(rows) >= 500
    assert covered(rows) >= LEAST_OF_PARTS


@pytest.mark.proof
@pytest.mark.parametrize("name", ["ride missed_wh", "ride friction_wh", "ride unexplained_wh", "ride to_wheel_wh"])
def test_the_intervals_say_something(study, name):
    """Narrower than 25 % of what was drawn on the median ride: what is told of the road lets it be no better."""
    drawn = {row.ride: row.truth for row in named(study.rows, "ride drawn_wh")}
    widths = [row.width / 2 / drawn[row.ride] for row in named(study.rows, name)]
    assert np.median(widths) < 0.25


@pytest.fixture(scope="module")
def slice_study() -> Result:
    """Nine short rides by fixed seeds."""
    return run_study(range(20_000, 20_009), Plan(short_rides=True), workers=1, task=measure_ledger)


def test_the_slice_is_covered(slice_study):
    """All lines of rides together; a coverage of 93 % breaks the bound once in a thousand times, if independent.

    Lines of one ride share their errors; the bound is that of a third of their number.
    """
    rows = [row for row in slice_study.rows if row.name.startswith("ride ")]
    assert len(rows) >= 9 * 13
    n = len(rows) // 3
    assert covered(rows) >= float(binom.ppf(1e-3, n, LEAST_COVERAGE)) / n


def test_what_events_missed_is_covered_in_the_slice(slice_study):
    rows = named(slice_study.rows, "event missed_wh")
    assert len(rows) >= 34
    assert covered(rows) >= 0.9
