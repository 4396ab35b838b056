"""What differs, in a rider's words."""

from dataclasses import replace

import pytest

from ridelog.compare.record import Difference
from ridelog.tell.compare.sentences import headline, said, sentences
from ridelog.tell.numbers import IMPERIAL
from ridelog.uncertain.quantity import Quantity
from tests.compare.campaigns import told_comparison

TOLD = Difference(
    "recovered_pct", "off", "strong", "route", 6, Quantity(2.1, 1.4, 2.8), 0.1, 0.5, "second-higher", 0.7, None,
    first_rides=6, second_rides=6, p_value=0.001, p_corrected=0.002, level_pct=97.5,
)  # fmt: skip
OPEN = replace(
    TOLD, difference=Quantity(0.3, -0.5, 1.1), verdict="not-told", settling=1.0, rides_to_settle=5, p_value=0.4,
    p_corrected=0.4,
)  # fmt: skip


def words(difference, together=3, **style):
    return said(difference, together, **style).words


def test_what_is_told_is_said_first_with_its_interval_and_what_it_rests_on():
    assert words(TOLD) == "Strong recovered 2.1 points more than off (1.4 to 2.8), paired by route over 6 pairs."
    less = replace(TOLD, difference=Quantity(-2.1, -2.8, -1.4), verdict="first-higher")
    assert words(less) == "Strong recovered 2.1 points less than off (1.4 to 2.8), paired by route over 6 pairs."


def test_hills_and_rides_that_are_not_paired():
    hills = replace(TOLD, quantity="captured_pct", paired_by="hill", pairs=3)
    assert words(hills) == (
        "On 3 hills that both rode, strong captured 2.1 points more than off (1.4 to 2.8), hill by hill, "
        "6 against 6 rides."
    )
    assert words(replace(hills, pairs=1)).startswith("On the hill that both rode, strong captured")
    assert words(replace(TOLD, paired_by="none", second_rides=4)).endswith("not paired, 4 against 6 rides.")


@pytest.mark.parametrize(
    ("more", "settling", "end"),
    [
        (5, 1.0, "; 5 more rides each would settle 1 point."),
        (1, 5.0, "; 1 more ride of each would settle 5 points."),
        (0, 1.0, "; a difference of 1 point would most likely have shown."),
        (None, 1.0, "; no number of rides would settle 1 point on these loggers and bikes."),
        (None, None, "pairs."),
    ],
)
def test_what_is_not_told_says_what_it_would_take(more, settling, end):
    text = words(replace(OPEN, rides_to_settle=more, settling=settling))
    assert text.startswith(
        "It is not clear whether strong recovered more or less than off: 0.3 points (-0.5 to 1.1), "
        "paired by route over 6 pairs"
    )
    assert text.endswith(end)


def test_a_difference_worth_knowing_has_no_more_digits_in_miles():
    used = replace(OPEN, quantity="net_wh_per_km", difference=Quantity(0.1, -0.4, 0.6), settling=0.5)
    assert words(used, style=IMPERIAL).endswith("would settle 0.8 Wh/mi.")


def test_one_that_would_be_told_alone_says_so():
    clear = replace(OPEN, difference=Quantity(0.9, 0.1, 1.7), rides_to_settle=2)
    assert "; alone it would be, but 3 differences were looked at together; 2 more rides each" in words(clear)


def test_nothing_is_told_of_what_is_not_known():
    none = replace(OPEN, difference=None, p_value=None, second_rides=0, settling=None)
    assert words(none) == "It is not clear whether strong recovered more or less than off: no ride of strong tells it."
    single = replace(OPEN, difference=Quantity(0.3), p_value=None, settling=None)
    assert words(single) == (
        "It is not clear whether strong recovered more or less than off: 0.30 points was seen, but one ride of a "
        "group does not show how much its rides differ."
    )


def test_what_is_used_is_in_the_units_asked_for():
    used = replace(TOLD, quantity="net_wh_per_km", difference=Quantity(1.0, 0.5, 1.5))
    assert words(used).startswith("Strong used 1.0 Wh/km more than off (0.5 to 1.5)")
    assert words(used, style=IMPERIAL).startswith("Strong used 1.6 Wh/mi more than off (0.8 to 2.4)")


def test_corrected_figures_say_for_what():
    told = [one.words for one in sentences(told_comparison())]
    assert told[-1].startswith("Corrected for speed in motion: strong recovered")
    assert headline(told_comparison()) == told[0]
