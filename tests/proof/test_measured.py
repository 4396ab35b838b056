"""Measured trips through imperfect loggers: do the intervals hold the truth there too?

Trips whose licence keeps them out of this repository are read where they lie beside it; elsewhere only the slice of
simulated and reference waveforms runs.
"""

import numpy as np
import pytest

from tests.places import others_recording
from tests.proof.bench import QUANTITIES
from tests.proof.measured import (
    Said,
    regular_loggers,
    split_lines,
    stamped_loggers,
    tell_trip,
)
from tests.proof.measured_table import TABLE, coverage_pct, kinds, of_kind, table

DEVELOPED = ("A01", "A07", "B02", "B13")  # the models of what samples and means hide were looked at on these
HELD_OUT = ("A15", "A22", "B20", "B30")  # and not on these, but for how what means hide is shared among steps
GROUPS = {"Trips that the models were made with": DEVELOPED, "Trips that they were not": HELD_OUT}
N_EACH = 5


def test_straight_lines_are_split_where_they_cross_zero():
    """3 A falling to −1 A within 4 h crosses zero after 3 h: 4.5 Ah out and 0.5 in, by hand."""
    assert split_lines(np.array([0.0, 4 * 3600.0]), np.array([3.0, -1.0])) == pytest.approx((4.5, 0.5), rel=1e-12)


def test_a_short_trip_through_every_logger_is_covered():
    """Trip B13, six minutes, at both scales, each logger with and without faults: 408 numbers of one waveform."""
    path = others_recording("real/car-10hz-TripB13.csv.gz")
    rows = tell_trip(path, [*regular_loggers(), *stamped_loggers()], n_each=1, seed=3)
    assert len(rows) == 408
    assert all(one.low is not None and one.low <= one.value <= one.high for one in rows)
    assert coverage_pct(rows) >= 90


@pytest.fixture(scope="module")
def said() -> dict[str, list[Said]]:
    """All numbers of the trips through all loggers, by the group of the trip; writes the table."""
    loggers = [*regular_loggers(), *stamped_loggers()]
    result: dict[str, list[Said]] = {}
    for words, trips in GROUPS.items():
        paths = [others_recording(f"real/car-10hz-Trip{name}.csv.gz") for name in trips]
        result[words] = [one for path in paths for one in tell_trip(path, loggers, n_each=N_EACH)]
    TABLE.write_text(table({words: (GROUPS[words], rows) for words, rows in result.items()}), encoding="utf-8")
    return result


@pytest.mark.proof
def test_every_logger_of_every_measured_trip_gets_all_numbers(said):
    """None of the totals is without an interval, and the value lies within it."""
    for rows in said.values():
        assert len(rows) >= 800 * len(QUANTITIES)
        assert all(one.low is not None and one.low <= one.value <= one.high for one in rows)


@pytest.mark.proof
@pytest.mark.parametrize("name", QUANTITIES)
@pytest.mark.parametrize("words", GROUPS)
def test_measured_trips_are_covered_93_times_in_100(said, words, name):
    """The interval of each total holds the truth, of all loggers together."""
    assert coverage_pct(of_kind(said[words], None, name)) >= 93


@pytest.mark.proof
def test_no_logger_is_covered_less_than_90_times_in_100(said):
    """Over all eight trips and both scales: 160 logs of each kind."""
    rows = [one for group in said.values() for one in group]
    shares = {f"{kind}, {name}": coverage_pct(of_kind(rows, kind, name)) for kind in kinds(rows) for name in QUANTITIES}
    assert not {what: share for what, share in shares.items() if share < 90}
