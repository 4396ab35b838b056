"""Charts of a comparison: nothing where nothing is known, and units as they are read."""

from dataclasses import replace

from ridelog.report.comparison.charts import differences_drawing, rides_drawing_of
from ridelog.tell.numbers import IMPERIAL, PAGE, typeset
from tests.compare.campaigns import told_comparison

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
