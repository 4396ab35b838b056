"""Which columns tell the time, in what form: the same minute, written in many ways."""

from datetime import UTC, datetime

import numpy as np
import pytest

from ridelog.errors import ColumnQuestionError
from ridelog.settings.column_map import ColumnMap, LogSettings
from tests.importers.delimited.logs import N_ROWS, codes_of, log, read


@pytest.mark.parametrize(
    ("header", "cell", "start", "clock"),
    [
        ("time", lambda k: f"2026-05-01T08:00:{k:02d}Z", datetime(2026, 5, 1, 8, tzinfo=UTC), "utc"),
        ("time", lambda k: f"2026-05-01 10:00:{k:02d}.50+02:00", datetime(2026, 5, 1, 8, 0, 0, 500000, UTC), "utc"),
        ("time", lambda k: f"20260501T0800{k:02d}Z", datetime(2026, 5, 1, 8, tzinfo=UTC), "utc"),
        ("time", lambda k: f"2026-05-01 08:00:{k:02d}", datetime(2026, 5, 1, 8, tzinfo=UTC), "local"),
        ("Zeit", lambda k: f"01.05.2026 08:00:{k:02d}", datetime(2026, 5, 1, 8, tzinfo=UTC), "local"),
        ("date,time", lambda k: f"13/05/2026,8:00:{k:02d} PM", datetime(2026, 5, 13, 20, tzinfo=UTC), "local"),
        ("date,time", lambda k: f"05/13/2026,12:00:{k:02d} am", datetime(2026, 5, 13, 0, tzinfo=UTC), "local"),
        ("epoch", lambda k: f"{1777622400 + k}", datetime(2026, 5, 1, 8, tzinfo=UTC), "utc"),
        ("time", lambda k: f"{1777622400000 + 1000 * k}", datetime(2026, 5, 1, 8, tzinfo=UTC), "utc"),
        ("time (h:mm:ss)", lambda k: f"0:00:{k:02d}", None, "elapsed"),
        ("time", lambda k: f"{k}", None, "elapsed"),
        ("time", lambda k: f"{1000 * k}", None, "elapsed"),
        ("time (min)", lambda k: f"{k / 60:.6f}", None, "elapsed"),
    ],
    ids=[
        "iso-zulu",
        "iso-offset",
        "iso-compact",
        "iso-local",
        "german",
        "day-first",
        "month-first",
        "epoch-s",
        "epoch-ms",
        "hms",
        "seconds",
        "milliseconds",
        "minutes",
    ],
)
def test_time_is_read_in_the_form_it_is_written(header, cell, start, clock):
    """Elapsed and wall times give seconds from the first sample, the start and the kind of clock."""
    recording = read(log(f"{header},current (A)", lambda k: f"{cell(k)},{k % 5}"))
    assert recording.start == start
    assert recording.clock == clock
    # 1e-4 s: minutes were written to 1e-6
    assert recording.time_s == pytest.approx(np.arange(N_ROWS), abs=1e-4)


def test_a_zone_in_the_map_makes_a_local_time_universal():
    """Lisbon is one hour ahead of UTC in May (WEST, UTC+1)."""
    text = log("time,current (A)", lambda k: f"2026-05-01 08:00:{k:02d},1")
    recording = read(text, ColumnMap(log=LogSettings(time_zone="Europe/Lisbon")))
    assert (recording.start, recording.clock) == (datetime(2026, 5, 1, 7, tzinfo=UTC), "utc")


def test_the_map_tells_day_from_month():
    text = log("date,time,current (A)", lambda k: f"03/04/2026,08:00:{k:02d},1")
    with pytest.raises(ColumnQuestionError):
        read(text)
    for order, month, day in (("day-month-year", 4, 3), ("month-day-year", 3, 4)):
        recording = read(text, ColumnMap(log=LogSettings(date_order=order)))
        assert recording.start == datetime(2026, month, day, 8, tzinfo=UTC)


def test_stamps_coarser_than_the_samples_are_spread_and_no_sample_is_lost():
    """At 5 Hz with stamps of whole seconds, 0.2 s lie between samples; the first second holds three of five."""
    recording = read(log("time,current (A)", lambda k: f"2026-05-01T08:00:{(k + 2) // 5:02d}Z,{k % 7}"))
    assert recording.time_s == pytest.approx(0.2 * np.arange(N_ROWS), abs=1e-6)
    assert codes_of(recording) == ["time-spread"]
    facts = recording.findings[0].facts
    assert facts["step_s"] == 1.0
    assert facts["samples_per_stamp"] == pytest.approx(5)


def test_a_finer_column_gives_the_steps_and_the_wall_clock_the_start():
    recording = read(
        log("timestamp,elapsed (ms),current (A)", lambda k: f"2026-05-01T08:00:{(k + 3) // 5:02d}Z,{200 * k},{k % 7}")
    )
    assert recording.time_s == pytest.approx(0.2 * np.arange(N_ROWS), abs=1e-9)
    assert recording.start == datetime(2026, 5, 1, 8, 0, 0, 600000, UTC)  # 08:00:01 less two steps of 0.2 s
    assert recording.findings == ()


def test_midnight_is_passed():
    recording = read(log("Uhrzeit,current (A)", lambda k: f"{'23:59' if k < 20 else '0:00'}:{(k + 40) % 60:02d},1"))
    assert recording.time_s == pytest.approx(np.arange(N_ROWS))
    assert codes_of(recording) == ["clock-wrapped"]


def test_a_counter_of_microseconds_that_is_full_goes_on():
    """An unsigned 32-bit counter starts again after 2^32 µs."""
    recording = read(log("time_us,current (A)", lambda k: f"{(2**32 - 2_000_000 + 200_000 * k) % 2**32},1"))
    assert recording.time_s == pytest.approx(0.2 * np.arange(N_ROWS), abs=1e-9)
    assert codes_of(recording) == ["clock-wrapped"]
