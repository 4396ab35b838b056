"""The headline on the page: the share, or why there is none."""

from dataclasses import replace

import pytest

from ridelog.answer.ride import Charge, Energy
from ridelog.findings import Finding
from ridelog.tell.numbers import IMPERIAL, PAGE, typeset
from ridelog.uncertain.quantity import Quantity
from ridelog.web.parts.headline import headline_section
from tests.web.parts.test_hills import of_class
from tests.web.parts.test_table import said


def test_the_headline_has_its_share_and_a_bar_as_long(make_answer):
    """6.65 % of the bar is what came back."""
    section = headline_section("Ridge road", make_answer(), PAGE)
    assert "Of 212 Wh drawn, 14.1 Wh came back: 6.65 % (6.10 to 7.30 %, 95 % interval)" in said(section)
    assert said(section).startswith("Ridge road · 4 May 2026, 06:40 UTC · 21 min 00 s")
    assert of_class(section, "back")[0].style == {"width": "6.65%"}


def test_the_key_figures_are_told_in_the_units_chosen(make_answer):
    """8.4 km are 5.22 mi, 23.5 Wh/km 37.8 Wh/mi, 150 m 492 ft."""
    told = said(headline_section("T", make_answer(), typeset(IMPERIAL)))
    for words in ("5.22 mi", "37.8 Wh/mi", "492 ft", "descended 492 ft", "0.372 mi"):
        assert words in told


@pytest.mark.parametrize(
    ("energy", "charge", "words"),
    [
        (
            Energy(Quantity(212.0), None, None, None, None),
            Charge(Quantity(4.4), None, None),
            "212 Wh was drawn. We cannot say how much came back",
        ),
        (
            Energy(Quantity(0.0), Quantity(1.5), None, None, None),
            Charge(Quantity(0.0), Quantity(0.03), None),
            "Nothing was drawn, so there is no share to give; 1.50 Wh came back.",
        ),
        (Energy(None, None, None, None, None), Charge(None, None, None), "We cannot say what was drawn"),
    ],
)
def test_without_a_share_there_is_a_reason_and_no_bar(make_answer, energy, charge, words):
    answer = replace(make_answer(findings=()), energy=energy, charge=charge)
    section = headline_section("T", answer, PAGE)
    assert words in said(section)
    assert of_class(section, "balance") == []


def test_why_nothing_can_be_counted_is_said_once(make_answer):
    """The reason has the words of the finding."""
    nothing = Finding("no-battery-current", "warning", {"file": None, "column": None, "n_values": None})
    answer = make_answer(findings=(nothing,), energy=Energy(*5 * [None]), charge=Charge(*3 * [None]))
    assert said(headline_section("T", answer, PAGE)).lower().count("no file holds battery current") == 1
