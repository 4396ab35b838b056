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
from tests.proof.measured_table import TABLE, table

DEVELOPED = ("A01", "A07", "B02", "B13")  # the models of what samples and means hide were looked at on these
N_EACH = 6


def test_straight_lines_are_split_where_they_cross_zero():
    """3 A falling to −1 A within 4 h crosses zero after 3 h: 4.5 Ah out and 0.5 in, by hand."""
    assert split_lines(np.array([0.0, 4 * 3600.0]), np.array([3.0, -1.0])) == pytest.approx((4.5, 0.5), rel=1e-12)


@pytest.fixture(scope="module")
def said() -> list[Said]:
    """All numbers of the trips through all loggers; writes the table."""
    loggers = [*regular_loggers(), *stamped_loggers()]
    paths = [others_recording(f"real/car-10hz-Trip{name}.csv.gz") for name in DEVELOPED]
    result = [one for path in paths for one in tell_trip(path, loggers, n_each=N_EACH)]
    TABLE.write_text(table(result, DEVELOPED), encoding="utf-8")
    return result


@pytest.mark.proof
def test_every_logger_of_every_measured_trip_gets_all_numbers(said):
    """None of the totals is without an interval, and the value lies within it."""
    assert len(said) >= 1000 * len(QUANTITIES)
    assert all(one.low is not None and one.low <= one.value <= one.high for one in said)
