"""The track from above holds what it claims to show."""

from dataclasses import replace

import numpy as np
import pytest

from ridelog.figures.look import NIGHT, PAPER
from ridelog.tell.numbers import IMPERIAL
from tests.figures.checked import track_figure


def test_the_track_keeps_its_proportions_and_marks_regen(make_answer):
    """East and north share one scale; the thick line is there exactly where charge returned."""
    figure = track_figure(make_answer(), NIGHT)
    assert figure.layout.yaxis.scaleanchor == "x"
    assert figure.layout.yaxis.scaleratio == 1
    way, regen = figure.data[:2]
    assert regen.line.width > 3 * way.line.width
    assert way.line.dash == "dot"
    assert 0 < np.isfinite(regen.x).sum() < np.isfinite(way.x).sum()


def test_without_positions_there_is_no_track(make_answer):
    """Rather than empty axes."""
    answer = make_answer()
    assert track_figure(make_answer(series=answer.series.drop(columns=["east_m", "north_m"])), PAPER) is None


def test_the_track_is_drawn_in_the_units_of_the_look(make_answer):
    metric, imperial = (track_figure(make_answer(), replace(PAPER, style=style)) for style in (PAPER.style, IMPERIAL))
    assert np.nanmax(imperial.data[0].x) == pytest.approx(np.nanmax(metric.data[0].x) / 0.3048)
    assert imperial.layout.xaxis.title.text == "east of the start, ft"


def test_a_return_that_comes_and_goes_all_the_time_makes_no_heavy_drawing(make_answer):
    """At every second of 60,000 samples: the way stays as light as any, and is thick where any of it came back."""
    answer = make_answer(n=60_000)
    on = (np.arange(60_000) % 2 == 0) & (np.arange(60_000) < 30_000)
    figure = track_figure(make_answer(series=answer.series.assign(regen_mask=on)), PAPER)
    way, regen = figure.data[:2]
    assert len(way.x) < 2000
    returned = np.isfinite(regen.x)
    time_s = answer.series["elapsed_s"].to_numpy()
    assert returned[way.customdata < time_s[29_900]].all()
    assert not returned[way.customdata > time_s[30_100]].any()
