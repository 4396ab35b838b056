"""Work and memory grow in proportion to each dimension of what is given: counted in calls and bytes, not in seconds."""

import cProfile
import gc
import pstats
import tracemalloc
from weakref import ref

import pytest

from ridelog.errors import RidelogError
from ridelog.importers.registry import read_logs
from tests.fuzz import checks
from tests.fuzz.growth import DIMENSIONS, exponent, taken

# What is read, from ten to a hundred times as large; the dimensions of a ride are looked at from one to ten, and those
# that are not here by `python -m tests.fuzz.growth` alone.
READ = ("cells that are no numbers", "keys of a bike file")
READ_FOR_LONG = (
    "header lines",
    "laps of a FIT file",
    "definitions of a FIT file",
    "columns of cells",
    "columns of nothing known",
    "columns of a map",
)
RIDDEN = ("braking events", "gaps")
MOST = 1.25  # what is sorted grows a little faster than in proportion


def calls(case) -> float:
    """Calls of functions, those of libraries written in C among them."""
    profile = cProfile.Profile()
    profile.runcall(taken, case)
    return float(pstats.Stats(profile).total_calls)


def most_bytes(case) -> float:
    tracemalloc.start()
    try:
        taken(case)
        return float(tracemalloc.get_traced_memory()[1])
    finally:
        tracemalloc.stop()


@pytest.mark.parametrize("name", [*READ, *(pytest.param(name, marks=pytest.mark.proof) for name in READ_FOR_LONG)])
def test_ten_times_as_much_to_read_takes_no_more_than_ten_times_the_work_and_memory(name):
    """A step that looks at each pair would take a hundred times."""
    checks.warm()
    small, large = (DIMENSIONS[name](times) for times in (10, 100))
    taken(small)  # what is loaded when it is first used is no growth
    assert exponent([calls(small), calls(large)], 1000) < MOST
    assert exponent([most_bytes(small), most_bytes(large)], 5e6) < MOST


@pytest.mark.proof
@pytest.mark.parametrize("name", RIDDEN)
def test_ten_times_as_long_a_ride_takes_no_more_than_ten_times_the_work(name):
    checks.warm()
    assert exponent([calls(DIMENSIONS[name](times)) for times in (1, 10)], 1000) < MOST


def test_the_bench_measures_with_nothing_held_of_what_it_read_before(monkeypatch):
    """A second recording, 0.1 GB of a log of 35 days, would be taken for memory of the program."""
    held = []

    def read(*given, **named):
        logs = read_logs(*given, **named)
        held.extend(ref(log.recording) for log in logs)
        return logs

    def load(*_, **__):
        gc.collect()
        assert held
        assert not any(each() for each in held)
        raise RidelogError("far enough")

    monkeypatch.setattr("tests.fuzz.checks.read_logs", read)
    monkeypatch.setattr("ridelog.load_ride", load)
    assert taken(DIMENSIONS["gaps"](1)) == "far enough"


def test_the_bench_sees_a_step_that_looks_at_each_pair(monkeypatch):
    """Planted in work and in memory, beside what a log takes anyway."""

    def pairs(case) -> str:
        n = case.n_bytes // 10
        grid = bytearray(n * n // 4)
        for _ in range(n * n // 500):
            len(grid)
        return ""

    monkeypatch.setattr("tests.fuzz.test_growth.taken", pairs)
    small, large = DIMENSIONS["rows"](1), DIMENSIONS["rows"](10)
    assert exponent([calls(small), calls(large)], 1000) > 1.9
    assert exponent([most_bytes(small), most_bytes(large)], 5e5) > 1.5
