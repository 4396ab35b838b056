"""Charts of a comparison: nothing where nothing is known, and units as they are read."""

from dataclasses import replace

import numpy as np

from ridelog.compare.groups import Way
from ridelog.report.comparison.charts import (
    MOST_WAYS,
    differences_drawing,
    rides_drawing_of,
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
