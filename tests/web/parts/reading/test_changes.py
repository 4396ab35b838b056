"""What a choice changed is said with the numbers before and after it."""

from ridelog.tell.numbers import PAGE
from ridelog.uncertain.quantity import Quantity
from ridelog.web.parts.reading.changes import change_list
from ridelog.web.tray.changes import Change, Figures
from tests.web.parts.test_table import said

WIDE = Figures(Quantity(8.0, 7.5, 8.5), Quantity(12.0, 11.9, 12.1), Quantity(46.0, 28.0, 100.0))
NARROW = Figures(Quantity(8.0, 7.5, 8.5), Quantity(12.0, 11.9, 12.1), Quantity(42.0, 38.0, 46.0))


def test_only_what_moved_is_said_and_earlier_choices_are_folded():
    told = said(change_list([Change("one", None, WIDE), Change("mass 108 kg", WIDE, NARROW)], PAGE))
    latest, earlier = told.split("Earlier choices")
    assert latest.startswith("mass 108 kg: captured 46 % (28 to 100) → 42 % (38 to 46)")
    assert "came back" not in latest
    assert "one: the files could not be measured before; now came back 8.0 % (7.5 to 8.5)" in earlier


def test_a_choice_without_effect_says_so():
    assert "it changed nothing in the answer" in said(change_list([Change("x", NARROW, NARROW)], PAGE))
    assert "the files give no answer" in said(change_list([Change("x", None, None)], PAGE))
    assert change_list([], PAGE) is None
