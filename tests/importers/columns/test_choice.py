"""Which of several columns is the one of its quantity."""

import numpy as np
import pytest

from ridelog.importers.columns.assign import assign
from ridelog.importers.columns.column import Habits
from tests.importers.columns.logs import CURRENT_A, POWER_W, SPEED_MPS, TIME_S, VOLTAGE_V, column

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
