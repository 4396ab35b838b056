"""In which unit a column is, where its header does not say it."""

import numpy as np
import pytest

from ridelog.importers.columns.assign import assign
from ridelog.importers.columns.column import Habits
from tests.importers.columns.logs import CURRENT_A, POWER_W, SPEED_MPS, TIME_S, VOLTAGE_V, column
from tests.importers.delimited.logs import WAVE_A, WAVE_V, log, read, why

TRACK = Habits(refuses=False)


def decided(*columns, habits=None):
    return assign(list(columns), TIME_S, "b.csv", *([habits] if habits else []))


@pytest.mark.parametrize(("factor", "unit"), [(1.0, "V"), (1000.0, "mV")])
def test_a_voltage_is_in_the_unit_that_its_range_allows(factor, unit):
    volts = column("Spannung", VOLTAGE_V * factor)
    found = decided(volts, column("Strom (A)", CURRENT_A))
    assert volts.unit.name == unit
    assert found.channels["voltage_v"] == pytest.approx(VOLTAGE_V)


def test_a_voltage_in_the_range_of_one_cell_is_that_of_a_cell():
    found = decided(column("U (V)", VOLTAGE_V / 13), column("Strom (A)", CURRENT_A))
    assert "voltage_v" not in found.channels
    assert found.channels["cell_01_v"] == pytest.approx(VOLTAGE_V / 13)


@pytest.mark.parametrize(("factor", "unit"), [(1.0, "A"), (1000.0, "mA")])
def test_a_current_is_in_the_unit_in_which_it_gives_the_power(factor, unit):
    current = column("Strom", CURRENT_A * factor)
    decided(column("U (V)", VOLTAGE_V), column("Leistung (W)", POWER_W), current)
    assert current.unit.name == unit


@pytest.mark.parametrize(("factor", "unit"), [(1.0, "m/s"), (3.6, "km/h"), (1 / 0.44704, "mph")])
def test_a_speed_is_in_the_unit_in_which_the_distance_grows(factor, unit):
    speed = column("speed", SPEED_MPS * factor)
    distance_m = np.concatenate(([0.0], np.cumsum((SPEED_MPS[1:] + SPEED_MPS[:-1]) / 2)))
    decided(column("current (A)", CURRENT_A), speed, column("distance (m)", distance_m))
    assert speed.unit.name == unit


@pytest.mark.parametrize(("top", "unit"), [(1.0, "1"), (100.0, "%")])
def test_a_share_is_a_ratio_or_per_cent_by_its_largest_value(top, unit):
    throttle = column("throttle", np.linspace(0, top, len(TIME_S)))
    found = decided(column("current (A)", CURRENT_A), throttle)
    assert throttle.unit.name == unit
    assert found.channels["throttle_ratio"].max() == pytest.approx(1.0)


def test_values_that_are_no_share_are_left_out():
    found = decided(column("current (A)", CURRENT_A), column("throttle", np.linspace(0, 4000, len(TIME_S))))
    assert "throttle_ratio" not in found.channels


def test_a_unit_that_nothing_shows_is_asked_for_where_it_is_needed():
    current = column("Strom", CURRENT_A)
    found = decided(current)
    assert [question.blocking for question in found.questions] == [True]
    assert 'header = "Strom"' in found.questions[0].column
    assert "current_a" not in found.channels


def test_a_unit_that_nothing_shows_is_a_note_where_it_is_not_needed():
    found = decided(column("current (A)", CURRENT_A), column("motor temperature", 40 + TIME_S / 100))
    assert [finding.code for finding in found.findings if finding.code == "unit-unknown"] == ["unit-unknown"]
    assert not any(question.blocking for question in found.questions)


def test_a_track_is_read_without_the_field_whose_unit_nothing_shows():
    found = decided(column("Strom", CURRENT_A), column("speed (m/s)", SPEED_MPS), habits=TRACK)
    assert set(found.channels) == {"speed_mps"}
    assert not any(question.blocking for question in found.questions)


def test_a_counter_is_that_of_the_direction_whose_sum_it_shows():
    """Ah by the running sums of the current; what it grows by is net here, not what was drawn."""
    net_ah = np.concatenate(([0.0], np.cumsum((CURRENT_A[1:] + CURRENT_A[:-1]) / 2))) / 3600
    found = decided(column("current (A)", CURRENT_A), column("U (V)", VOLTAGE_V), column("Ah", net_ah))
    assert found.channels["net_counter_ah"] == pytest.approx(net_ah)
    lost = decided(column("current (A)", CURRENT_A), column("U (V)", VOLTAGE_V), column("Ah", 3 * net_ah))
    assert not [name for name in lost.channels if "counter" in name]


@pytest.mark.parametrize(("factor", "unit"), [(1, "A"), (1000, "mA")])
def test_power_and_voltage_show_the_unit_of_a_current(factor, unit):
    recording = read(
        log("time (s),current,U (V),P (W)", lambda k: f"{k},{factor * WAVE_A[k]:.2f},50,{50 * WAVE_A[k]:.1f}")
    )
    assert recording.frame["current_a"].to_numpy() == pytest.approx(WAVE_A)
    assert f"{unit}, since power / voltage is 1.00 times it" in why(recording, "current")


@pytest.mark.parametrize(("factor", "unit"), [(1, "A"), (1000, "mA")])
def test_the_voltage_s_answer_shows_the_unit_of_a_current(factor, unit):
    recording = read(log("time (s),current,U", lambda k: f"{k},{factor * WAVE_A[k]:.2f},{WAVE_V[k]}"))
    assert recording.frame["current_a"].to_numpy() == pytest.approx(WAVE_A)
    assert f"{unit}, since the voltage then moves by 0.11 V per ampere" in why(recording, "current")


def test_a_distance_shows_the_unit_of_a_speed():
    """18 km/h are 5 m/s."""
    recording = read(log("time (s),speed,distance (m)", lambda k: f"{k},18,{5 * k}"))
    assert recording.frame["speed_mps"].to_numpy() == pytest.approx(5.0)


def test_a_count_without_direction_is_what_the_current_adds_up_to():
    """5 A for 59 s at 50 V: 5·59/3600 = 0.0819 Ah and 4.097 Wh drawn."""
    recording = read(
        log("time (s),current (A),voltage (V),Ah,Wh", lambda k: f"{k},5,50,{5 * k / 3600:.5f},{250 * k / 3600:.4f}")
    )
    assert recording.frame["drawn_counter_ah"].iloc[-1] == pytest.approx(0.0819, abs=1e-4)
    assert recording.frame["drawn_counter_wh"].iloc[-1] == pytest.approx(4.097, abs=1e-3)
