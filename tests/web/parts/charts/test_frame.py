"""What every chart is in: a name."""

from ridelog.web.parts.charts.frame import chart


def test_a_chart_is_one_image_with_a_name(make_answer):
    frame = chart({}, "Power over the ride", "power")
    assert (frame.role, getattr(frame, "aria-label"), frame.id) == ("img", "Power over the ride", "power-image")
    assert frame.children.id == "power"
