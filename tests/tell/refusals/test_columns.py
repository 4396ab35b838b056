"""What a log leaves open, each question with the line of a column map that answers it, and columns at odds."""

import tomllib

import pytest

from ridelog.errors import ColumnQuestionError
from ridelog.tell.refusals import columns

ENTRY = '{ header = "I", quantity = "battery current", unit = "A" }'


@pytest.mark.parametrize(
    ("question", "words"),
    [
        (columns.which_of(["I1", "I2"], "battery current"), "2 columns may be the battery current: 'I1' and 'I2'"),
        (
            columns.which_unit("I", ["A", "mA"]),
            "'I' states no unit, and nothing in the log shows which of A, mA it is",
        ),
        (columns.whose_power("P"), "'P' may be power of the battery or of the rider"),
        (columns.which_side("I"), "'I' may flow on the battery's or on the motor's side of the controller"),
    ],
)
def test_a_question_names_the_column_and_the_choice(question, words):
    assert question == words


def test_an_answer_is_a_line_of_a_column_map_and_the_other_choice_a_comment():
    line = columns.answer([ENTRY], [columns.or_else(["mA"]), columns.or_else(["motor current"], quoted='"')])
    assert line == f'column = [{ENTRY}]  # or mA; or "motor current"'
    assert tomllib.loads(line)["column"] == [{"header": "I", "quantity": "battery current", "unit": "A"}]
    assert columns.answer([ENTRY], []) == f"column = [{ENTRY}]"


def test_a_question_is_told_with_its_answer():
    line = columns.answer([ENTRY], [])
    assert columns.with_answer("what is 'I'?", line) == f"what is 'I'?; answer in a MAP.toml: {line}"
    error = columns.unanswered("a.csv", ["what is 'I'?", "what is 'P'?"], line)
    assert error.message == "a.csv: what is 'I'?; what is 'P'?"
    assert error.hint == f"answer in a MAP.toml, option --columns: {line}"
    assert isinstance(error, ColumnQuestionError)


@pytest.mark.parametrize(
    "error",
    [
        columns.time_unit_open("a.csv", "t", 60.0, '{ header = "t", quantity = "time", unit = "s" }'),
        columns.date_order_open("a.csv", "date", [3.0, 4.0, 2026.0]),
    ],
)
def test_the_hint_of_an_open_time_is_a_line_of_a_column_map(error):
    assert tomllib.loads(error.hint)


def test_an_open_time_is_told_in_its_numbers():
    assert "steps of 60 do not show" in columns.time_unit_open("a.csv", "t", 60.0, "{}").what
    assert "which number of 03/04/2026 is the day" in columns.date_order_open("a.csv", "d", [3.0, 4.0, 2026.0]).what


@pytest.mark.parametrize(
    ("error", "message"),
    [
        (
            columns.cells_in_unfit_unit("a.csv", "I", "V", "battery current"),
            "a.csv: I: its cells are in V, in which no battery current is measured",
        ),
        (
            columns.header_against_cells("a.csv", "I (A)", ("A", "mA"), ENTRY),
            "a.csv: I (A): the header says A, the rows say mA",
        ),
        (
            columns.header_against_units_row("a.csv", 1, "I (A)", ("A", "mA")),
            "a.csv, line 1: I (A): the header says A, the units row says mA",
        ),
    ],
)
def test_columns_at_odds_name_both_units_and_the_way_out(error, message):
    assert error.message == message
    assert "MAP.toml" in error.hint
