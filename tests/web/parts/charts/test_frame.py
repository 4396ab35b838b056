"""What every chart is in: a name."""

import json

import numpy as np

from ridelog.web.parts.charts.frame import GRAPH_CONFIG, chart, folded_chart


def test_a_chart_is_one_image_with_a_name():
    frame = chart({}, "Power over the ride", "power")
    assert (frame.role, getattr(frame, "aria-label"), frame.id) == ("img", "Power over the ride", "power-image")
    assert frame.children.id == "power"


def test_a_chart_of_a_fold_stands_there_as_text_that_every_browser_reads():
    """Values that are not known among them, for which JSON has no word."""
    drawing = {"data": [{"x": np.array([1.0, np.nan])}], "layout": {"height": 9, "template": "none"}}
    frame = folded_chart(drawing, "Where it came back", "way")
    assert (frame.role, getattr(frame, "aria-label"), frame.id) == ("img", "Where it came back", "way-image")
    place = frame.children
    assert (place.id, place.className) == ("way", "folded-chart")
    assert "NaN" not in getattr(place, "data-figure")
    told = json.loads(getattr(place, "data-figure"))
    assert told["layout"] == {"height": 9}
    assert told["data"][0]["x"]["dtype"] == "f8"
    assert json.loads(getattr(place, "data-config")) == GRAPH_CONFIG
