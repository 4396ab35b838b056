"""A recording: what is refused, and what it knows of itself."""

from datetime import UTC, datetime

import numpy as np
import pandas as pd
import pytest

from ridelog.errors import InputError
from ridelog.recording import ClockJoin, Recording, checked


def frame(n=200, **channels):
    return pd.DataFrame(channels, index=pd.Index(np.arange(float(n)), name="time_s"))


def recording(data):
    return Recording("a.csv", "0" * 64, "csv", data, datetime(2026, 5, 1, 8, tzinfo=UTC), "utc")


@pytest.mark.parametrize(
    ("data", "what"),
    [
        (frame(0), "no sample"),
        (frame(current_a=np.full(200, np.nan)), "no value"),
        (pd.DataFrame({"current_a": [1.0, 2.0]}, index=[1.0, 1.0]), "do not increase"),
    ],
)
def test_a_recording_without_usable_samples_is_refused(data, what):
    with pytest.raises(InputError, match=what):
        checked(recording(data))


def test_a_recording_knows_its_role_step_and_end():
    both = checked(recording(frame(current_a=np.ones(200), altitude_m=np.ones(200))))
    assert (both.role, both.step_s, both.duration_s) == ("both", 1.0, 199.0)
    assert both.end == datetime(2026, 5, 1, 8, 3, 19, tzinfo=UTC)
    assert checked(recording(frame(speed_mps=np.ones(200)))).role == "track"


def test_a_clock_that_runs_fast_is_brought_back():
    """By hand: 1000 ppm fast, 1001 s on its own clock are 1000 s on the reference; first sample at 5 s."""
    join = ClockJoin("b.gpx", 5.0, 2.0, 1000.0, "speed", 0.9, 900.0, True)
    assert join.to_reference_s(np.array([0.0, 1001.0])) == pytest.approx([5.0, 1005.0])
