"""A current whose own log does not show its sign, beside a track that does."""

from dataclasses import replace

import numpy as np
import pandas as pd
import pytest

from ridelog.findings import Finding
from ridelog.recording import ColumnReading, Recording
from ridelog.timeline.ride import join_recordings
from ridelog.timeline.sign import with_one_sign
from tests.test_signs import CURRENT_A, HEIGHT_M, SPEED_MPS, TIME_S

AMOUNTS = {
    "file": "log.csv",
    "column": "I",
    "quantity": "battery current",
    "positive_share_pct": 60.0,
    "positive_peak": 20.0,
    "negative_peak": 15.0,
    "sure": True,
}
OPEN = Finding("sign-open", "warning", {**AMOUNTS, "contradicting": False})
ASSUMED = Finding("sign-assumed", "note", {**AMOUNTS, "turned": False})


def electrical(way, basis, findings=(), sign=1, **changes):
    reading = ColumnReading("I", "current_a", "battery current", "A", sign=sign, sign_basis=basis)
    frame = pd.DataFrame({"current_a": way * CURRENT_A}, index=pd.Index(TIME_S, name="time_s"))
    log = Recording("log.csv", "1", "csv", frame, None, "elapsed", columns=(reading,), findings=tuple(findings))
    return replace(log, **changes)


def track(*, heights=True):
    """A track of 1 Hz, which began 12.4 s later."""
    at_s = np.arange(0, 1180.0)
    there_s = at_s + 12.4
    columns = {"speed_mps": np.interp(there_s, TIME_S, SPEED_MPS)}
    if heights:
        columns["altitude_m"] = np.round(np.interp(there_s, TIME_S, HEIGHT_M), 1)
    frame = pd.DataFrame(columns, index=pd.Index(at_s, name="time_s"))
    return Recording("track.gpx", "2", "gpx", frame, None, "elapsed")


def codes(ride):
    return [finding.code for finding in ride.findings if finding.code.startswith("sign")]


@pytest.mark.parametrize("heights", [True, False])
@pytest.mark.parametrize(("basis", "finding"), [("nothing", OPEN), ("amounts", ASSUMED)])
@pytest.mark.parametrize("way", [1, -1])
def test_the_motion_of_a_track_shows_the_sign_of_a_log_of_amperes_alone(way, basis, finding, heights):
    ride = join_recordings([electrical(way, basis, [finding]), track(heights=heights)])
    assert ride.joins[1].trusted
    assert ride.joins[1].lag_s == pytest.approx(12.4, abs=1.0)
    assert ride.series["current_a"].to_numpy() == pytest.approx(CURRENT_A)
    assert codes(ride) == ([] if way > 0 else ["sign-reversed"])
    assert ride.electrical.columns[0].sign_basis == "motion"
    assert ride.electrical is ride.reference
    assert ride.electrical in ride.recordings


def test_a_log_that_its_amounts_turned_wrongly_is_turned_back_and_nothing_is_left_to_say():
    turned = Finding("sign-assumed", "warning", {**AMOUNTS, "turned": True})
    ride = join_recordings([electrical(-1, "amounts", [turned], sign=-1), track()])
    assert ride.series["current_a"].to_numpy() == pytest.approx(CURRENT_A)
    assert ride.electrical.columns[0].sign == 1
    assert codes(ride) == []


def test_a_log_that_its_amounts_turned_rightly_is_told_with_the_evidence_of_the_motion():
    turned = Finding("sign-assumed", "warning", {**AMOUNTS, "turned": True})
    ride = join_recordings([electrical(1, "amounts", [turned], sign=-1), track()])
    assert ride.series["current_a"].to_numpy() == pytest.approx(CURRENT_A)
    (told,) = [finding for finding in ride.findings if finding.code == "sign-reversed"]
    assert told.facts["effort_correlation"] < 0
    assert codes(ride) == ["sign-reversed"]


@pytest.mark.parametrize("basis", ["map", "words"])
def test_a_sign_that_is_stated_is_kept_and_doubted_where_the_motion_contradicts_it(basis):
    ride = join_recordings([electrical(-1, basis), track()])
    if ride.joins[1].trusted:
        assert codes(ride) == ["sign-doubtful"]
    assert ride.series["current_a"].to_numpy() == pytest.approx(-CURRENT_A)
    assert codes(join_recordings([electrical(1, basis), track()])) == []


def test_a_sign_that_values_show_is_left_alone():
    ride = join_recordings([electrical(-1, "values"), track()])
    assert ride.series["current_a"].to_numpy() == pytest.approx(-CURRENT_A)


def test_without_a_track_an_open_sign_stays_open():
    assert codes(join_recordings([electrical(1, "nothing", [OPEN])])) == ["sign-open"]


def test_logs_of_one_device_have_one_sign_that_of_the_surest():
    """The second part is all descent, and its amounts turned it; the first knows its sign by its voltage."""
    first = electrical(1, "values")
    second = electrical(-1, "amounts", [Finding("sign-assumed", "warning", {**AMOUNTS, "turned": True})], sign=-1)
    alike = with_one_sign([first, second])
    for part in alike:
        assert part.frame["current_a"].to_numpy() == pytest.approx(CURRENT_A)
        assert (part.columns[0].sign, part.columns[0].sign_basis) == (1, "values")
        assert part.findings == ()
    assert with_one_sign([first, first]) == [first, first]
