"""What the document of a ride says around its tables."""

from dataclasses import replace
from datetime import date

from ridelog.tell.documents import ride as told
from ridelog.tell.numbers import METRIC
from tests.scenarios import sample_answer


def test_the_dateline_says_ride_bike_and_time_and_no_date_of_its_own_unasked():
    answer = sample_answer("commute")
    line = told.dateline(answer, None)
    assert line == ["Ride report", "controller + track", "Gannet", "4 May 2026, 09:12 UTC", "29 min 15 s"]
    assert told.dateline(answer, date(2026, 6, 1))[-1] == "document of 1 June 2026"
    assert told.title(answer) == "Ride report: controller + track, 4 May 2026"


def test_numbers_that_are_not_known_are_left_out_and_charge_stands_in_for_energy():
    answer = sample_answer("commute")
    without = replace(answer, energy=replace(answer.energy, drawn_wh=None, returned_wh=None, recovered_pct=None))
    keys = [key for key, *_ in told.figures(without, METRIC)]
    assert keys[:2] == ["drawn_charge", "returned_charge"]
    assert "recovered" not in keys


def test_events_that_are_left_out_are_counted():
    assert told.events_left_out(5, 5, METRIC) == ""
    assert told.events_left_out(5, 7, METRIC).startswith("Of 7 events, the 5 with most")
    assert told.names([("a", "1"), ("b", "2")]) == "a 1, b 2"
