"""The answer in a sentence. Expected words are written by hand from the made-up answer's numbers."""

from dataclasses import replace

import pytest

from ridelog.answer.ride import Charge, Energy
from ridelog.findings import Finding
from ridelog.tell.findings import sentence
from ridelog.tell.numbers import IMPERIAL, PAGE
from ridelog.tell.ride import headline, hill_sentence, power_label, profile_label, road, track_label
from ridelog.uncertain.quantity import Quantity


def test_the_headline_tells_drawn_returned_and_share(make_answer):
    """The sentence holds the three numbers and, where they are known, the bounds."""
    assert headline(make_answer()).sentence == ("Of 212 Wh drawn, 14.1 Wh came back: 6.65 % (6.10 to 7.30 %).")


def test_the_headline_goes_without_an_interval(make_answer):
    """Where no bounds were evaluated there are no brackets."""
    answer = make_answer(energy=Energy(Quantity(212.0), Quantity(14.1), Quantity(6.65), None, None))
    assert headline(answer).sentence == "Of 212 Wh drawn, 14.1 Wh came back: 6.65 %."


def test_the_headline_shows_no_more_digits_than_the_line_below_it(make_answer):
    """Of 0.000174 Wh (0 to 0.0081) two digits tell more than is known."""
    small = Quantity(0.000174, 0.0, 0.0081)
    answer = make_answer(energy=Energy(Quantity(212.345, 205.0, 219.0), small, Quantity(0.0, 0.0, 0.004), None, None))
    assert headline(answer).sentence == "Of 212 Wh drawn, 0.00017 Wh came back: 0 % (0 to 0.0040 %)."


def test_without_voltage_the_headline_counts_ampere_hours(make_answer):
    """Energy unknown, charge known: the sentence is in Ah."""
    answer = make_answer(energy=Energy(None, None, None, None, None))
    assert headline(answer).sentence == "Of 4.42 Ah drawn, 0.294 Ah came back: 6.65 %."


def test_a_log_that_cannot_show_a_return_says_so_instead_of_a_number(make_answer):
    """No share: the finding's own words take its place, and no percentage is printed."""
    why = Finding("cannot-show-return", "warning", {"file": "a.csv", "unsigned": True, "zero_pct": None})
    answer = make_answer(
        energy=Energy(Quantity(212.0), None, None, None, None),
        charge=Charge(Quantity(4.42), None, None),
        findings=(Finding("no-height", "note", {"used_for": "braking"}), why),
    )
    head = headline(answer)
    assert head.share is None
    assert head.finding == why
    assert head.sentence == "212 Wh was drawn. We cannot say how much came back, because the log cannot show it."


_SIGN = {"file": "a.csv", "column": "I", "volts_per_ampere": 0.13, "volts_per_ampere_clear": True}
_AMOUNTS = {
    "file": "a.csv",
    "column": "I",
    "quantity": "battery current",
    "positive_share_pct": 36.0,
    "positive_peak": 13.2,
    "negative_peak": 4.2,
    "sure": True,
}
_BEYOND = {"recovered_pct": 150.0, "usual_pct": 5.0, "lower_m": None, "beyond_drawn": True, "sign_by_map": False}


@pytest.mark.parametrize(
    ("findings", "doubt"),
    [
        ([("recovered-unusually-high", _BEYOND)], "that is more than was drawn"),
        ([("recovered-unusually-high", {**_BEYOND, "sign_by_map": True})], "the sign in the column map is in doubt"),
        ([("sign-doubtful", {**_SIGN, "by_map": False})], "the sign of the current is in doubt"),
        ([("sign-doubtful", {**_SIGN, "by_map": True})], "the sign in the column map is in doubt"),
        (
            [("recovered-unusually-high", _BEYOND), ("sign-doubtful", {**_SIGN, "by_map": False})],
            "the sign of the current is in doubt",
        ),
        (
            [("sign-assumed", {**_AMOUNTS, "turned": True})],
            "only the amounts that flowed each way show the sign of the current",
        ),
    ],
)
def test_what_puts_the_sign_in_doubt_ends_the_headline(make_answer, findings, doubt):
    answer = make_answer(findings=tuple(Finding(code, "warning", facts) for code, facts in findings))
    assert headline(answer).sentence == f"Of 212 Wh drawn, 14.1 Wh came back: 6.65 % (6.10 to 7.30 %), but {doubt}."


def test_a_sign_taken_as_usual_by_its_amounts_leaves_no_doubt(make_answer):
    answer = make_answer(findings=(Finding("sign-assumed", "note", {**_AMOUNTS, "turned": False}),))
    assert headline(answer).doubt is None


def test_a_sign_that_nothing_shows_gives_no_share(make_answer):
    why = Finding("sign-open", "warning", {**_AMOUNTS, "contradicting": False})
    answer = make_answer(findings=(why,))
    head = headline(answer)
    assert head.share is None
    assert head.finding == why
    assert head.sentence == "212 Wh flowed one way and 14.1 Wh the other, and nothing shows which of them was drawn."
    assert hill_sentence(answer).startswith(("We do not know on which hill", "There was no hill", "No file holds"))


