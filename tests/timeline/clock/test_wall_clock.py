"""What wall clocks say of the lag between two recordings."""

from datetime import UTC, datetime, timedelta

import numpy as np
import pytest

from ridelog.timeline.clock.wall_clock import clock_offset_s, wall_lags_s
from tests.timeline.simulated import START, recording


def test_wall_clocks_of_unknown_zone_allow_every_quarter_of_an_hour() -> None:
    one = np.arange(3.0)
    reference = recording("c.csv", one, clock="local", current_a=one)
    lags_s = wall_lags_s(
        reference, recording("t.gpx", one, start=datetime(2026, 5, 1, 6, 0, 5, tzinfo=UTC), speed_mps=one)
    )
    assert len(lags_s) == 113  # -14 h to +14 h
    assert 5.0 in lags_s.tolist()
    assert 905.0 in lags_s.tolist()


def test_the_offset_is_read_at_the_references_first_sample() -> None:
    """The other began 100 s later on both clocks but its clock runs 1 % fast: at the reference's first sample it would
    have shown 101 s less than at its own first, which is 1 s behind."""
    one = np.arange(3.0)
    reference = recording("c.csv", one, current_a=one)
    other = recording("t.gpx", one, start=START + timedelta(seconds=100), speed_mps=one)
    assert clock_offset_s(reference, other, 100.0, 1e4) == pytest.approx(-1.0)
