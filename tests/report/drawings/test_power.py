"""Power over time: both sides of zero, every peak kept, in few points."""

import re

import numpy as np
import pytest

from ridelog.report.drawings.power import HEIGHT, TOP, power_drawing
from ridelog.report.drawings.svg import NARROW, WIDE
from ridelog.tell.numbers import PAGE
from tests.report.drawings.test_svg import read
from tests.scenarios import sample_answer


@pytest.mark.parametrize("width", [WIDE, NARROW])
def test_the_highest_and_the_lowest_sample_are_drawn(width):
    answer = sample_answer("commute")
    svg = power_drawing(answer, PAGE, width).file()
    power_w = answer.series["power_w"].to_numpy()
    top, bottom = np.nanmax(power_w), np.nanmin(power_w)
    room = 0.05 * (top - bottom)
    per_w = HEIGHT / (top - bottom + 2 * room)
    places = [
        y for d in re.findall(r'<path d="([^"]+)"[^>]*fill-opacity', svg) for stroke in read(d) for _, y in stroke
    ]
    assert min(places) == pytest.approx(TOP + room * per_w, abs=1.0)
    assert max(places) == pytest.approx(TOP + HEIGHT - room * per_w, abs=1.0)


def test_a_long_ride_takes_no_more_room_than_its_pixels(make_answer):
    long = power_drawing(make_answer(n=100_000), PAGE)
    assert len(long.inline()) < 60_000


def test_current_stands_in_where_no_voltage_is_known(make_answer):
    answer = make_answer()
    without = type(answer)(**{**vars(answer), "series": answer.series.drop(columns=["power_w", "voltage_v"])})
    assert "battery current, A" in power_drawing(without, PAGE).inline()
    neither = type(answer)(**{**vars(answer), "series": answer.series.drop(columns=["power_w", "current_a"])})
    assert power_drawing(neither, PAGE) is None
