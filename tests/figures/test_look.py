"""What charts share."""

from ridelog.figures.look import PAPER, label_room


def test_labels_that_would_touch_are_left_out():
    """Of labels at 0, 1, 5, 13 and 30 on a width of 100 the second is too near; the others have room by distance."""
    assert label_room([0, 1, 5, 13, 30], 100.0, PAPER) == [1, 0, 1, 2, 3]
