"""A log whose current begins late or ends early is measured where it is known."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import numpy as np
import pandas as pd
import pytest

import ridelog
from ridelog.findings import Finding
from ridelog.recording import Recording
from ridelog.timeline.current_span import while_current_is_known

START = datetime(2026, 5, 4, 9, 12, tzinfo=UTC)


def recording(current_a, **others):
    time_s = np.arange(len(current_a), dtype=float)
    frame = pd.DataFrame({"current_a": current_a, **others}, index=pd.Index(time_s, name="time_s"), dtype=float)
    found = (Finding("rows-repeated", "note", {"file": "a.csv", "n_repeated": 1}, 200.0, 210.0),)
    return Recording("a.csv", "0" * 64, "csv", frame, START, "utc", pauses_s=((150.0, 170.0),), findings=found)


def known_between(first, last, n=400):
    at = np.arange(n)
    return np.where((at >= first) & (at <= last), 5.0, np.nan)


@pytest.mark.parametrize(("first", "last"), [(0, 250), (100, 399), (90, 330)])
def test_what_lies_before_and_after_the_current_is_cut_off(first, last):
    cut, findings = while_current_is_known(recording(known_between(first, last), speed_mps=np.full(400, 5.0)))
    assert len(cut.frame) == last - first + 1
    assert cut.time_s[0] == 0.0
    assert cut.start == START + timedelta(seconds=first)
    assert cut.pauses_s == ((150.0 - first, 170.0 - first),)
    assert (cut.findings[0].start_s, cut.findings[0].end_s) == (200.0 - first, 210.0 - first)
    assert [finding.code for finding in findings] == ["current-ends"]
    assert (findings[0].facts["from_s"], findings[0].facts["to_s"]) == (float(first), float(last))


def test_a_few_seconds_at_the_ends_and_gaps_between_are_left():
    whole = recording(known_between(10, 380))
    assert while_current_is_known(whole) == (whole, [])
    current = known_between(0, 399)
    current[100:300] = np.nan
    holed = recording(current)
    assert while_current_is_known(holed) == (holed, [])


def test_a_recording_without_current_stays_as_it_is():
    track = recording(np.full(400, np.nan), speed_mps=np.full(400, 5.0))
    assert while_current_is_known(track) == (track, [])


def test_half_a_ride_has_half_its_way():
    """5 m/s and 5 A at 48 V for 200 s of 400 s: 1 km and 13.3 Wh."""
    half = recording(known_between(0, 200), speed_mps=np.full(400, 5.0), voltage_v=np.full(400, 48.0))
    answer = ridelog.measure(ridelog.load_ride([replace(half, pauses_s=())]))
    assert answer.ride.distance_m.value == pytest.approx(1000, rel=0.01)
    assert answer.energy.drawn_wh.value == pytest.approx(240 * 200 / 3600, rel=0.01)
    assert "current-ends" in {finding.code for finding in answer.findings}
