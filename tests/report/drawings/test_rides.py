"""Every ride has its mark, and each group a shape of its own."""

import re

import pytest

from ridelog.report.drawings.rides import Dot, rides_drawing
from ridelog.report.drawings.svg import NARROW, WIDE, width_of
from ridelog.tell.numbers import PAGE
from ridelog.uncertain.quantity import Quantity

DOTS = [Dot(n % 4, str(n + 1), Quantity(5.0 + n, 4.0 + n, 6.0 + n)) for n in range(12)]


def test_marks_and_intervals_are_as_many_as_rides():
    svg = rides_drawing("r", ("T", "D"), "recovered, %", DOTS, ["a", "b", "c", "d <x>"], (PAGE, WIDE)).file()
    assert svg.count('r="4.5"') == 3 + 1  # a quarter of the rides, and one in the legend
    assert svg.count("<polygon") == 9 + 3
    assert svg.count('stroke-width="1.5"') == 12
    assert "d &lt;x&gt;" in svg
    assert re.findall(r">(\d+)</text>", svg)[-12:] == [str(n) for n in range(1, 13)]


def test_labels_that_would_touch_are_left_out_where_it_is_narrow():
    many = [Dot(0, f"{n} May", Quantity(float(n))) for n in range(60)]
    svg = rides_drawing("r", ("T", "D"), "recovered, %", many, ["a"], (PAGE, NARROW)).file()
    assert 2 < svg.count(" May</text>") < 12


@pytest.mark.parametrize(("width", "cut"), [(WIDE, False), (NARROW, True)])
def test_names_of_groups_share_the_room_that_there_is(width, cut):
    names = ["winter tyres at 2 bar", "summer tyres at 4 bar", "c"]
    svg = rides_drawing("r", ("T", "D"), "recovered, %", DOTS, names, (PAGE, width)).file()
    assert ("winter tyres at 2 bar</text>" in svg) is not cut
    assert ("…</text>" in svg) is cut
    ends = [float(x) + width_of(said) for x, said in re.findall(r'<text x="([\d.]+)" y="16"[^>]*>([^<]*)</text>', svg)]
    assert len(ends) == 3
    assert max(ends) <= width
