"""By which clocks a ride's times can be told, as far as its files tell them."""

from dataclasses import replace
from datetime import UTC, datetime

import pytest

from ridelog.answer.ride import Source
from ridelog.findings import Finding
from ridelog.tell.pages.clocks import begin_by, dials, dials_by
from ridelog.uncertain.quantity import Quantity

EIGHT = datetime(2026, 7, 1, 8, tzinfo=UTC)
LOG = Source(
    "log.csv", "0" * 64, "csv", "electrical", EIGHT, EIGHT, 10, 1.0, 100.0, Quantity(0, 0, 0), Quantity(0, 0, 0)
)
TRACK = replace(LOG, path="track.gpx", role="track", clock_offset_s=Quantity(-7203.7), clock_drift_ppm=None)
JOINED = {"file": "track.gpx", "reference": "log.csv", "method": "speed", "offset_s": -7203.7, "lag_s": 0.0}
JOINED |= {"agreement": 0.99, "overlap_s": 600.0, "drift_ppm": None}


def made(make_answer, *sources, findings=(), time_zone=None, start=EIGHT):
    answer = make_answer(n=50)
    ride = replace(answer.ride, start=start, time_zone=time_zone)
    return replace(answer, ride=ride, sources=sources, findings=findings)


def told(answer):
    return {key: (f"{dial.started:%H:%M:%S}", dial.name) for key, dial in dials(answer).items()}


def test_a_log_in_utc_is_told_in_utc_and_no_place_is_known(make_answer):
    assert told(made(make_answer, LOG)) == {"utc": ("08:00:00", "UTC"), "log": ("08:00:00", "the log's clock")}


@pytest.mark.parametrize(("month", "shown"), [(7, "09:00:00"), (1, "08:00:00")])
def test_a_named_zone_is_that_of_the_place_in_summer_and_winter(make_answer, month, shown):
    """Lisbon is at UTC+1 in July and at UTC in January (IANA time zone database)."""
    answer = made(make_answer, LOG, time_zone="Europe/Lisbon", start=EIGHT.replace(month=month))
    assert told(answer)["place"] == (shown, "Europe/Lisbon")


def test_a_zone_that_this_computer_does_not_know_is_left_out(make_answer):
    assert "place" not in told(made(make_answer, LOG, time_zone="Europe/Nowhere"))


def test_a_log_without_a_zone_beside_a_track_in_utc_shows_the_zone_that_it_was_set_to(make_answer):
    """The track shows 2 h and 3.7 s less than the log: its clock is in UTC+2 and 3.7 s ahead (by hand)."""
    log = replace(LOG, start=None, end=None)
    by_walls = (Finding("clock-joined", "note", {**JOINED, "wall_clocks": True}),)
    assert told(made(make_answer, log, TRACK, findings=by_walls)) == {
        "utc": ("08:00:00", "UTC"),
        "log": ("10:00:03", "the log's clock"),
        "place": ("10:00:00", "UTC+02:00, as the log was set"),
    }
    counted = (Finding("clock-joined", "note", {**JOINED, "wall_clocks": False}),)
    assert set(told(made(make_answer, log, TRACK, findings=counted))) == {"utc"}


def test_of_a_clock_of_an_unknown_zone_no_utc_is_said(make_answer):
    unknown = (Finding("time-zone-unknown", "note", {"file": "log.csv"}),)
    assert told(made(make_answer, LOG, findings=unknown)) == {"log": ("08:00:00", "the log's clock")}
    assert dials(made(make_answer, LOG, start=None)) == {}


def test_a_start_alone_tells_utc_the_place_of_a_known_zone_and_nothing_of_a_log_that_states_none():
    """Lisbon keeps UTC+1 in summer (IANA time zone database)."""
    start = datetime(2026, 5, 1, 8, 0, tzinfo=UTC)
    found = dials_by(start, "Europe/Lisbon")
    assert {name: f"{dial.started:%H:%M}" for name, dial in found.items()} == {"utc": "08:00", "place": "09:00"}
    assert set(dials_by(start, "Nowhere/Else")) == {"utc"}
    assert set(dials_by(start, "Europe/Lisbon", told=False)) == set(dials_by(start.replace(tzinfo=None))) == {"log"}
    assert begin_by(found, "place").name == "Europe/Lisbon"
    assert begin_by(found, "log").name == "UTC"
    assert begin_by({}, "utc") is None
