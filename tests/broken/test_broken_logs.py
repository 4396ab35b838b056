"""Delimited logs with one defect each: the message names file, place and cause, and says what next."""

from pathlib import Path

import pytest

from ridelog.errors import ColumnQuestionError, InputError
from ridelog.importers.delimited import read as delimited

LOGS = Path(__file__).parent / "logs"

REFUSED = {
    "blank.csv": ("is empty", "did the copy finish"),
    "one-column.csv": ("is not a table of at least two columns", "separated by comma, semicolon, tab or bar"),
    "no-header.csv, line 1": ("has no header that names its columns", "put one line above the numbers"),
    "header-only.csv, line 1": ("has no row of numbers", "did the device store the ride?"),
    "backward-clock.csv, line 5": ("the time does not increase in 12 of 20 rows", "is this the right column"),
    "clock-restart.csv, line 14": ("the clock starts again (from 11 s to 0 s)", "split the log at that line"),
    # 40 000 000 s = 462.96 days
    "clock-leap.csv, line 12": ("the clock leaps by 463 days", "before the clock was set"),
    "many-duplicate-times.csv, line 6": ("the time does not increase in 5 of 20 rows", "is this the right column"),
    "frozen-clock.csv, line 3": ("the time does not increase in 19 of 20 rows", "is this the right column"),
    "nan-everywhere.csv, line 2": (
        "holds no number under 'battery current (A)', 'battery voltage (V)'",
        "",
    ),
    "text-in-numbers.csv, line 2": ("current: '1,5' is not a number", "decimal comma?"),
    "decimal-comma-between-commas.csv, line 1": (
        "the header names 2 columns, but the rows have 4 fields",
        "decimal commas between commas?",
    ),
    "mostly-ragged.csv, line 2": ("10 of 20 rows do not have 3 fields", "is the delimiter also a decimal sign?"),
    "nine-hundred-ampere.csv": (
        "current_a = 900 A at 0.000 s is outside -400..400 A, and so are 20 of 20 values",
        "is the unit or the column right?",
    ),
    "mixed-units.csv, line 14": (
        "battery current: '5000 mA' is in mA, the rows above are in A",
        "a column needs one unit",
    ),
    "header-against-units-row.csv, line 1": (
        "battery current (A): the header says A, the units row says mA",
        "mend one of them",
    ),
    "nothing-used.csv, line 1": (
        "no column besides the time says anything that is used: 'time (s)', 'humidity (%)'",
        "MAP.toml",
    ),
    "one-value-a-row.csv, line 1": (
        "each row holds one value, and the column 'name' says of what ('battery current [A]', 'speed [km/h]')",
        "write it with a column for each quantity",
    ),
}

ASKED = {
    "two-currents.csv": (
        "2 columns may be the battery current: 'current 1 (A)' and 'current 2 (A)'",
        'column = [{ header = "current 1 (A)", quantity = "battery current", unit = "A" }]',
    ),
    "no-unit.csv": (
        "'current' states no unit, and nothing in the log shows which of A, mA it is",
        'column = [{ header = "current", quantity = "battery current", unit = "A" }]',
    ),
    "day-or-month.csv": (
        "'date': which number of 03/04/2026 is the day, and which the month?",
        'log = { date_order = "day-month-year" }',
    ),
    "unit-unknown-time.csv": (
        "'time' states no unit, and steps of 60 do not show whether it is s, ms or min",
        'column = [{ header = "time", quantity = "time", unit = "s" }]',
    ),
    "no-time.csv": ("no column tells the time", "log = { step_s = 1 }"),
    "unreadable-time.csv": ("the times under 'time' cannot be read", 'quantity = "time"'),
}


ONE_OF_40 = {"n_dropped": 1, "n_all": 40, "of": "row"}


def read(name: str):
    return delimited.read_log((LOGS / name).read_bytes(), name, "0" * 64).required()


def finding(name: str):
    """The one finding of a log that is read in spite of its defect."""
    (only,) = read(name).findings
    return only.code, only.severity, dict(only.facts)


@pytest.mark.parametrize("place", REFUSED)
def test_a_log_with_this_defect_is_refused_with_file_place_cause_and_hint(place):
    """A log with this defect is refused in one line with file, place and cause, and a hint where one helps."""
    what, hint = REFUSED[place]
    with pytest.raises(InputError) as caught:
        read(place.split(",")[0])
    assert not isinstance(caught.value, ColumnQuestionError)
    assert caught.value.message == f"{place}: {what}"
    assert hint in (caught.value.hint or "")
    assert bool(hint) == bool(caught.value.hint)
    assert all("\n" not in line for line in caught.value.lines())


