"""Numbers and sentences for people. Expected words are written by hand from the made-up answer's numbers."""

from dataclasses import replace

import pytest

from ridelog.answer.ride import Charge, Energy
from ridelog.findings import Finding
from ridelog.uncertain.quantity import Quantity
from ridelog.web import text


@pytest.mark.parametrize(
    ("value", "digits", "shown"),
    [
        (212.4, 3, "212"),
        (14.13, 3, "14.1"),
        (9.996, 3, "10.0"),
        (0.0512, 3, "0.0512"),
        (999.6, 3, "1\u202f000"),
        (-4.55, 2, "−4.5"),  # binary 4.55 is a little less than 4.55
        (-0.0000001, 3, "0.000000"),
        (0.0, 3, "0"),
        (123456.0, 3, "123\u202f456"),
        (None, 3, "–"),
        (float("nan"), 3, "–"),
        (float("inf"), 3, "–"),
    ],
)
def test_a_number_is_shown_to_its_significant_digits(value, digits, shown):
    """Numbers keep all digits before the point and gain a true minus; unknown ones are a dash."""
    assert text.number(value, digits) == shown


@pytest.mark.parametrize(
    ("seconds", "decimals", "shown"),
    [(0, 0, "0:00:00"), (750, 0, "0:12:30"), (3599.96, 1, "1:00:00.0"), (90061, 0, "25:01:01"), (-5, 0, "−0:00:05")],
)
def test_elapsed_time_is_hours_minutes_seconds(seconds, decimals, shown):
    """Elapsed time is h:mm:ss and rounds over into minutes and hours."""
    assert text.clock(seconds, decimals=decimals) == shown


def test_a_columns_decimals_come_from_its_largest_value():
    """48.0 to three digits has one decimal, and so has every other number below it."""
    assert text.decimals_for([0.4, 48.0, None]) == 1
    assert text.decimals_for([]) == 0
    assert text.fixed(-0.04, 1) == "0.0"


def test_the_headline_tells_drawn_returned_and_share(make_answer):
    """The sentence holds the three numbers and, where they are known, the bounds."""
    assert text.headline(make_answer()).sentence.replace("\xa0", " ") == (
        "Of 212 Wh drawn, 14.1 Wh came back: 6.65 % (6.10 to 7.30 %)"
    )


def test_the_headline_goes_without_an_interval(make_answer):
    """Where no bounds were evaluated there are no brackets."""
    answer = make_answer(energy=Energy(Quantity(212.0), Quantity(14.1), Quantity(6.65), None, None))
    assert text.headline(answer).sentence.replace("\xa0", " ") == "Of 212 Wh drawn, 14.1 Wh came back: 6.65 %"


def test_without_voltage_the_headline_counts_ampere_hours(make_answer):
    """Energy unknown, charge known: the sentence is in Ah."""
    answer = make_answer(energy=Energy(None, None, None, None, None))
    assert text.headline(answer).sentence.replace("\xa0", " ") == "Of 4.42 Ah drawn, 0.294 Ah came back: 6.65 %"


def test_a_log_that_cannot_show_a_return_says_so_instead_of_a_number(make_answer):
    """No share: the finding's own words take its place, and no percentage is printed."""
    words = "controller.csv holds no current below zero."
    answer = make_answer(
        energy=Energy(Quantity(212.0), None, None, None, None),
        charge=Charge(Quantity(4.42), None, None),
        findings=(Finding("gaps", "warning", "Gaps."), Finding("cannot-show-return", "warning", words)),
    )
    head = text.headline(answer)
    assert head.share is None
    assert head.sentence.replace("\xa0", " ") == f"212 Wh was drawn; what came back is not known. {words}"


def test_nothing_drawn_is_no_share(make_answer):
    """A ride that drew nothing has no share to speak of, and says so."""
    nothing = Quantity(0.0)
    answer = make_answer(energy=Energy(nothing, nothing, None, None, None), charge=Charge(nothing, nothing, None))
    assert text.headline(answer).sentence == "Nothing was drawn on this ride, so there is no share to speak of."


def test_the_hill_that_gave_most_is_named(make_answer):
    """Hill 1 ridden down gave 4.6 of 14.1 Wh (33 %); all descents 4.1 + 2.9 + 4.6 Wh (82 %), both by hand."""
    assert text.hill_sentence(make_answer()).replace("\xa0", " ") == (
        "Hill 1, down (45 m in 980 m) gave 33 % of it; all descents together 82 %. "
        "On Hill 1, down, 43 % of what braking had to offer was captured."
    )


def test_what_was_captured_on_the_best_hill_is_told_with_its_interval(make_answer):
    """A captured share is never said more surely than it is known."""
    answer = make_answer()
    best = next(hill for hill in answer.hills if hill.returned_wh is not None and hill.returned_wh.value == 4.6)
    sure = replace(best, captured_pct=Quantity(43.0, 31.0, 67.0))
    hills = tuple(sure if hill is best else hill for hill in answer.hills)
    told = text.hill_sentence(replace(answer, hills=hills)).replace("\xa0", " ")
    assert told.endswith("On Hill 1, down, 43 % (31 to 67 %) of what braking had to offer was captured.")


def test_a_flat_ride_has_no_best_hill(make_answer):
    """Without hills the sentence says that there is none."""
    assert text.hill_sentence(make_answer(hills=())).startswith("No hill was found")


def test_a_ride_without_heights_is_not_called_flat(make_answer):
    """Where no height is known, no hill can be said to be absent."""
    answer = make_answer(hills=())
    ride = replace(answer.ride, ascent_m=None, descent_m=None)
    assert text.hill_sentence(replace(answer, ride=ride)) == (
        "No file holds height, so that this ride’s hills are not known."
    )


def test_hills_of_unknown_return_are_not_said_to_give_nothing(make_answer):
    """A log without voltage knows no Wh: that is not 0 Wh."""
    answer = make_answer()
    unknown = tuple(replace(hill, returned_wh=None) for hill in answer.hills)
    assert text.hill_sentence(make_answer(hills=unknown)) == "What each hill gave back is not known in Wh."


def test_hills_that_gave_nothing_are_not_praised(make_answer):
    """Where no hill returned anything, none gave most."""
    answer = make_answer()
    dry = tuple(replace(hill, returned_wh=Quantity(0.0)) for hill in answer.hills)
    assert text.hill_sentence(make_answer(hills=dry)) == "No hill gave anything back."


@pytest.mark.parametrize(
    ("start_s", "end_s", "words"),
    [(None, None, None), (600.0, 660.0, "0:10:00 to 0:11:00"), (600.0, 600.2, "at 0:10:00"), (None, 5.0, "at 0:00:05")],
)
def test_a_findings_span_is_told_in_words(start_s, end_s, words):
    """A span is "from to", an instant is "at", the whole ride is nothing."""
    assert text.span(start_s, end_s) == words
