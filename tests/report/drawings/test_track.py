"""The map: one scale both ways, thick where charge came back, and nothing without positions."""

import re

import numpy as np
import pytest

from ridelog.report.drawings.svg import NARROW, WIDE
from ridelog.report.drawings.track import track_drawing, ways_drawing
from ridelog.tell.numbers import IMPERIAL, PAGE, typeset
from tests.report.drawings.test_svg import read
from tests.scenarios import sample_answer


@pytest.mark.parametrize("width", [WIDE, NARROW])
def test_metres_east_are_as_long_as_metres_north(width):
    answer = sample_answer("commute")
    svg = track_drawing(answer, PAGE, width).file()
    way = read(re.search(r'<path d="([^"]+)"[^>]*stroke-width="1.1"', svg)[1])[0]
    east, north = answer.series["east_m"].dropna(), answer.series["north_m"].dropna()
    wide = max(x for x, _ in way) - min(x for x, _ in way)
    high = max(y for _, y in way) - min(y for _, y in way)
    assert wide / high == pytest.approx((east.max() - east.min()) / (north.max() - north.min()), rel=0.02)


def test_where_charge_came_back_is_thick():
    svg = track_drawing(sample_answer("commute"), PAGE).inline()
    assert 'stroke-width="5"' in svg
    assert "start and end" in svg


def test_imperial_maps_are_in_feet_and_without_positions_there_is_none(make_answer):
    assert "north of the start, ft" in track_drawing(make_answer(), typeset(IMPERIAL)).inline()
    answer = make_answer()
    without = type(answer)(**{**vars(answer), "series": answer.series.drop(columns=["east_m", "north_m"])})
    assert track_drawing(without, PAGE) is None


def test_a_hill_is_drawn_thick_under_the_ways_and_marked_at_its_middle():
    east = np.linspace(0.0, 400.0, 50)
    words = ways_drawing([(east, 0.5 * east)], PAGE, "a way", [("▼ 1", east[10:21], 0.5 * east[10:21])]).inline()
    assert words.index('stroke-width="6"') < words.index('stroke-width="1.1"')
    assert words.count("▼ 1</text>") == 1


def test_several_ways_lie_over_each_other_and_the_first_has_its_ends_marked():
    east = np.linspace(0.0, 400.0, 50)
    ways = [(east, 0.5 * east), (east + 3, 0.5 * east), (np.full(2, 100.0), np.array([0.0, 80.0]))]
    drawing = ways_drawing(ways, PAGE, "three ways")
    words = drawing.inline()
    assert words.count('stroke-width="1.1"') == 3
    assert words.count('r="4.5"') == 2
    assert "three ways" in words
