"""The middle of the document: all braking events of a usual ride, the larger ones of a long one."""

from dataclasses import replace

from ridelog.report.making import Making
from ridelog.report.parts import drawn
from ridelog.report.ride.numbers import MOST_EVENTS, largest, numbers
from ridelog.uncertain.quantity import Quantity
from tests.report.reading import Document


def many(make_answer, n=3 * MOST_EVENTS):
    answer = make_answer()
    first = answer.braking.events[0]
    events = tuple(
        replace(first, start_s=10.0 * k, end_s=10.0 * k + 5, returned_wh=Quantity(0.1), available_wh=Quantity(float(k)))
        for k in range(n)
    )
    return replace(answer, braking=replace(answer.braking, events=events))


def test_of_a_long_ride_the_larger_events_are_listed_in_order(make_answer):
    chosen = largest(many(make_answer))
    assert len(chosen) == MOST_EVENTS
    assert [event.start_s for event in chosen] == [10.0 * k for k in range(2 * MOST_EVENTS, 3 * MOST_EVENTS)]


def test_what_is_left_out_is_said(make_answer):
    section = next(each for each in numbers(many(make_answer), Making()) if each and each[0] == "braking")
    assert "Of 360 events, the 120 with most energy" in Document(drawn(section)).text


def test_a_ride_without_braking_or_a_map_says_so(make_answer):
    answer = make_answer()
    answer = replace(answer, braking=replace(answer.braking, events=(), kinds=()))
    words = Document("".join(drawn(each) for each in numbers(answer, Making(with_places=False)) if each)).text
    assert "No braking was found" in words
    assert "left out on request" in words
