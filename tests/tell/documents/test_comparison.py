"""What the document of a comparison says around its tables and charts."""

from datetime import date

from ridelog.tell.documents import comparison as told
from ridelog.tell.numbers import IMPERIAL, METRIC
from tests.compare.campaigns import told_comparison

TOLD = told_comparison()


def test_the_dateline_says_how_many_rides_and_when():
    line = told.dateline(TOLD, date(2026, 7, 1))
    assert line[:2] == ["Comparison", f"{len(TOLD.rides)} rides in 2 groups".replace("1 rides", "1 ride")]
    assert line[-1] == "document of 1 July 2026"
    assert told.title(TOLD) == "Comparison: off, strong"


def test_charts_say_their_units():
    assert told.panel("recovered_pct", METRIC) == "Recovered, points"
    assert told.scale("recovered_pct", METRIC) == "recovered, %"
    assert told.scale("net_wh_per_km", IMPERIAL) == "used, Wh/mi"
    assert told.rides_title("captured_pct") == "What each ride gave: captured"


def test_a_row_of_the_chart_says_how_it_was_compared():
    labels = [told.row_label(each) for each in TOLD.differences]
    assert labels[0] == "strong less off, as ridden"
    assert "strong less off, corrected" in labels
    assert told.change(TOLD.differences[0], METRIC).partition(" (")[0].endswith(" points")
    assert told.chart_description(TOLD, METRIC).endswith("The table below has the same numbers.")
