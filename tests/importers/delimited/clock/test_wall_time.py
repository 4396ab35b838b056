"""Dates and times of day as seconds. Expected seconds are worked by hand or by the standard library's datetime."""

from datetime import UTC, datetime, timedelta, timezone

import numpy as np
import pyarrow as pa
import pytest
from hypothesis import given
from hypothesis import strategies as st

from ridelog.importers.delimited.clock.wall_time import epoch_s, iso_epoch_s, order_of_date, take_apart, time_of_day_s


def texts(*values):
    return pa.array(values, pa.string())


@pytest.mark.parametrize(
    ("text", "seconds"),
    [
        ("8:00:01.25", 8 * 3600 + 1.25),
        ("08:00:01,25", 8 * 3600 + 1.25),
        ("08:00:01 PM", 20 * 3600 + 1),
        ("12:30:00 am", 1800),
        ("12:30:00 p.m.", 45_000),
        ("23:59:60", 86_400),  # a leap second
        ("10:00:00+02:00", 8 * 3600),
        ("10:00:00 -0330", 13.5 * 3600),
        ("10:00:00Z", 36_000),
        ("101:00:00", 363_600),  # elapsed hours may pass a day
    ],
)
def test_a_time_of_day_is_this_many_seconds(text, seconds):
    found, _, two_parts = time_of_day_s(texts(text))
    assert found == pytest.approx([seconds])
    assert not two_parts


def test_times_of_two_numbers_are_minutes_and_seconds():
    found, has_zone, two_parts = time_of_day_s(texts("12:34.5", "75:00", "x"))
    assert found == pytest.approx([754.5, 4500, np.nan], nan_ok=True)
    assert (has_zone, two_parts) == (False, True)


@pytest.mark.parametrize(
    ("dates", "order", "why"),
    [
        (("2026-05-01", "2026-05-02"), "year-month-day", "the year comes first"),
        (("13/05/2026",), "day-month-year", "the first number reaches 13"),
        (("05/13/2026",), "month-day-year", "the second number reaches 13"),
        (("01.05.2026",), "day-month-year", "with full stops the day comes first"),
        (("05/05/26",), "day-month-year", "day and month are the same number"),
        (
            ("01/05/2026", "02/05/2026"),
            "day-month-year",
            "the first number changes within the log, the second does not",
        ),
        (
            ("05/01/2026", "05/02/2026"),
            "month-day-year",
            "the second number changes within the log, the first does not",
        ),
        (("01/05/2026",), None, ""),
    ],
)
def test_which_number_is_the_day_is_told_by_the_numbers_or_left_open(dates, order, why):
    assert order_of_date(take_apart(texts(*dates))) == (order, why)


def test_what_is_no_date_is_taken_apart_into_nothing():
    assert take_apart(texts("12.5", "13.0")) is None
    assert take_apart(texts("8:00:01")) is None


def seconds_of(*values, order):
    base, since = epoch_s(take_apart(texts(*values)), order)
    return base + since


def test_a_date_is_counted_from_1970():
    """2026-05-01 is 20574 days after 1970-01-01 (56 years of 365 days, 14 leap days, 120 days)."""
    day_s = 20574 * 86400
    assert seconds_of("01/05/2026 08:00:01", order="day-month-year") == pytest.approx([day_s + 28_801])
    assert seconds_of("05/01/26", order="month-day-year") == pytest.approx([day_s])
    assert seconds_of("20260501T080001Z", order="year-month-day") == pytest.approx([day_s + 28_801])
    assert seconds_of("1.5.2026 8:30", order="day-month-year") == pytest.approx([day_s + 30_600])


def test_a_day_that_does_not_exist_is_no_time():
    found = seconds_of("2026-02-28", "2026-02-29", "2024-02-29", "2026-13-01", order="year-month-day")
    assert np.isfinite(found).tolist() == [True, False, True, False]


MOMENTS = st.datetimes(datetime(1990, 1, 1), datetime(2100, 1, 1)).map(lambda when: when.replace(tzinfo=UTC))  # noqa: DTZ001


@given(when=MOMENTS, zone_min=st.integers(-14 * 60, 14 * 60))
def test_both_ways_of_reading_iso_texts_agree_with_the_standard_library(when, zone_min):
    """To the microsecond, in any zone."""
    text = when.astimezone(timezone(timedelta(minutes=zone_min))).isoformat()
    whole = (when - datetime(1970, 1, 1, tzinfo=UTC)) // timedelta(microseconds=1)
    slow_base, slow = epoch_s(take_apart(texts(text)), "year-month-day")
    quick_base, quick, has_zone = iso_epoch_s(texts(text))
    assert has_zone
    for base, since in ((slow_base, slow), (quick_base, quick)):
        assert round(base) * 1_000_000 + round(float(since[0]) * 1e6) == whole


@pytest.mark.parametrize("values", [("01/05/2026",), ("2026-05-01 08:00", "soon"), (None,), ("8:00",)])
def test_the_quick_way_leaves_what_is_not_plain_to_the_slow_one(values):
    assert iso_epoch_s(texts(*values)) is None
