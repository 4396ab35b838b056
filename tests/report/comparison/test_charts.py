"""Charts of a comparison: nothing where nothing is known, and units as they are read."""

from dataclasses import replace

import numpy as np
import pytest

from ridelog.answer.hills import Place
from ridelog.compare.groups import Way
from ridelog.compare.record import HillFigure
from ridelog.report.comparison.charts import (
    MOST_WAYS,
    differences_drawing,
    rides_drawing_of,
    stretch,
    ways_drawing_of,
    ways_shown,
)
from ridelog.tell.numbers import IMPERIAL, PAGE, typeset
from tests.compare.campaigns import told_comparison
from tests.compare.made_up import rides_at_hand
from tests.scenarios import sample_answer

TOLD = told_comparison()


def test_every_difference_is_a_row_of_the_panel_of_its_quantity():
    words = differences_drawing(TOLD, PAGE).inline()
    assert words.count("<circle") == sum(each.difference is not None for each in TOLD.differences)
    assert ">Recovered, points</text>" in words
    assert ">Used, Wh/km</text>" in words
    assert "Used, Wh/mi" in differences_drawing(TOLD, typeset(IMPERIAL)).inline()


def test_without_an_interval_there_is_no_chart():
    assert differences_drawing(replace(TOLD, differences=()), PAGE) is None


def test_every_ride_is_a_mark_of_its_group_and_few_make_no_chart():
    rides = tuple(replace(TOLD.rides[n % len(TOLD.rides)], name=str(n)) for n in range(6))
    words = rides_drawing_of(replace(TOLD, rides=rides), "recovered_pct", PAGE).inline()
    n_known = sum(ride.recovered_pct is not None for ride in rides)
    assert words.count('stroke-width="1.5"') <= n_known
    assert words.count('r="4.5"') + words.count("<polygon") == n_known + len(TOLD.groups)
    assert rides_drawing_of(replace(TOLD, rides=rides[:2]), "recovered_pct", PAGE) is None


# --- where they went --------------------------------------------------------------------------------------------------

RIDES = rides_at_hand(commute=sample_answer("commute"), winter=sample_answer("winter"))


def test_ways_are_in_metres_from_where_the_first_ride_started():
    """A degree of latitude at 45° is 111,132 m (WGS 84), so that 0.009° north are 1000 m and 3,281 ft."""
    up = Way(np.linspace(45.0, 45.009, 10), np.full(10, 7.0))
    rides = [replace(RIDES[0], way=up), replace(RIDES[1], way=Way(up.latitude_deg[::-1], up.longitude_deg))]
    words, in_feet = (ways_drawing_of(rides, style).inline() for style in (PAGE, typeset(IMPERIAL)))
    assert ">1\N{NARROW NO-BREAK SPACE}000</text>" in words
    assert ">1\N{NARROW NO-BREAK SPACE}200</text>" not in words
    assert "The ways of 2 rides, one over the other." in words
    assert "north of the start, ft" in in_feet
    assert ">3\N{NARROW NO-BREAK SPACE}000</text>" in in_feet


def test_of_many_rides_some_of_each_group_are_drawn_and_without_positions_there_is_no_map():
    way = Way(np.array([45.0, 45.01]), np.array([7.0, 7.0]))
    rides = [replace(RIDES[0], name=str(n), group="off" if n < 40 else "on", way=way) for n in range(60)]
    shown = ways_shown(rides)
    assert [ride.name for ride in shown[:4]] == ["0", "40", "1", "41"]
    assert len(shown) == MOST_WAYS
    assert "The ways of 24 rides of 60," in ways_drawing_of(rides, PAGE).inline()
    assert ways_drawing_of(RIDES, PAGE) is None


def test_descents_that_groups_have_in_common_are_marked_where_the_first_ride_went_down_them():
    """An out-and-back way comes by each place twice: the stretch that is as long as the hill is taken."""
    out = np.linspace(45.0, 45.018, 181)  # 2 km there, and back; the hill is the 333 m before the turn, ridden down
    way = Way(np.concatenate([out, out[::-1]]), np.full(362, 7.0))
    hill = RIDES[0].answer.hills[0]
    ends = Place(45.015, 7.0), Place(45.018, 7.0)
    down = replace(hill, direction="down", start_s=100.0, start=ends[0], end=ends[1], length_m=333.6)
    ride = replace(RIDES[0], way=way, answer=replace(RIDES[0].answer, hills=(down,)))
    common = HillFigure(2, 333.6, -20.0, {}, {ride.key: 100.0})
    with_hill, without = (ways_drawing_of([ride], PAGE, hills=each) for each in ((common,), ()))
    assert "▼\N{NO-BREAK SPACE}2</text>" in with_hill.inline()
    assert "Thick: the descents" in with_hill.inline()
    assert "Thick" not in without.inline()
    line = np.column_stack([np.zeros(362), (way.latitude_deg - 45.0) * 111_194.93])
    assert stretch(line, [line[150], line[180]], 333.6) == (150, 180)
    assert stretch(line, [line[180], line[150]], 333.6) == pytest.approx((181, 211), abs=1)
    elsewhere = replace(common, passes={"another ride": 100.0})
    assert "</text>" in (shown := ways_drawing_of([ride], PAGE, hills=(elsewhere,)).inline())
    assert "Thick" not in shown