@pytest.mark.parametrize(
    ("facts", "why"),
    [
        ({"file": None, "column": None, "n_values": None}, "no file holds battery current or battery power"),
        ({"file": "a.csv", "column": "I [A]", "n_values": 0}, "the column “I [A]” in a.csv holds no values"),
        (
            {"file": "a.csv", "column": "I [A]", "n_values": 1},
            "the column “I [A]” in a.csv holds only one value, and it takes at least two",
        ),
    ],
)
def test_headline_and_finding_say_alike_why_nothing_can_be_counted(make_answer, facts, why):
    finding = Finding("no-battery-current", "warning", facts)
    answer = make_answer(energy=Energy(*5 * [None]), charge=Charge(*3 * [None]), findings=(finding,))
    assert headline(answer).sentence == f"We cannot say what was drawn and what came back: {why}."
    assert sentence(finding).lower() == f"{why}, so we cannot say what was drawn or what came back.".lower()


def test_of_many_hills_the_best_gave_some_of_it(make_answer):
    """On a tour of thousands of hills none gave 1 %; "0 %" would say that none gave anything."""
    answer = make_answer()
    hills = tuple(
        replace(hill, share_of_returned_pct=Quantity(0.4 if hill.share_of_returned_pct else 0.0))
        for hill in answer.hills
    )
    assert "gave back the most, less than 1 % of it; " in hill_sentence(replace(answer, hills=hills))


def test_nothing_drawn_is_no_share(make_answer):
    """A ride that drew nothing has no share to speak of, and says so."""
    nothing = Quantity(0.0)
    answer = make_answer(energy=Energy(nothing, nothing, None, None, None), charge=Charge(nothing, nothing, None))
    assert headline(answer).sentence == "Nothing was drawn, so there is no share to give; 0 Wh came back."


def test_the_hill_that_gave_most_is_named(make_answer):
    """Hill 1 ridden down gave 4.6 of 14.1 Wh (33 %); all descents 4.1 + 2.9 + 4.6 Wh (82 %), both by hand."""
    assert hill_sentence(make_answer()) == (
        "Hill 1, down (45 m over 980 m) gave back the most, 33 % of it; all descents together, 82 %. "
        "On Hill 1, down, 43 % of the available braking energy was captured."
    )


def test_what_was_captured_on_the_best_hill_is_told_with_its_interval(make_answer):
    """A captured share is never said more surely than it is known."""
    answer = make_answer()
    best = next(hill for hill in answer.hills if hill.returned_wh is not None and hill.returned_wh.value == 4.6)
    sure = replace(best, captured_pct=Quantity(43.0, 31.0, 67.0))
    hills = tuple(sure if hill is best else hill for hill in answer.hills)
    told = hill_sentence(replace(answer, hills=hills))
    assert told.endswith("On Hill 1, down, 43 % (31 to 67) of the available braking energy was captured.")


def test_a_flat_ride_has_no_best_hill(make_answer):
    """Without hills the sentence says that there is none."""
    assert hill_sentence(make_answer(hills=())).startswith("There was no hill")


def test_a_ride_without_heights_is_not_called_flat(make_answer):
    """Where no height is known, no hill can be said to be absent."""
    answer = make_answer(hills=())
    ride = replace(answer.ride, ascent_m=None, descent_m=None)
    assert hill_sentence(replace(answer, ride=ride)) == (
        "No file holds heights, so we do not know where the hills are."
    )


def test_hills_of_unknown_return_are_not_said_to_give_nothing(make_answer):
    """A log without voltage knows no Wh: that is not 0 Wh."""
    answer = make_answer()
    unknown = tuple(replace(hill, returned_wh=None, share_of_returned_pct=None) for hill in answer.hills)
    assert hill_sentence(make_answer(hills=unknown)) == "We do not know how many Wh came back on each hill."


def test_hills_that_gave_nothing_are_not_praised(make_answer):
    """Where no hill returned anything, none gave most."""
    answer = make_answer()
    dry = tuple(replace(hill, returned_wh=Quantity(0.0), share_of_returned_pct=Quantity(0.0)) for hill in answer.hills)
    assert hill_sentence(make_answer(hills=dry)) == "Nothing came back on any hill."


def test_a_return_that_cannot_be_is_no_headline(make_answer):
    """The share of a motor behind a freewheel is not told; the finding that says why is."""
    finding = Finding("return-without-regen", "warning", {"returned_wh": 14.1, "motor_kind": "mid-drive"})
    head = headline(make_answer(findings=(finding,)))
    assert (head.share, head.finding) == (None, finding)
    assert head.sentence == (
        "212 Wh was drawn. 14.1 Wh went into the battery, which this bike's motor cannot have returned by braking."
    )


def test_a_page_keeps_numbers_and_units_together(make_answer):
    assert headline(make_answer(), PAGE).sentence.startswith("Of 212\xa0Wh drawn, 14.1\xa0Wh came back: 6.65\xa0%")


def test_lengths_and_heights_follow_the_style(make_answer):
    """8400 m are 5.22 mi, 150 m 492 ft; the best hill rises 45 m (148 ft) over 980 m (3215 ft)."""
    answer = make_answer()
    assert road(answer.ride) == "8.40 km, 150 m up, 150 m down"
    assert road(answer.ride, IMPERIAL) == "5.22 mi, 492 ft up, 492 ft down"
    assert hill_sentence(answer, IMPERIAL).startswith("Hill 1, down (148 ft over 3215 ft) gave back the most")


def test_charts_are_told_to_those_who_do_not_see_them(make_answer):
    answer = make_answer()
    assert power_label(0.0, 60.0, answer).startswith("Battery power from 0:00:00 to 0:01:00: drawn above zero")
    assert profile_label(answer).startswith("Height along 8.40 km of road, with 3 hills ridden up and 3 ridden down")
    assert "5.22 mi long" in track_label(answer, IMPERIAL)
    assert track_label(answer).endswith("lists 8 braking events.")
