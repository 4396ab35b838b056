"""What charts share."""

from ridelog.figures.look import PAPER, base_layout, label_room


def test_labels_that_would_touch_are_left_out():
    """Of labels at 0, 1, 5, 13 and 30 on a width of 100 the second is too near; the others have room by distance."""
    assert label_room([0, 1, 5, 13, 30], 100.0, PAPER) == [1, 0, 1, 2, 3]


def test_thousands_are_set_apart_in_every_chart_as_in_the_text():
    """A narrow space, as in "1 500", never a comma."""
    assert base_layout(PAPER, 200)["separators"] == ".\N{NARROW NO-BREAK SPACE}"
