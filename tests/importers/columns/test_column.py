"""A column on its way to a channel, and the questions that it raises."""

import io

import numpy as np
import pytest

from ridelog.errors import ColumnQuestionError
from ridelog.importers.columns.column import (
    Assignment,
    Habits,
    Question,
    answers,
    entry_table,
    labels,
    overruled,
)
from ridelog.importers.delimited import read as delimited
from ridelog.settings.column_map import ColumnEntry, ColumnMap, LogSettings, read_map
from ridelog.vocabulary.headers import understand
from tests.importers.columns.logs import column
from tests.importers.delimited.logs import WAVE_A, log, read


def test_headers_of_one_name_are_told_apart():
    assert labels(["I", "U", "I", "", "", "I"]) == ["I", "U", "I #2", "", "", "I #3"]


def test_values_are_turned_into_the_channels_unit_and_sign():
    """By hand: 212 °F are 100 °C; -1500 mA of what flows in are 1.5 A out; a share becomes per cent."""
    assert column("motor temperature (°F)", [212.0]).si == pytest.approx([100.0])
    current = column("current into battery (mA)", [-1500.0, 0.0])
    assert current.si == pytest.approx([1.5, 0.0])
    assert not np.signbit(current.si[1])
    level = column("SoC [%]", [55.0])
    level.channel = "state_of_charge_pct"
    assert level.si == pytest.approx([55.0])


def test_a_map_overrules_what_the_words_say():
    meaning = understand("X1 [A]")
    assert overruled(meaning, None) is meaning
    assert overruled(meaning, ColumnEntry(header="X1 [A]", use=False)).quantity is None
    named = overruled(meaning, ColumnEntry(header="X1 [A]", quantity="motor current", unit="mA"))
    assert (named.quantity, named.unit.name) == ("motor current", "mA")


def test_a_question_is_answered_by_one_line_of_a_map():
    first = Question("which?", entry_table("I 1", "battery current", "A"), "or 'I 2'")
    second = Question("what?", entry_table('say "x"', "speed"))
    assert answers([first, second]) == (
        'column = [{ header = "I 1", quantity = "battery current", unit = "A" }, '
        '{ header = "say \\"x\\"", quantity = "speed" }]  # or \'I 2\''
    )
    assert answers([Question("when?", log='date_order = "day-month-year"')]) == 'date_order = "day-month-year"'
    assert first.in_words.startswith("which?; answer in a MAP.toml: column = [{")


@pytest.mark.parametrize("refuses", [True, False])
def test_a_question_keeps_a_text_log_from_being_read_and_a_track_not(refuses):
    asked = column("speed", [1.0, 2.0])
    todo = Assignment("b.csv", [asked], np.arange(2.0), Habits(refuses=refuses))
    todo.ask(Question("which unit?"), [asked])
    assert [question.blocking for question in todo.questions] == [refuses]
    assert (asked.quantity, asked.is_open) == (None, True)


def test_the_columns_of_a_quantity_are_those_that_were_read():
    read, unread, unitless = column("Strom (A)", [1.0]), column("Strom 2 (A)", [2.0]), column("Strom", [3.0])
    unread.values = None
    todo = Assignment("b.csv", [unread, unitless, read], np.arange(1.0))
    assert todo.of("battery current") == [unitless, read]
    assert todo.first("battery current") is read
    assert todo.first("battery current", with_unit=False) is unitless
    assert todo.first("speed") is None


def test_a_column_tells_how_it_was_understood():
    told = column("Akkustrom (mA)", [1.0], sign=-1)
    told.channel = "current_a"
    reading = told.reading
    assert (reading.header, reading.quantity, reading.unit) == ("Akkustrom (mA)", "battery current", "mA")
    assert (reading.channel, reading.factor, reading.sign) == ("current_a", 1e-3, -1)
    told.leave_out("it is a test")
    assert told.reading.channel is None
    assert told.reading.why.endswith("not used: it is a test")


def test_words_and_map_say_whether_a_return_can_be_shown():
    assert read(log("time (s),abs current (A)", lambda k: f"{k},5")).can_show_return is False
    text = log("time (s),current (A)", lambda k: f"{k},5")
    assert read(text).can_show_return is None
    assert read(text, ColumnMap(log=LogSettings(signed=True))).can_show_return is True
    assert read(text, ColumnMap(log=LogSettings(signed=False))).can_show_return is False


def test_the_map_answers_the_question_of_two_currents():
    text = log("time (s),current 1 (A),current 2 (A)", lambda k: f"{k},{k % 7},{WAVE_A[k]}")
    with pytest.raises(ColumnQuestionError) as caught:
        read(text)
    answer = (caught.value.hint or "").split("--columns: ")[1]
    assert read(text, read_map(io.BytesIO(answer.encode()))).frame["current_a"].iloc[1] == 1
    other = ColumnMap(column=(ColumnEntry(header="current 1 (A)", use=False),))
    assert read(text, other).frame["current_a"].to_numpy() == pytest.approx(WAVE_A)


def test_columns_of_one_name_can_be_told_apart():
    report = delimited.read_log(log("time (s),loop,loop,U (V)", lambda k: f"{k},1,2,50").encode(), "b.csv", "").report
    assert [reading.header for reading in report.readings] == ["time (s)", "loop", "loop #2", "U (V)"]
