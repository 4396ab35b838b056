"""The middle of the document: all braking events of a usual ride, the larger ones of a long one."""

from dataclasses import replace

from ridelog.report.making import Making
from ridelog.report.parts import drawn
from ridelog.report.ride.numbers import MOST_EVENTS, MOST_HILLS, highest, largest, numbers
from ridelog.uncertain.quantity import Quantity
from tests.report.reading import Document
from tests.scenarios import sample_answer


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


def hilly(answer, n=3 * MOST_HILLS):
    """The answer with so many hills, each higher than the one before, and as many accounts of them."""
    hill, entry = answer.hills[0], answer.ledger.hills[0]
    hills = tuple(
        replace(hill, id=f"{k}-up", start_s=10.0 * k, end_s=10.0 * k + 5, height_m=Quantity(5.0 + k)) for k in range(n)
    )
    entries = tuple(replace(entry, start_s=each.start_s, end_s=each.end_s) for each in hills)
    return replace(answer, hills=hills, hill_pairs=(), ledger=replace(answer.ledger, hills=entries))


def test_of_a_ride_with_very_many_hills_the_higher_ones_are_listed_in_order_in_both_tables():
    """Or a PDF of 400 hills would take 0.3 GB more than the ride itself."""
    answer = hilly(sample_answer("commute"))
    few = highest(answer)
    assert [hill.start_s for hill in few.hills] == [10.0 * k for k in range(2 * MOST_HILLS, 3 * MOST_HILLS)]
    assert [entry.start_s for entry in few.ledger.hills] == [hill.start_s for hill in few.hills]
    html = drawn(next(each for each in numbers(answer, Making()) if each and each[0] == "road"))
    assert html.count("<tr>") == 2 * (MOST_HILLS + 1)
    assert Document(html).text.count("Of 360 hills, the 120 with most height") == 2


def test_all_hills_of_a_usual_ride_are_listed():
    answer = hilly(sample_answer("commute"), n=MOST_HILLS)
    assert highest(answer) is answer
    assert "with most height" not in "".join(drawn(each) for each in numbers(answer, Making()) if each)
