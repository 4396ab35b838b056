"""What the columns of a log are, beside its frame: the rows, what was passed over, and what is left open."""

from ridelog.importers.delimited.understanding import understood_log
from ridelog.settings.column_map import ColumnEntry, ColumnMap, LogSettings
from tests.importers.delimited.logs import log


def understood(text, columns=None):
    return understood_log(text.encode(), "b.csv", columns)


def test_each_column_has_a_reading_in_the_order_of_the_file():
    found = understood(log("note,time (s),U (V)", lambda k: f"eco {k},{k},50"))
    assert [(reading.header, reading.channel) for reading in found.readings] == [
        ("note", None),
        ("time (s)", "time_s"),
        ("U (V)", "voltage_v"),
    ]
    assert found.n_rows == 60


def test_an_open_question_on_the_time_leaves_the_other_columns_understood():
    found = understood(log("time,U (V)", lambda k: f"{60 * k},50"))
    assert found.clock is None
    assert [question.blocking for question in found.questions] == [True]
    assert list(found.assignment.channels) == ["voltage_v"]


def test_a_column_of_words_is_left_out_unless_the_map_names_it():
    text = log("time (s),air temp,U (V)", lambda k: f"{k},{['low', 'mid', 'high'][k % 3]},50")
    assert "words, not numbers" in understood(text).readings[1].why


def test_a_column_that_the_map_leaves_out_is_not_read():
    text = log("time (s),current (A),U (V)", lambda k: f"{k},hot,50")
    found = understood(text, ColumnMap(column=(ColumnEntry(header="current (A)", use=False),)))
    assert list(found.assignment.channels) == ["voltage_v"]


def test_rows_passed_over_are_said():
    text = log("time (s),U (V)", lambda k: f"{k},50") + "60,50,1\ntime (s),U (V)\n61,50\n"
    assert [finding.code for finding in understood(text).findings] == ["rows-skipped", "header-repeated"]


def test_a_log_without_times_is_asked_about_with_its_columns():
    found = understood(log("current (A),U (V)", lambda k: f"{k % 5},50"))
    assert found.clock is None
    assert "no column tells the time" in found.questions[0].text
    assert list(found.assignment.channels) == ["current_a", "voltage_v"]


def test_rows_are_as_far_apart_as_the_map_says_and_one_that_is_left_out_counts():
    text = log("current (A),U (V)", lambda k: f"{k % 5},50" if k != 3 else "1,50,7")
    found = understood(text, ColumnMap(log=LogSettings(step_s=0.5)))
    assert found.questions == ()
    assert found.clock.steady.time_s[:5].tolist() == [0, 0.5, 1.0, 2.0, 2.5]
    assert {finding.code for finding in found.findings} == {"rows-skipped", "rows-counted"}


def test_times_that_are_not_believed_leave_the_columns_understood():
    found = understood(log("time (s),U (V)", lambda k: f"{-k},50"))
    assert found.clock is None
    assert "does not increase" in found.refusal.message
    assert list(found.assignment.channels) == ["voltage_v"]
