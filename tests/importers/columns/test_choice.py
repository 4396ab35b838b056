"""Which of several columns is the one of its quantity."""

import numpy as np
import pytest

from ridelog.errors import ColumnQuestionError
from ridelog.importers.columns.assign import assign
from ridelog.importers.columns.column import Habits
from tests.importers.columns.logs import CURRENT_A, POWER_W, SPEED_MPS, TIME_S, VOLTAGE_V, column
from tests.importers.delimited.logs import WAVE_A, WAVE_V, log, read, why

VOLTS = ("U (V)", VOLTAGE_V)


def decided(*columns, habits=None):
    return assign(list(columns), TIME_S, "b.csv", *([habits] if habits else []))


def used(columns):
    return [each.header for each in columns if each.channel]


def test_the_map_s_column_goes_before_all_others():
    columns = [column("current (A)", CURRENT_A), column("X", CURRENT_A + 1, quantity="battery current", unit="A")]
    found = decided(*columns)
    assert used(columns) == ["X"]
    assert found.channels["current_a"] == pytest.approx(CURRENT_A + 1)


def test_the_formats_own_field_goes_before_what_others_added():
    columns = [column("speed (m/s)", SPEED_MPS), column("speed (km/h)", 5 * SPEED_MPS)]
    columns[0].native = True
    found = decided(*columns)
    assert found.channels["speed_mps"] == pytest.approx(SPEED_MPS)


def test_of_two_currents_the_one_that_makes_the_power_is_the_battery_s():
    columns = [column("I1 (A)", 1.7 * CURRENT_A), column("I2 (A)", CURRENT_A)]
    found = decided(*columns, column(*VOLTS), column("battery power (W)", POWER_W))
    assert found.channels["current_a"] == pytest.approx(CURRENT_A)
    assert not found.questions


def test_of_two_currents_that_nothing_tells_apart_none_is_taken_and_a_question_asked():
    columns = [column("I1 (A)", 1.7 * CURRENT_A), column("I2 (A)", CURRENT_A)]
    found = decided(*columns, column(*VOLTS))
    assert used(columns) == []
    assert [question.blocking for question in found.questions] == [True]
    assert "'I1 (A)' and 'I2 (A)'" in found.questions[0].text


def test_two_columns_of_the_same_values_are_no_question():
    columns = [column("I1 (A)", CURRENT_A), column("I2 (mA)", 1000 * CURRENT_A)]
    found = decided(*columns, column(*VOLTS))
    assert not found.questions
    assert found.channels["current_a"] == pytest.approx(CURRENT_A)


def test_a_part_of_the_whole_tells_its_sign():
    """What is called returned is the positive side of the current: so positive is into the battery here."""
    columns = [column("current (A)", -CURRENT_A), column("regen current (A)", np.clip(-CURRENT_A, 0, None))]
    found = decided(*columns)
    assert found.channels["current_a"] == pytest.approx(CURRENT_A)
    assert columns[1].channel is None


def test_two_directions_without_sign_are_joined():
    out, back = np.clip(CURRENT_A, 0, None), np.clip(-CURRENT_A, 0, None)
    found = decided(column("discharge current (A)", out), column("charge current (A)", back), column(*VOLTS))
    assert found.channels["current_a"] == pytest.approx(CURRENT_A)


def test_a_power_that_does_not_say_whose_is_the_battery_s_if_voltage_and_current_make_it():
    power = column("power (W)", POWER_W)
    decided(column(*VOLTS), column("current (A)", CURRENT_A), power)
    assert power.channel == "power_w"
    other = column("power (W)", 100 + 20 * np.sin(TIME_S))
    decided(column(*VOLTS), column("current (A)", CURRENT_A), other)
    assert other.channel is None


def test_in_a_track_a_power_that_does_not_say_whose_is_the_rider_s():
    power = column("power (W)", 100 + 20 * np.sin(TIME_S))
    decided(column("speed (m/s)", SPEED_MPS), power, habits=Habits(refuses=False, bare_power="rider power"))
    assert power.channel == "rider_power_w"


def test_a_power_beside_a_cadence_may_be_either_s():
    columns = [column("power (W)", 100 + 20 * np.sin(TIME_S)), column("cadence (rpm)", 70 + 0 * TIME_S)]
    found = decided(*columns)
    assert [question.other for question in found.questions] == ['or "rider power"']


@pytest.mark.parametrize(("ratio", "asked"), [(1.0, 0), (2.0, 1)])
def test_a_controller_s_current_is_the_battery_s_only_where_the_power_proves_it(ratio, asked):
    current = column("controller current (A)", ratio * CURRENT_A)
    found = decided(column(*VOLTS), current, column("battery power (W)", POWER_W))
    assert len(found.questions) == asked
    assert (current.channel == "current_a") is (asked == 0)


def test_two_columns_without_sign_are_joined_to_one_current():
    recording = read(
        log(
            "time (s),charge current (A),discharge current (A)",
            lambda k: f"{k},{max(-WAVE_A[k], 0):.2f},{max(WAVE_A[k], 0):.2f}",
        )
    )
    assert recording.frame["current_a"].to_numpy() == pytest.approx(WAVE_A)


@pytest.mark.parametrize(("factor", "is_read"), [(1.0, True), (3.0, False)])
def test_a_controller_s_current_is_read_only_where_power_shows_its_side(factor, is_read):
    """A controller's current may be its battery's or its motor's; the motor's is no power / voltage."""
    text = log(
        "time (s),controller current (A),U (V),P battery (W)",
        lambda k: f"{k},{factor * WAVE_A[k]:.2f},50,{50 * WAVE_A[k]:.1f}",
    )
    if is_read:
        assert read(text).frame["current_a"].to_numpy() == pytest.approx(WAVE_A)
    else:
        with pytest.raises(ColumnQuestionError, match="on the battery's or on the motor's side"):
            read(text)


def test_a_column_of_one_direction_tells_the_sign_of_the_whole():
    recording = read(
        log(
            "time (s),battery current (A),regen current (A)",
            lambda k: f"{k},{-WAVE_A[k]:.2f},{max(-WAVE_A[k], 0):.2f}",
        )
    )
    assert recording.frame["current_a"].to_numpy() == pytest.approx(WAVE_A)


def test_of_two_currents_the_one_that_is_power_over_voltage_is_the_battery_s():
    recording = read(
        log(
            "time (s),current 1 (A),current 2 (A),U (V),P (W)",
            lambda k: f"{k},{2 * WAVE_A[k] + k % 7:.2f},{WAVE_A[k]:.2f},50,{50 * WAVE_A[k]:.1f}",
        )
    )
    assert recording.frame["current_a"].to_numpy() == pytest.approx(WAVE_A)
    assert "not used" in why(recording, "current 1 (A)")


def test_the_motor_s_current_is_never_the_battery_s():
    recording = read(log("time (s),motor current (A),current (A)", lambda k: f"{k},40,{WAVE_A[k]}"))
    assert recording.frame["current_a"].to_numpy() == pytest.approx(WAVE_A)
    assert (recording.frame["motor_current_a"] == 40).all()


def test_a_rider_s_power_is_not_the_battery_s():
    """A bare "power" that is not voltage times current is somebody else's."""
    recording = read(
        log("time (s),current (A),voltage (V),power (W)", lambda k: f"{k},{WAVE_A[k]},{WAVE_V[k]},{100 + k}")
    )
    assert "power_w" not in recording.frame
    assert "whose power?" in why(recording, "power (W)")
