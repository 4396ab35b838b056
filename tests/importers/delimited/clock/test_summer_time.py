"""Local times over the nights in which clocks are changed, against the tz database's own conversion."""

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import numpy as np
import pytest

from ridelog.importers.delimited.clock.summer_time import utc_from_local_s
from ridelog.settings.column_map import ColumnMap, LogSettings
from tests.importers.delimited.logs import codes_of, log, read

EPOCH = datetime(1970, 1, 1, tzinfo=UTC)


def shown(start: datetime, time_zone: str, steps_s: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """UTC seconds of samples, and what a clock of the zone shows then, as seconds from 1970."""
    zone = ZoneInfo(time_zone)
    utc = [start + timedelta(seconds=float(at_s)) for at_s in steps_s]
    local = [at.astimezone(zone).replace(tzinfo=UTC) for at in utc]
    return tuple(np.array([(at - EPOCH).total_seconds() for at in times]) for times in (utc, local))  # type: ignore[return-value]


def converted(local_s: np.ndarray, time_zone: str) -> np.ndarray:
    base_s = float(np.floor(local_s[0]))
    utc_base_s, utc_s = utc_from_local_s(base_s, local_s - base_s, time_zone)
    return utc_base_s + utc_s


@pytest.mark.parametrize(
    ("time_zone", "start"),
    [
        ("Europe/Berlin", datetime(2026, 10, 25, 0, 10, tzinfo=UTC)),  # 3:00 CEST -> 2:00 CET at 1:00 UTC
        ("Europe/Berlin", datetime(2026, 3, 29, 0, 10, tzinfo=UTC)),  # 2:00 CET -> 3:00 CEST at 1:00 UTC
        ("America/St_Johns", datetime(2026, 11, 1, 3, 50, tzinfo=UTC)),  # 2:00 NDT (UTC-2:30) at 4:30 UTC
        ("Australia/Lord_Howe", datetime(2026, 4, 4, 14, 15, tzinfo=UTC)),  # half an hour, 2:00 at UTC+11
        ("Europe/Berlin", datetime(2026, 7, 1, 0, 10, tzinfo=UTC)),
        ("Asia/Kolkata", datetime(2026, 10, 25, 0, 10, tzinfo=UTC)),
    ],
    ids=["autumn", "spring", "half-hour zone", "half-hour change", "no change", "no summer time"],
)
def test_local_times_become_the_utc_that_they_were(time_zone, start):
    utc_s, local_s = shown(start, time_zone, np.arange(0.0, 6600.0, 0.5))
    assert converted(local_s, time_zone) == pytest.approx(utc_s, rel=0, abs=1e-6)


def test_a_log_that_begins_in_the_hour_that_comes_twice_goes_on_without_a_break():
    """2:30 of the second time round, as 3:00 follows within a second; 2:30 alone is the first."""
    utc_s, local_s = shown(datetime(2026, 10, 25, 1, 30, tzinfo=UTC), "Europe/Berlin", np.arange(0.0, 3600.0))
    assert converted(local_s, "Europe/Berlin") == pytest.approx(utc_s, rel=0, abs=1e-6)
    assert converted(local_s[:60], "Europe/Berlin") == pytest.approx(utc_s[:60] - 3600, rel=0, abs=1e-6)


def test_a_clock_that_nobody_changed_keeps_its_steps():
    """A device that knows no summer time shows 2:59:59 and 3:00:00 in autumn, 1:59:59 and 2:00:00 in spring."""
    for start in (datetime(2026, 10, 24, 23, 50, tzinfo=UTC), datetime(2026, 3, 29, 0, 0, tzinfo=UTC)):
        steps_s = np.arange(0.0, 7000.0)
        utc_s, local_s = shown(start, "Europe/Berlin", steps_s[:1])
        assert converted(local_s[0] + steps_s, "Europe/Berlin") == pytest.approx(utc_s[0] + steps_s, rel=0, abs=1e-6)


def test_a_pause_over_the_change_is_as_long_as_it_was():
    """Paused from 0:20 to 2:20 UTC: 2:20 CEST and 3:20 CET are two hours apart, not one."""
    steps_s = np.concatenate((np.arange(600.0), 7200 + np.arange(600.0)))
    utc_s, local_s = shown(datetime(2026, 10, 25, 0, 10, tzinfo=UTC), "Europe/Berlin", steps_s)
    assert converted(local_s, "Europe/Berlin") == pytest.approx(utc_s, rel=0, abs=1e-6)


def test_rows_without_or_with_impossible_times_change_nothing():
    utc_s, local_s = shown(datetime(2026, 10, 25, 0, 50, tzinfo=UTC), "Europe/Berlin", np.arange(0.0, 1200.0))
    local_s[[3, 700]] = np.nan
    local_s[5] += 70 * 365.25 * 86400
    got = converted(local_s, "Europe/Berlin")
    good = np.setdiff1d(np.arange(1200), [3, 5, 700])
    assert got[good] == pytest.approx(utc_s[good], rel=0, abs=1e-6)
    assert np.isnan(got[[3, 700]]).all()
    base_s, nothing = utc_from_local_s(0.0, np.full(3, np.nan), "Europe/Berlin")
    assert base_s == 0.0
    assert np.isnan(nothing).all()


@pytest.mark.parametrize("form", ["%Y-%m-%d %H:%M:%S", "%d.%m.%Y %H:%M:%S", "%d.%m.%Y,%H:%M:%S"])
@pytest.mark.parametrize(
    "start", [datetime(2026, 10, 25, 0, 59, 40, tzinfo=UTC), datetime(2026, 3, 29, 0, 59, 40, tzinfo=UTC)]
)
def test_a_log_over_the_change_of_the_clocks_has_no_pause_and_no_step_back(form, start):
    zone = ZoneInfo("Europe/Berlin")
    header = "date,time" if "," in form else "time"
    text = log(
        f"{header},current (A)", lambda k: f"{(start + timedelta(seconds=k)).astimezone(zone).strftime(form)},{k % 5}"
    )
    recording = read(text, ColumnMap(log=LogSettings(time_zone="Europe/Berlin", date_order="day-month-year")))
    assert recording.time_s == pytest.approx(np.arange(len(recording.time_s)))
    assert (recording.start, recording.clock) == (start, "utc")
    assert not {"clock-backward", "clock-leap", "clock-wrapped"} & set(codes_of(recording))


@pytest.mark.parametrize("year", [1, 1900, 9999])
def test_a_year_in_which_nobody_rides_is_said_and_ends_in_no_error(year):
    text = log("time,current (A)", lambda k: f"{year:04d}-12-31T23:59:{k:02d},{k % 5}")
    recording = read(text, ColumnMap(log=LogSettings(time_zone="Asia/Tokyo")))
    assert codes_of(recording) == ["impossible-date"]
    assert recording.time_s == pytest.approx(np.arange(60.0))
