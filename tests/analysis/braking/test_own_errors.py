"""What may be wrong with single runs: by as few of them at a time as memory allows."""

import tracemalloc

import numpy as np
import pytest

from ridelog.analysis.braking.own_errors import ERRORS, own_parts, own_together, own_u_wh
from ridelog.analysis.road.load_uncertainty import road_trials
from ridelog.settings.bike import Bike
from tests.analysis.braking.test_available import BASELINE
from tests.analysis.braking.test_height_trials import heights, ridden

RUNS = [(k, k + 30) for k in range(0, 1900, 4)]  # 475, whose trials all together take 24 MB
MOTION, NOISE = ridden(), heights(slow_m=1.0, fast_m=0.1)


@pytest.fixture(scope="module")
def road():
    return road_trials(BASELINE, Bike(), speed_source=None)


def bytes_beyond(work):
    """The most bytes that are taken at a time by what has been asked for once before."""
    work()
    tracemalloc.start()
    try:
        work()
        return tracemalloc.get_traced_memory()[1]
    finally:
        tracemalloc.stop()


def test_how_unsure_many_runs_are_takes_no_more_memory_than_of_few(road):
    """Of all at once it took 48 kB a run and more: of 1600 braking events beyond 100 MB."""
    assert bytes_beyond(lambda: own_u_wh(MOTION, NOISE, RUNS, road)) < 8e6
    assert bytes_beyond(lambda: own_together(MOTION, NOISE, RUNS, road, ERRORS)) < 8e6


def test_few_at_a_time_are_the_same_to_the_last_bit(road):
    parts = own_parts(MOTION, NOISE, RUNS, road, ERRORS)
    spread_wh = sum(parts[1:], parts[0]).std(axis=1, dtype=float) / 3600
    np.testing.assert_array_equal(own_u_wh(MOTION, NOISE, RUNS, road), spread_wh)
    for together, each in zip(own_together(MOTION, NOISE, RUNS, road, ERRORS), parts, strict=True):
        np.testing.assert_array_equal(together, each.sum(axis=0))


def test_errors_that_do_not_act_add_nothing(road):
    for part in (*own_parts(MOTION, NOISE, RUNS[:3], road, ()), *own_together(MOTION, NOISE, RUNS, road, ())):
        assert not part.any()
