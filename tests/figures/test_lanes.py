"""What stands beneath the power: the same time, the values of the series in the units shown, its gaps."""

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest

from ridelog.figures.lanes import LANES, height_of_lanes, known_lanes
from ridelog.figures.look import PAPER
from ridelog.tell.numbers import IMPERIAL, typeset
from tests.figures.checked import power_figure

FOOT_M, MILE_M = 0.3048, 1609.344  # exact (NIST SP 811, Appendix B)


@pytest.mark.parametrize(
    ("style", "height", "speed"), [(PAPER.style, 1.0, 3.6), (typeset(IMPERIAL), 1 / FOOT_M, 3600 / MILE_M)]
)
def test_each_lane_shows_every_sample_of_a_stretch_in_the_units_chosen(make_answer, style, height, speed):
    answer = make_answer(n=4000)
    figure = power_figure(answer, replace(PAPER, style=style), start_s=0.0, end_s=100.0, beneath=("height", "speed"))
    drawn = {trace.name: trace for trace in figure.data if trace.yaxis}
    series = answer.series
    n = int((series["elapsed_s"] <= 100.0).sum()) + 1  # and the first beyond, to which the line runs
    assert drawn["height"].y == pytest.approx(series["smooth_altitude_m"].iloc[:n] * height, rel=1e-6)
    assert drawn["speed"].y == pytest.approx(series["speed_mps"].iloc[:n] * speed, rel=1e-6)
    assert list(drawn["speed"].x) == list(series["elapsed_s"].iloc[:n])


def test_lanes_stand_one_under_another_beneath_the_power_and_none_over_it(make_answer):
    figure = power_figure(make_answer(n=500), PAPER, beneath=[lane.key for lane in LANES])
    domains = [figure.layout[f"yaxis{number}"].domain for number in ("", 2, 3, 4, 5)]
    assert all(low[1] < high[0] for high, low in pairwise(domains))
    assert (domains[0][1], domains[-1][0]) == (1.0, pytest.approx(0.0))
    assert figure.layout.xaxis.anchor == "y5"
    assert figure.layout.height == power_figure(make_answer(n=500), PAPER).layout.height + height_of_lanes(4)


def test_a_gap_stays_a_gap_in_a_lane(make_answer):
    answer = make_answer(n=4000)
    (lane,) = [trace for trace in power_figure(answer, PAPER, beneath=("speed",)).data if trace.yaxis]
    times = answer.series["elapsed_s"].to_numpy()
    inside = (lane.x > times[1999]) & (lane.x < times[2000])
    assert np.isnan(lane.y[inside]).all()
    assert inside.any()


def test_what_is_not_known_or_is_drawn_already_is_not_offered(make_answer):
    series = make_answer(n=50).series
    assert [lane.key for lane in known_lanes(series, "current_a")] == ["height", "speed", "voltage"]
    bare = series.drop(columns=["altitude_m", "smooth_altitude_m"]).assign(voltage_v=np.nan)
    assert [lane.key for lane in known_lanes(bare, "power_w")] == ["speed", "current"]
