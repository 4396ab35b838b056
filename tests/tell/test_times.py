"""Times as people read them: durations, time since the start, dates."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta, timezone

import pytest

from ridelog.tell import times
from ridelog.tell.numbers import METRIC, Dial, typeset

PAGE = typeset(METRIC)


@pytest.mark.parametrize(
    ("seconds", "shown"),
    [
        (4.24, "4.2 s"), (9.97, "10 s"), (42.4, "42 s"), (725.0, "12 min 05 s"), (3599.6, "1 h 00 min"),
        (3720.0, "1 h 02 min"), (3779.0, "1 h 03 min"), (0.0, "0 s"), (None, "–"),
    ],
)  # fmt: skip
def test_a_duration_is_told_in_its_two_largest_units(seconds, shown):
    assert times.duration(seconds) == shown


@pytest.mark.parametrize(
    ("seconds", "decimals", "shown"),
    [(0, 0, "0:00:00"), (750, 0, "0:12:30"), (3599.96, 1, "1:00:00.0"), (90061, 0, "25:01:01"), (-5, 0, "−0:00:05")],
)
def test_time_since_the_start_is_hours_minutes_seconds(seconds, decimals, shown):
    """It rounds over into minutes and hours."""
    assert times.clock(seconds, PAGE, decimals=decimals) == shown


@pytest.mark.parametrize(
    ("start_s", "end_s", "words"),
    [(None, None, None), (600.0, 660.0, "0:10:00 to 0:11:00"), (600.0, 600.2, "at 0:10:00"), (None, 5.0, "at 0:00:05")],
)
def test_a_time_span_is_told_in_words(start_s, end_s, words):
    """A span is "from to", an instant is "at", the whole ride is nothing."""
    assert times.clock_span(start_s, end_s) == words


def test_a_date_is_told_in_utc():
    when = datetime(2026, 5, 1, 10, 0, 1, tzinfo=timezone(timedelta(hours=2)))
    assert times.instant(when) == "2026-05-01 08:00:01 UTC"
    assert times.calendar(when) == "1 May 2026, 08:00 UTC"
    assert times.calendar(datetime(2026, 12, 24, tzinfo=UTC)) == "24 December 2026, 00:00 UTC"
    assert times.instant(None) == "–"


def test_a_time_of_the_day_names_its_clock():
    when = datetime(2026, 5, 1, 8, 5, tzinfo=UTC)
    assert times.time_by(Dial(when, "UTC")) == "08:05 UTC"
    assert times.time_by(Dial(when, "the log's clock")) == "08:05 (the log's clock)"
    assert times.day_and_time(when) == "1 May 2026, 08:05"


def test_when_something_began_and_ended_is_said_with_its_zone_where_that_is_known():
    begin = datetime(2026, 5, 1, 8, 0, tzinfo=UTC)
    assert times.from_to(begin, begin + timedelta(minutes=72)) == "2026-05-01 08:00 to 09:12 UTC"
    local = datetime(2026, 5, 1, 23, 50)  # noqa: DTZ001, a clock whose zone is not known
    assert times.from_to(local, local + timedelta(minutes=20)) == "2026-05-01 23:50 to 2026-05-02 00:10"


def test_a_clock_is_told_as_it_shows_its_time():
    assert times.on_the_clock(datetime(2026, 5, 1, 8, 0, 1, tzinfo=UTC)) == "2026-05-01 08:00:01"


def test_a_date_of_unknown_order_is_told_in_its_numbers():
    assert times.day_in_numbers([3.0, 4.0, 2026.0]) == "03/04/2026"


def test_an_instant_is_told_by_the_clock_that_was_chosen():
    """20:00 and 750.26 s is 20:12:30.3; past midnight the day begins anew (by hand)."""
    style = replace(PAGE, point=",", dial=Dial(datetime(2026, 5, 1, 20, tzinfo=UTC), "UTC"))
    assert times.clock(750.26, style) == "20:12:30"
    assert times.clock(750.26, style, decimals=1) == "20:12:30,3"
    assert times.clock(59.97, style, decimals=1) == "20:01:00,0"
    assert times.clock_span(14400.0, 14460.0, style) == "00:00:00 to 00:01:00"
    assert times.elapsed(750.26, style, decimals=1) == "0:12:30,3"


def test_the_beginning_of_a_ride_names_its_clock():
    began = datetime(2026, 5, 1, 8, tzinfo=UTC)
    assert times.calendar_by(Dial(began, "UTC")) == "1 May 2026, 08:00 UTC"
    assert times.calendar_by(Dial(began, "Europe/Lisbon")) == "1 May 2026, 08:00 (Europe/Lisbon)"
