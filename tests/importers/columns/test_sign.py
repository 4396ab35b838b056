"""Which way positive current flows: by the words, the map, or by what else the log shows."""

import numpy as np
import pytest

from ridelog.importers.columns.assign import assign
from tests.importers.columns.logs import CURRENT_A, POWER_W, SPEED_MPS, TIME_S, VOLTAGE_V, column
from tests.importers.delimited.logs import WAVE_A, WAVE_V, codes_of, log, read, why

DRAWN_AH = np.concatenate(([0.0], np.cumsum(np.clip(CURRENT_A[1:], 0, None)))) / 3600
NET_AH = np.concatenate(([0.0], np.cumsum(CURRENT_A[1:]))) / 3600


def decided(*columns):
    return assign(list(columns), TIME_S, "b.csv")


def codes(found):
    return [finding.code for finding in found.findings if finding.code.startswith("sign")]


EVIDENCE = {
    "voltage": lambda: [column("U (V)", VOLTAGE_V)],
    "state of charge": lambda: [column("SoC (%)", 90 - 100 * NET_AH)],
    "counter": lambda: [column("Ah used", DRAWN_AH)],
    "speed": lambda: [column("speed (m/s)", SPEED_MPS)],
}


@pytest.mark.parametrize("by", EVIDENCE)
def test_a_current_that_flows_the_other_way_is_turned_and_it_is_said(by):
    found = decided(column("current (A)", -CURRENT_A), *EVIDENCE[by]())
    assert found.channels["current_a"] == pytest.approx(CURRENT_A)
    assert codes(found) == ["sign-reversed"]


@pytest.mark.parametrize("by", EVIDENCE)
def test_a_current_that_flows_the_usual_way_stays_and_needs_no_word(by):
    found = decided(column("current (A)", CURRENT_A), *EVIDENCE[by]())
    assert found.channels["current_a"] == pytest.approx(CURRENT_A)
    assert codes(found) == []


def test_words_settle_the_sign_and_values_against_them_are_told():
    found = decided(column("current into battery (A)", CURRENT_A), column("U (V)", VOLTAGE_V))
    assert found.channels["current_a"] == pytest.approx(-CURRENT_A)
    assert codes(found) == ["sign-doubtful"]


def test_the_map_settles_the_sign_against_everything():
    found = decided(column("current (A)", CURRENT_A, sign=-1), column("U (V)", VOLTAGE_V))
    assert found.channels["current_a"] == pytest.approx(-CURRENT_A)
    assert codes(found) == []


@pytest.mark.parametrize(("way", "severity"), [(1, "note"), (-1, "warning")])
def test_a_sign_that_nothing_shows_is_taken_as_usual_and_doubted_where_more_came_back(way, severity):
    found = decided(column("current (A)", way * CURRENT_A))
    assert found.channels["current_a"] == pytest.approx(way * CURRENT_A)
    assert [(f.code, f.severity) for f in found.findings if f.code.startswith("sign")] == [("sign-assumed", severity)]


def test_a_power_takes_the_sign_of_voltage_times_current():
    found = decided(column("U (V)", VOLTAGE_V), column("I (A)", CURRENT_A), column("battery power (W)", -POWER_W))
    assert found.channels["power_w"] == pytest.approx(POWER_W)


def test_a_power_without_a_sign_is_left_out_beside_a_current_that_has_one():
    found = decided(column("U (V)", VOLTAGE_V), column("I (A)", CURRENT_A), column("battery power (W)", abs(POWER_W)))
    assert "power_w" not in found.channels


def test_a_power_alone_is_turned_by_the_voltage():
    found = decided(column("U (V)", VOLTAGE_V), column("battery power (W)", -POWER_W))
    assert found.channels["power_w"] == pytest.approx(POWER_W)
    assert codes(found) == ["sign-reversed"]


def test_a_reversed_sign_is_turned_and_said_with_the_numbers():
    """U = 50 V - 0.11 Ω · I by construction, logged with I negated."""
    recording = read(log("time (s),current (A),voltage (V)", lambda k: f"{k},{-WAVE_A[k]},{WAVE_V[k]}"))
    assert recording.frame["current_a"].to_numpy() == pytest.approx(WAVE_A)
    (finding,) = recording.findings
    assert (finding.code, finding.severity) == ("sign-reversed", "warning")
    assert finding.facts["volts_per_ampere"] == pytest.approx(0.11, abs=0.005)
    assert finding.facts["volts_per_ampere_clear"]


def test_a_sign_that_the_voltage_confirms_is_kept_without_a_finding():
    recording = read(log("time (s),current (A),voltage (V)", lambda k: f"{k},{WAVE_A[k]},{WAVE_V[k]}"))
    assert recording.frame["current_a"].to_numpy() == pytest.approx(WAVE_A)
    assert recording.findings == ()
    assert "voltage falls by 0.11 V per ampere" in why(recording, "current (A)")


def test_a_sign_that_nothing_shows_is_taken_as_usual_and_said():
    recording = read(log("time (s),current (A)", lambda k: f"{k},{WAVE_A[k]}"))
    assert codes_of(recording) == ["sign-assumed"]
    assert recording.findings[0].severity == "note"
    doubtful = read(log("time (s),current (A)", lambda k: f"{k},{-WAVE_A[k]}"))
    assert [(item.code, item.severity) for item in doubtful.findings] == [("sign-assumed", "warning")]


def test_a_falling_state_of_charge_shows_the_sign():
    """8 % of charge are lost while the current logged is negative."""
    recording = read(log("time (s),current (A),SoC (%)", lambda k: f"{k},{-5 - k % 2},{90 - k * 8 / 59:.2f}"))
    assert codes_of(recording) == ["sign-reversed"]
    assert (recording.frame["current_a"] > 0).all()


def test_a_count_of_charge_drawn_shows_the_sign():
    """-6 A for 59 s are 98.3 mAh; the counter of what was drawn rises by as much."""
    recording = read(log("time (s),current (A),mAh drawn", lambda k: f"{k},-6,{6000 * k / 3600:.2f}"))
    assert codes_of(recording) == ["sign-reversed"]


def test_words_that_the_voltage_contradicts_are_kept_with_a_warning():
    recording = read(log("time (s),charge current (A),voltage (V)", lambda k: f"{k},{WAVE_A[k]},{WAVE_V[k]}"))
    assert recording.frame["current_a"].to_numpy() == pytest.approx(-WAVE_A)
    assert codes_of(recording) == ["sign-doubtful"]


def test_a_power_without_sign_is_left_out_beside_a_current_that_has_one():
    recording = read(
        log(
            "time (s),current (A),voltage (V),power (W)",
            lambda k: f"{k},{WAVE_A[k]},{WAVE_V[k]},{abs(WAVE_A[k] * WAVE_V[k]):.1f}",
        )
    )
    assert "power_w" not in recording.frame
