"""Why the times of samples are not believed: where, what the clock does, and what may be behind it."""

import pytest

from ridelog.tell.refusals import times


@pytest.mark.parametrize(
    ("error", "message", "hint"),
    [
        (times.no_times("a.gpx"), "a.gpx: holds no sample that has a time", None),
        (
            times.many_without_time("a.csv", "line 2", 19, 38, "row"),
            "a.csv, line 2: 19 of 38 rows have no time that can be read",
            None,
        ),
        (
            # 40 000 000 s = 462.96 days
            times.clock_leaps("a.csv", "line 12", 4e7, "row"),
            "a.csv, line 12: the clock leaps by 463 days",
            "leave out the rows before the clock was set",
        ),
        (
            times.clock_starts_again("a.csv", "line 14", 11.0, 0.0),
            "a.csv, line 14: the clock starts again (from 11 s to 0 s)",
            "did the device start anew there? split the log at that line, and measure the parts as rides",
        ),
        (
            times.not_increasing("a.csv", "line 3", 19, 20, "row"),
            "a.csv, line 3: the time does not increase in 19 of 20 rows",
            "is this the right column for the time? `ridelog columns FILE` shows how it was understood",
        ),
    ],
)
def test_an_error_says_where_what_and_what_next(error, message, hint):
    assert (error.message, error.hint) == (message, hint)


@pytest.mark.parametrize(("to_s", "summer"), [(400.0, True), (341.0, True), (459.0, True), (300.0, False)])
def test_a_clock_set_back_by_an_hour_is_asked_after_summer_time(to_s, summer):
    error = times.clock_starts_again("a.csv", "line 9", 4000.0, to_s)
    assert error.hint.startswith("did summer time end there?") == summer
