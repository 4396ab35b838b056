"""Figures are drawn for the screen that is there."""

import pytest

from ridelog.figures.look import NIGHT, PAPER
from ridelog.web import create_app, ids
from ridelog.web.callbacks.look import screen_look


@pytest.mark.parametrize(
    ("view", "look"), [(None, PAPER), ({}, PAPER), ({"dark": True}, NIGHT), ({"dark": False, "narrow": False}, PAPER)]
)
def test_figures_are_drawn_for_the_screen_that_is_there(view, look):
    assert screen_look(view) == look
    assert screen_look({**(view or {}), "narrow": True}).narrow


def test_numbers_and_times_are_written_as_chosen_where_the_ride_knows_the_clock(make_answer):
    answer = make_answer(n=50)
    chosen = {"units": "imperial", "numbers": "comma", "clock": "utc"}
    style = screen_look(chosen, answer=answer).style
    assert (style.units, style.point, style.dial.started) == ("imperial", ",", answer.ride.start)
    assert screen_look({"clock": "place"}, answer=answer).style.dial is None
    assert screen_look(chosen).style.dial is None
    assert screen_look({"units": ["x"], "numbers": {}, "clock": 3}, answer=answer) == PAPER


def test_whatever_writes_numbers_gets_units_and_decimal_sign_together():
    """Who asked for the units alone wrote decimal points where commas were chosen."""
    asked = {
        output: {each["id"] for each in (*callback["inputs"], *callback["state"])}
        for output, callback in create_app(None).callback_map.items()
    }
    assert [output for output, given in asked.items() if ids.UNITS in given] == [
        f"..{ids.VIEW}.data...{ids.WRITTEN}.data...{ids.WINDOW}.data.."
    ]
    assert [output for output, given in asked.items() if ids.TRAY_LIST in output and ids.WRITTEN in given]
    for name in (ids.SHARPER, ids.OFFER, ids.LEARNED, ids.ANSWER):
        assert [output for output, given in asked.items() if name in output and ids.VIEW in given], name
