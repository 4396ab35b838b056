"""Available and captured: covered by their intervals, in worlds as assumed and in others, and nothing impossible.

A slice of short rides in every test run, 300 rides in `make proof`. Truths are sums over the simulation's steps.
"""

import functools
from dataclasses import replace

import numpy as np
import pytest
from scipy.stats import binom

from ridelog.answer.braking import Braking
from ridelog.uncertain.quantity import Quantity
from tests.proof.captured_study import WORLDS, measure_captured, told_ride
from tests.proof.study import Plan, Result, run_study
from tests.proof.table import median_width, named
from tests.proof.walk import impossible, quantities

N_RIDES = 75  # in each world
LEAST_COVERAGE = 0.93
# Of what the owner does not know there is more in the simulated weather than is assumed of any: gusts of half the wind,
# winds that turn, and a third of the way in the shelter of others; and hills are few in a ride.
LEAST_IN_WEATHER = 0.90
LEAST = {"steady": LEAST_COVERAGE, "bare": LEAST_COVERAGE, "weather": LEAST_IN_WEATHER, "mass": LEAST_IN_WEATHER}
NUMBERS = [f"{part} {name}" for part in ("ride", "hill", "event") for name in ("available", "captured")]


def covered(rows) -> float:
    """Share of the intervals that hold the truth."""
    return float(np.mean([row.covered for row in rows]))


@pytest.fixture(scope="module")
def study() -> Result:
    """75 rides in each world."""
    result = Result()
    for number, world in enumerate(WORLDS):
        seeds = range(30_000 + 1000 * number, 30_000 + 1000 * number + N_RIDES)
        result.add(run_study(seeds, Plan(), task=functools.partial(measure_captured, world=world)))
    return result


@pytest.mark.proof
@pytest.mark.parametrize("world", WORLDS)
@pytest.mark.parametrize("name", NUMBERS)
def test_available_and_captured_are_covered(study, world, name):
    rows = named(study.rows, f"{world} {name}")
    assert len(rows) >= N_RIDES - 5
    least = float(binom.ppf(0.01, N_RIDES, LEAST[world])) / N_RIDES  # what a ride decides, it decides for all its parts
    assert covered(rows) >= least


@pytest.mark.proof
@pytest.mark.parametrize(("name", "most"), [("ride", 0.32), ("hill", 0.65), ("event", 0.65)])
def test_the_intervals_say_something(study, name, most):
    """Median width over the truth where mass, CdA and Crr are known to some per cent; before, 0.32, 0.77 and 0.71.

    What is left of an event's is mostly the error of the height over some metres, and no ride tells that.
    """
    rows = named(study.rows, f"steady {name} available")
    assert np.median([row.width / row.truth for row in rows]) <= most


@pytest.mark.proof
@pytest.mark.parametrize("world", WORLDS)
def test_nothing_impossible_in_three_hundred_rides(world):
    first = 31_000 + 1000 * WORLDS.index(world)
    found = [line for seed in range(first, first + N_RIDES) for line in impossible(told_ride(seed, world).answer)]
    assert found == []


SLICE = range(40_000, 40_030)


@pytest.fixture(scope="module")
def slice_answers():
    """Thirty short rides, in all worlds in turn."""
    return [told_ride(seed, WORLDS[seed % len(WORLDS)], short=True) for seed in SLICE]


def test_nothing_impossible_in_the_slice(slice_answers):
    assert [line for told in slice_answers for line in impossible(told.answer)] == []


def test_the_slice_is_covered():
    """All events together: a coverage of 93 % breaks the bound once in a thousand times, were rides all that counts."""
    rows = []
    for seed in SLICE[::3]:
        rows += measure_captured(seed, Plan(short_rides=True), world=WORLDS[seed % len(WORLDS)]).rows
    events = [row for row in rows if row.name.endswith("event available")]
    assert len(events) >= 30
    n = len(events) // 3
    assert covered(events) >= float(binom.ppf(1e-3, n, LEAST_COVERAGE)) / n
    assert median_width(events) > 0


def test_the_walk_finds_what_is_impossible(slice_answers):
    """Planted: a value outside its interval, a single bound, a share beyond 100 %, parts beyond their whole, a NaN."""
    answer = next(told.answer for told in slice_answers if told.answer.braking.kinds)
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
