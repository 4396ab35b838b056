"""What was chosen, and what it changed, in words."""

import pytest

from ridelog.tell.numbers import METRIC
from ridelog.tell.pages import changes as words
from ridelog.uncertain.quantity import Quantity


@pytest.mark.parametrize(
    ("given", "turned", "text"),
    [
        (("I1", "battery current", "mA"), True, "“I1” read as battery current in mA, the other way round"),
        (("I1", "speed", None), False, "“I1” read as speed"),
        (("I1", None, None), False, "“I1” left out"),
    ],
)
def test_what_a_column_is_read_as_is_said(given, turned, text):
    assert words.column(*given, turned=turned) == text


def test_values_of_the_bike_are_named_up_to_three():
    assert words.values(["a 1", "b 2"]) == "a 1, b 2"
    assert words.values(["a", "b", "c", "d", "e"]) == "a, b, c and 2 more"
    assert words.values([]) == "the bike file as it is"


def test_what_is_not_known_before_or_after_is_said():
    share = Quantity(8.0, 7.0, 9.0)
    assert words.moved([None] * 3, [share, None, None], METRIC) == "came back not known → 8.0 % (7.0 to 9.0)"
    assert words.moved([share, None, None], None, METRIC) == "now the files could not be measured"
