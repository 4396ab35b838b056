"""Available and captured: covered by their intervals, in worlds as assumed and in others, and nothing impossible.

A slice of short rides in every test run, 1000 rides in `make proof`. Truths are sums over the simulation's steps.
"""

import functools
from dataclasses import replace

import numpy as np
import pytest
from scipy.stats import binom

from ridelog.answer.braking import Braking
from ridelog.uncertain.quantity import Quantity
from tests.proof.captured_study import IMPOSSIBLE, WORLDS, captured_rows, measure_captured, told_ride
from tests.proof.captured_table import NUMBERS, TABLE, covered, needed_share, table
from tests.proof.study import Plan, Result, run_study
from tests.proof.table import median_width, named
from tests.proof.walk import impossible, quantities

N_RIDES = 200  # in each world
LEAST_COVERAGE, MOST_COVERAGE = 0.93, 0.97
# Worlds whose air is calmer, or whose heights err less, than has to be allowed for are covered more often than needed.
AS_ASSUMED = ("weather", "mass")
LEAST_NEEDED = 0.70


@pytest.fixture(scope="module")
def study() -> Result:
    """200 rides in each world; writes the table."""
    result = Result()
    for number, world in enumerate(WORLDS):
        seeds = range(70_000 + 1000 * number, 70_000 + 1000 * number + N_RIDES)
        result.add(run_study(seeds, Plan(), task=functools.partial(measure_captured, world=world)))
    TABLE.write_text(table(result), encoding="utf-8")
    return result


@pytest.mark.proof
@pytest.mark.parametrize("world", WORLDS)
@pytest.mark.parametrize("name", NUMBERS)
def test_available_and_captured_are_covered(study, world, name):
    """93 times in 100, less the chance of 200 rides; what a ride decides, it decides for all of its parts."""
    rows = named(study.rows, f"{world} {name}")
    assert len(rows) >= N_RIDES - 5
    assert covered(rows) >= float(binom.ppf(0.01, N_RIDES, LEAST_COVERAGE)) / N_RIDES


@pytest.mark.proof
@pytest.mark.parametrize("world", AS_ASSUMED)
@pytest.mark.parametrize("name", NUMBERS)
def test_no_more_than_97_times_in_100_where_the_world_is_as_assumed(study, world, name):
    """And the chance of 200 rides."""
    most = float(binom.ppf(0.99, N_RIDES, MOST_COVERAGE)) / N_RIDES
    assert covered(named(study.rows, f"{world} {name}")) <= most


@pytest.mark.proof
@pytest.mark.parametrize("world", WORLDS)
@pytest.mark.parametrize("name", NUMBERS)
def test_the_intervals_are_hardly_wider_than_needed(study, world, name):
    """Seven tenths of the widths would not have covered 95 times in 100, however calm the world."""
    assert needed_share(named(study.rows, f"{world} {name}")) >= LEAST_NEEDED


@pytest.mark.proof
@pytest.mark.parametrize(("name", "most"), [("ride", 0.30), ("hill", 0.58), ("event", 0.58)])
def test_the_intervals_say_something(study, name, most):
    """Median width over the truth where mass, CdA and Crr are known to some per cent: 0.27, 0.53 and 0.54.

    What is left of an event's is mostly the error of the height over some metres, and no ride tells that.
    """
    rows = named(study.rows, f"steady {name} available")
    assert np.median([row.width / row.truth for row in rows]) <= most


@pytest.mark.proof
def test_nothing_impossible_in_a_thousand_rides(study):
    assert [row for row in study.rows if row.name.startswith(IMPOSSIBLE)] == []


SLICE = range(40_000, 40_015)


@pytest.fixture(scope="module")
def slice_answers():
    """Fifteen short rides, in all worlds in turn."""
    return {seed: told_ride(seed, world_of(seed), short=True) for seed in SLICE}


def world_of(seed):
    return WORLDS[seed % len(WORLDS)]


def test_nothing_impossible_in_the_slice(slice_answers):
    assert [line for told in slice_answers.values() for line in impossible(told.answer)] == []


def test_the_slice_is_covered(slice_answers):
    """All events together: a coverage of 93 % breaks the bound once in a thousand times, were rides all that counts."""
    rows = []
    for seed, told in slice_answers.items():
        rows += captured_rows(seed, world_of(seed), told).rows
    events = [row for row in rows if row.name.endswith("event available")]
    assert len(events) >= 30
    n = len(events) // 3
    assert covered(events) >= float(binom.ppf(1e-3, n, LEAST_COVERAGE)) / n
    assert median_width(events) > 0


def test_the_walk_finds_what_is_impossible(slice_answers):
    """Planted: a value outside its interval, a single bound, a share beyond 100 %, parts beyond their whole, a NaN."""
    answer = next(told.answer for told in slice_answers.values() if told.answer.braking.kinds)
    whole: Braking = answer.braking
    for planted, word in (
        (replace(whole, available_wh=Quantity(16.4, 0.0, 4.09)), "outside its interval"),
        (replace(whole, available_wh=Quantity(16.4, None, 17.0)), "one bound only"),
        (replace(whole, captured_pct=Quantity(90.0, 80.0, 231.0)), "outside 0 to 100"),
        (replace(whole, available_wh=Quantity(0.001, 0.0, 0.002)), "exceed"),
        (replace(whole, available_wh=Quantity(float("nan"))), "no value"),
    ):
        assert any(word in line for line in impossible(replace(answer, braking=planted)))
    assert len(list(quantities(answer.to_dict()))) > 50
