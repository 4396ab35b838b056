"""Bars beside numbers."""

import pytest

from ridelog.web.parts.bar import width


@pytest.mark.parametrize(
    ("value", "full", "shown"),
    [(50, 100, "50.00%"), (1, 3, "33.33%"), (5, 4, "100.00%"), (-1, 4, "0.00%"), (1, 0, "0.00%"), (0, 0, "0.00%")],
)
def test_a_bar_is_its_share_of_the_whole_and_never_longer_nor_below_nothing(value, full, shown):
    assert width(value, full) == {"width": shown}
