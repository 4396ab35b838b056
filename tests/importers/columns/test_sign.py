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


def test_the_map_settles_the_sign_against_everything_and_what_contradicts_it_is_told():
    found = decided(column("current (A)", CURRENT_A, sign=-1), column("U (V)", VOLTAGE_V))
    assert found.channels["current_a"] == pytest.approx(-CURRENT_A)
    assert codes(found) == ["sign-doubtful"]
    assert found.findings[0].facts["by_map"]
    agreed = decided(column("current (A)", -CURRENT_A, sign=-1), column("U (V)", VOLTAGE_V))
    assert codes(agreed) == []


@pytest.mark.parametrize(("way", "severity"), [(1, "note"), (-1, "warning")])
def test_amounts_alone_show_the_sign_and_where_they_turn_it_that_is_a_warning(way, severity):
    """Far more is drawn than comes back, with peaks of 15 A against 6 A."""
    current = column("current (A)", way * CURRENT_A)
    found = decided(current)
    assert found.channels["current_a"] == pytest.approx(CURRENT_A)
    assert [(f.code, f.severity) for f in found.findings if f.code.startswith("sign")] == [("sign-assumed", severity)]
    assert current.reading.sign_basis == "amounts"


@pytest.mark.parametrize("way", [1, -1])
def test_amounts_that_contradict_each_other_leave_the_sign_open(way):
    """A descent: most of what flows comes back at 6 A, and the few starts draw 15 A."""
    descent_a = np.where(CURRENT_A == 5.0, -6.0, CURRENT_A)
    current = column("current (A)", way * descent_a)
    found = decided(current)
    assert [(f.code, f.severity) for f in found.findings if f.code.startswith("sign")] == [("sign-open", "warning")]
    assert current.reading.sign_basis == "nothing"
    assert found.channels["current_a"] == pytest.approx(way * descent_a)


def test_evidence_that_contradicts_itself_leaves_the_sign_open():
    rising = column("SoC (%)", 50 + 100 * NET_AH)
    found = decided(column("current (A)", CURRENT_A), column("U (V)", VOLTAGE_V), rising)
    assert codes(found) == ["sign-open"]
    assert next(f for f in found.findings if f.code == "sign-open").facts["contradicting"]


def test_a_current_that_is_never_negative_raises_no_question_of_sign():
    found = decided(column("current (A)", np.abs(CURRENT_A)))
    assert codes(found) == []


@pytest.mark.parametrize("way", [1, -1])
def test_a_power_without_voltage_takes_the_sign_of_the_current(way):
    power = column("battery power (W)", -way * POWER_W)
    found = decided(column("I (A)", way * CURRENT_A), power)
    assert found.channels["power_w"] == pytest.approx(POWER_W)
    assert found.channels["current_a"] == pytest.approx(CURRENT_A)


@pytest.mark.parametrize("way", [1, -1])
@pytest.mark.parametrize("by", ["voltage", "speed", "state of charge"])
def test_a_power_alone_has_every_kind_of_evidence(by, way):
    found = decided(column("battery power (W)", way * POWER_W), *EVIDENCE[by]())
    assert found.channels["power_w"] == pytest.approx(POWER_W)
    assert codes(found) == ([] if way > 0 else ["sign-reversed"])


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


def test_a_sign_that_only_amounts_show_is_taken_as_usual_or_turned_and_said():
    """Two minutes of 8 + 9 sin A: peaks of 17 A drawn, 1 A returned; half of that is no proof of which is drawn."""
    a = np.round(8 + 9 * np.sin(np.arange(120) * 0.7), 2)
    recording = read(log("time (s),current (A)", lambda k: f"{k},{a[k]}", n=120))
    assert [(item.code, item.severity) for item in recording.findings] == [("sign-assumed", "note")]
    turned = read(log("time (s),current (A)", lambda k: f"{k},{-a[k]}", n=120))
    assert [(item.code, item.severity) for item in turned.findings] == [("sign-assumed", "warning")]
    assert turned.frame["current_a"].to_numpy() == pytest.approx(a)
    weak = read(log("time (s),current (A)", lambda k: f"{k},{a[k] / 2}", n=120))
    assert [(item.code, item.severity) for item in weak.findings] == [("sign-assumed", "warning")]
    assert weak.frame["current_a"].to_numpy() == pytest.approx(a / 2)
    assert codes_of(read(log("time (s),current (A)", lambda k: f"{k},{-a[k] / 2}", n=120))) == ["sign-open"]
    short = read(log("time (s),current (A)", lambda k: f"{k},{-WAVE_A[k]}"))
    assert codes_of(short) == ["sign-open"]


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
