"""The profile of heights holds what it claims to show."""

from dataclasses import replace

import numpy as np
import pytest

from ridelog.figures.look import PAPER
from ridelog.tell.numbers import IMPERIAL
from tests.figures.checked import profile_figure


def test_the_profile_names_every_hill(make_answer):
    """Each of the six hills has its mark above the profile."""
    words = [note.text.replace("\xa0", " ") for note in profile_figure(make_answer(), PAPER).layout.annotations]
    assert [word.split("<br>")[0] for word in words] == ["▲ 1", "▼ 2", "▲ 3", "▼ 3", "▲ 2", "▼ 1"]
    assert "returned <b>4.1 Wh</b>" in words[1]


def test_without_heights_there_is_no_profile(make_answer):
    """Rather than empty axes."""
    series = make_answer().series
    assert profile_figure(make_answer(series=series.drop(columns=["smooth_altitude_m", "altitude_m"])), PAPER) is None


def test_the_profile_is_drawn_in_the_units_of_the_look(make_answer):
    """The line's last point: 8399 m of road are 5.219 mi; axes and what is shown on hovering say so."""
    answer = make_answer()
    look = replace(PAPER, style=IMPERIAL)
    metric, imperial = profile_figure(answer, PAPER), profile_figure(answer, look)
    last_m = answer.series["distance_m"].iloc[-1]
    assert metric.data[-1].x[-1] == pytest.approx(last_m / 1000)
    assert imperial.data[-1].x[-1] == pytest.approx(last_m / 1609.344)
    assert np.max(imperial.data[-1].y) == pytest.approx(np.max(metric.data[-1].y) / 0.3048)
    assert imperial.layout.xaxis.title.text == "distance, mi"
    assert imperial.layout.yaxis.title.text == "height, ft"
    assert "ft</b>" in imperial.data[-1].hovertemplate
    assert imperial.layout.yaxis.range[1] == pytest.approx(metric.layout.yaxis.range[1] / 0.3048)
