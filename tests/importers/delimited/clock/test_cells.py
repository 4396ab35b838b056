"""A log whose headers name no time, and which column of it tells the time all the same."""

import pytest

from ridelog.importers.delimited.understanding import understood_log
from ridelog.settings.column_map import ColumnEntry, ColumnMap
from tests.importers.delimited.logs import log


def clock(head, cell, columns=None):
    text = log(f"{head},current (A),U (V)", lambda k: f"{cell(k)},{k % 5},50")
    return understood_log(text.encode(), "b.csv", columns).clock


@pytest.mark.parametrize("head", ["", "Duration", "logged", "hh:mm:ss"])
def test_times_of_day_that_go_on_are_the_time_whatever_their_header(head):
    assert clock(head, lambda k: f"0:{k // 60:02d}:{k % 60:02d}").steady.time_s[-1] == 59


def test_the_unnamed_index_of_a_written_table_is_the_time_where_it_holds_stamps():
    found = clock("", lambda k: f"2026-05-04 23:59:{k:02d}+00:00")
    assert (found.clock, found.start.isoformat()) == ("utc", "2026-05-04T23:59:00+00:00")


def test_stamps_go_on_past_midnight():
    assert clock("row", lambda k: f"4.5.2026 23:{k:02d}:30" if k < 60 else "").steady.time_s[-1] == 59 * 60


def test_a_header_of_seconds_alone_is_the_time():
    assert clock("s", lambda k: f"{0.5 * k}").steady.time_s[-1] == 29.5


def test_a_program_s_call_for_its_milliseconds_is_the_time():
    assert clock("millis()", lambda k: f"{100 * k}").steady.time_s[-1] == pytest.approx(5.9)


@pytest.mark.parametrize(
    ("head", "cell"),
    [
        ("remaining", lambda k: f"1:{k % 60:02d}:00"),
        ("lap", lambda k: f"0:00:{k:02d}"),
        ("logged", lambda k: f"0:00:{k % 30:02d}"),
        ("logged", lambda k: f"0:00:{0 * k:02d}"),
        ("row", lambda k: f"{k}"),
    ],
    ids=["left", "of a lap", "starts again", "stands", "numbers of no unit"],
)
def test_what_need_not_be_the_time_of_its_row_is_not_taken_for_it(head, cell):
    assert clock(head, cell) is None


def test_of_two_columns_of_times_none_is_chosen():
    text = log("one,other,U (V)", lambda k: f"0:00:{k:02d},8:00:{k:02d},50")
    assert understood_log(text.encode(), "b.csv", None).clock is None


def test_what_the_map_leaves_out_is_not_the_time():
    left_out = ColumnMap(column=(ColumnEntry(header="logged", use=False),))
    assert clock("logged", lambda k: f"0:00:{k:02d}", left_out) is None
