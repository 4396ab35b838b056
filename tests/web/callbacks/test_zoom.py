"""The window of the chart follows buttons and drags."""

import pytest

from ridelog.figures.lanes import LANES
from ridelog.web.callbacks.zoom import asked_for, lanes_after, next_window


@pytest.mark.parametrize(
    ("move", "relayout", "window"),
    [
        ("in", None, (150.0, 250.0)),
        ("out", None, (0.0, 400.0)),
        ("left", None, (0.0, 200.0)),
        ("right", None, (200.0, 400.0)),
        ("all", None, (0.0, 1000.0)),
        ("400.0:600.0", None, (370.0, 630.0)),
        (None, {"xaxis.range[0]": 500.5, "xaxis.range[1]": 400.5}, (400.5, 500.5)),
        (None, {"xaxis.range[0]": -50, "xaxis.range[1]": 5000}, (0.0, 1000.0)),
        (None, {"xaxis.autorange": True}, (0.0, 1000.0)),
        (None, {"xaxis.range[0]": 2000, "xaxis.range[1]": 3000}, (0.0, 1000.0)),
    ],
)
def test_the_window_follows_buttons_and_drags_and_stays_inside(move, relayout, window):
    """From 100..300 s of a ride of 1000 s (by hand): halves, doubles, shifts by half, and never leaves the ride."""
    assert next_window((100.0, 300.0), (0.0, 1000.0), move, relayout) == pytest.approx(window)


@pytest.mark.parametrize(
    ("fired", "place", "wanted"),
    [
        (["drag"], "1:2", None),
        (["drag", {"type": "move", "to": "in"}], None, "in"),
        (["place"], "1:2", "1:2"),
        (["drag", "place"], "1:2", "1:2"),
        ([], "1:2", None),
    ],
)
def test_a_click_counts_even_where_a_drag_ends_at_the_same_time(fired, place, wanted):
    """A button or place is acted on when it fired, whatever else fired with it; a place chosen before is not."""
    assert asked_for(fired, place) == wanted


def test_zooming_in_ends_before_nothing_is_left():
    """However often one zooms in, a fifth of a second stays."""
    window = (0.0, 1000.0)
    for _ in range(60):
        window = next_window(window, (0.0, 1000.0), "in", None)
    assert window[1] - window[0] == pytest.approx(0.2)


@pytest.mark.parametrize(
    ("kept", "chosen", "after"),
    [
        (["speed", "height"], [], ["height"]),
        (["voltage"], ["speed", "voltage"], ["speed", "voltage"]),
        (["gone", "speed"], None, ["speed"]),
        (None, None, []),
    ],
)
def test_what_stands_beneath_is_kept_for_rides_that_have_more(kept, chosen, after):
    """This ride has speed and voltage; what was chosen of heights stays as it was."""
    offered = [lane for lane in LANES if lane.key in ("speed", "voltage")]
    assert lanes_after(kept, chosen, offered) == after
