"""A column at a glance: evenly spaced rows, as they are written."""

import io
import math

import pytest

from ridelog.importers.preview import N_ROWS, preview
from ridelog.importers.registry import read_logs
from tests.places import SAMPLES


def test_what_is_no_number_is_not_shown_as_one():
    shown = preview([1.0, math.nan, math.inf, 2.5], ["1", "x", "1", "a text that is longer than the place for it"])
    assert shown.values == (1.0, None, None, 2.5)
    assert shown.known == (1.0, 2.5)
    assert shown.cells == ("1", "x", "a text that is longer t…")


@pytest.mark.parametrize(
    ("values", "rises"),
    [(range(20), True), ([*range(19), 18], False), ([*range(18), math.nan, 20], False), (range(4), False)],
)
def test_times_rise(values, rises):
    assert preview(map(float, values)).rises is rises


def test_a_column_that_nothing_is_known_of_is_seen_too():
    rows = "\n".join(f"{t};{t % 7},5;{50 + t % 3}" for t in range(1000))
    (log,) = read_logs(io.BytesIO(f"time [s];Q7;battery voltage [V]\n{rows}\n".encode()), name="a.csv")
    time, odd, volts = log.seen()
    assert log.report.readings[1].channel is None
    assert len(time.values) == len(odd.values) == len(volts.values) == N_ROWS
    assert time.rises
    assert {value % 1 for value in odd.known} == {0.5}
    assert odd.cells[0] == "0,5"
    assert 950 < time.known[-1] <= 999


def test_the_channels_of_a_track_are_seen_in_the_units_that_it_writes():
    (log,) = read_logs(str(SAMPLES / "commute" / "track.gpx"))
    by_channel = dict(zip([each.channel for each in log.report.readings], log.seen(), strict=True))
    track = log.required().frame["latitude_deg"]
    assert by_channel["latitude_deg"].values[0] == pytest.approx(track.iloc[0], abs=1e-6)
    assert len(by_channel["altitude_m"].values) == N_ROWS