@pytest.mark.parametrize("name", ASKED)
def test_an_ambiguous_log_is_refused_with_the_line_that_answers(name):
    """An ambiguous log is refused with its question, and the report shows the same question."""
    what, answer = ASKED[name]
    with pytest.raises(ColumnQuestionError) as caught:
        read(name)
    assert caught.value.message == f"{name}: {what}"
    assert answer in (caught.value.hint or "")
    report = delimited.read_log((LOGS / name).read_bytes(), name, "").report
    assert report.blocked
    assert len(report.questions) == 1
    assert what in report.questions[0]
    assert answer in report.questions[0]


def test_an_empty_file_is_called_empty():
    with pytest.raises(InputError, match=r"^empty\.csv: is empty$"):
        read("empty.csv")


def test_binary_junk_is_not_taken_for_a_log_and_not_read_as_one():
    content = (LOGS / "binary-junk.csv").read_bytes()
    assert not delimited.recognises(content, "binary-junk.csv")
    with pytest.raises(InputError, match=r"^binary-junk\.csv: is not text$"):
        read("binary-junk.csv")


def test_a_web_page_with_a_log_s_name_is_not_taken_for_a_log():
    assert not delimited.recognises((LOGS / "page-in-a.csv").read_bytes(), "page-in-a.csv")


def test_a_log_with_the_wrong_extension_is_read_by_its_content():
    assert delimited.recognises((LOGS / "log-in-a.bin").read_bytes(), "log-in-a.bin")
    recording = read("log-in-a.bin")
    assert len(recording.frame) == 20
    assert recording.findings == ()


def test_rows_of_a_wrong_number_of_fields_are_left_out_and_counted():
    assert finding("ragged.csv") == (
        "rows-skipped",
        "warning",
        {"file": "ragged.csv", "n_skipped": 2, "n_rows": 20, "n_fields": 3, "first_line": 5, "cut_off": False},
    )
    assert len(read("ragged.csv").frame) == 18


def test_one_cell_that_is_no_number_costs_that_cell():
    found = [item for item in read("word-in-numbers.csv").findings if item.code == "unreadable-cells"]
    assert [dict(item.facts) for item in found] == [
        {
            "file": "word-in-numbers.csv",
            "column": "battery current (A)",
            "cell": "hot",
            "line": 11,
            "n_cells": 1,
            "n_all": 20,
            "left_out": False,
        }
    ]
    current = read("word-in-numbers.csv").frame["current_a"]
    assert current.isna().tolist() == [place == 9 for place in range(20)]


def test_a_distance_with_thousands_marks_is_left_out_and_the_rest_is_read():
    recording = read("thousands.csv")
    assert list(recording.frame) == ["current_a"]
    (found,) = [item for item in recording.findings if item.code == "unreadable-cells"]
    assert (found.facts["column"], found.facts["cell"], found.facts["left_out"]) == ("distance (m)", "1.050,5", True)


def test_a_last_line_that_is_cut_off_is_left_out_and_said():
    assert finding("cut-off.csv") == (
        "rows-skipped",
        "warning",
        {"file": "cut-off.csv", "n_skipped": 1, "n_rows": 21, "n_fields": 3, "first_line": 22, "cut_off": True},
    )


def test_a_single_repeated_time_costs_one_row():
    assert finding("duplicate-times.csv") == (
        "time-repeated",
        "warning",
        {"file": "duplicate-times.csv", **ONE_OF_40, "first_place": "line 32", "first_s": 29.0},
    )
    assert len(read("duplicate-times.csv").frame) == 39


def test_a_single_backward_step_costs_one_row():
    assert finding("backward-step.csv") == (
        "time-repeated",
        "warning",
        {"file": "backward-step.csv", **ONE_OF_40, "first_place": "line 32", "first_s": 27.0},
    )


def test_missing_values_are_kept_as_missing_and_counted():
    recording = read("nan-rows.csv")
    assert len(recording.frame) == 20
    assert recording.frame["current_a"].isna().sum() == 4
    missing = {"file": "nan-rows.csv", "n_missing": 4, "n_all": 20, "of": "row"}
    assert [dict(item.facts) for item in recording.findings] == [
        {**missing, "channel": "current_a", "columns": ("battery current (A)",)},
        {**missing, "channel": "voltage_v", "columns": ("battery voltage (V)",)},
    ]


def test_a_log_with_only_the_motor_s_current_has_no_battery_current():
    recording = read("motor-current-only.csv")
    assert list(recording.frame) == ["motor_current_a"]
    assert [(item.code, item.severity) for item in recording.findings] == [("motor-current-only", "warning")]


def test_every_broken_log_has_its_test():
    here = Path(__file__).read_text(encoding="utf-8")
    assert not [path.name for path in LOGS.iterdir() if f'"{path.name}' not in here]
