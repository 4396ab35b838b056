"""The power chart holds what it claims to show."""

from dataclasses import replace
from datetime import UTC, datetime

import numpy as np
import pandas as pd
import plotly.graph_objects as go
import pytest

from ridelog.figures.look import PAPER
from ridelog.figures.power import _for_screen, n_samples_in, power_drawing, time_ticks
from ridelog.tell.numbers import Dial
from ridelog.tell.ride import hill_mark
from tests.figures.checked import power_figure


def test_power_is_split_into_drawn_above_and_returned_below(make_answer):
    """No point of "drawn" is below zero and none of "returned" above, and both reach its extremes, in seven digits."""
    answer = make_answer()
    traces = {trace.name: trace for trace in power_figure(answer, PAPER).data if trace.name}
    power = answer.series["power_w"]
    assert np.nanmin(traces["drawn"].y) >= 0
    assert np.nanmax(traces["drawn"].y) == np.float32(power.max())
    assert np.nanmax(traces["returned"].y) <= 0
    assert np.nanmin(traces["returned"].y) == np.float32(power.min())


def test_zooming_in_shows_every_sample(make_answer):
    """A minute of a 5 Hz log shows its 300 samples, which the whole of a long ride does not."""
    answer = make_answer(n=100_000)
    whole, minute = power_figure(answer, PAPER), power_figure(answer, PAPER, start_s=600.0, end_s=659.9)
    assert whole.layout.meta["n_samples"] == 100_000
    assert len(whole.data[1].x) < 10_000
    assert minute.layout.meta["n_samples"] == 300
    assert set(answer.series["elapsed_s"].iloc[3000:3300].astype(np.float32)) <= set(minute.data[1].x)


def test_a_chart_of_a_million_samples_and_sixty_hills_is_sent_in_few_bytes(make_answer):
    """150 kB before they are compressed; each hill has its rail, from where it was begun to where it was left."""
    answer = make_answer()
    time_s = np.arange(1_000_000) / 100
    noisy_w = (
        200 * np.sin(time_s / 40) + 150 * np.sin(time_s / 7) + 120 + np.random.default_rng(1).normal(0, 12, 1_000_000)
    )
    hills = tuple(
        replace(answer.hills[0], number=k, direction=("up", "down")[k % 2], start_s=160.0 * k, end_s=160.0 * k + 120)
        for k in range(60)
    )
    series = pd.DataFrame({"elapsed_s": time_s, "power_w": noisy_w})
    figure = power_figure(make_answer(series=series, hills=hills), PAPER)
    assert len(figure.to_json()) < 150_000
    rails = [shape.path for shape in figure.layout.shapes if shape.path]
    assert sorted(rail.count("M") for rail in rails) == [30, 30]
    assert "M160,0.992L280,0.992" in rails[1]


def test_a_gap_stays_a_gap(make_answer):
    """The minute without samples has no line through it."""
    answer = make_answer()
    x, y = (np.asarray(power_figure(answer, PAPER).data[1][axis], dtype=float) for axis in ("x", "y"))
    t = answer.series["elapsed_s"].to_numpy()
    last_before, first_after = t[2999], t[3000]
    between = (x > last_before) & (x < first_after)
    assert between.any()
    assert np.isnan(y[between]).all()


def test_without_voltage_current_is_drawn(make_answer):
    """The chart falls back to battery current and says so."""
    answer = make_answer()
    bare = make_answer(series=answer.series.drop(columns=["power_w"]))
    assert power_figure(bare, PAPER).layout.yaxis.title.text == "battery current, A"


def test_a_ride_without_battery_values_has_no_power_chart(make_answer):
    """Asking for the chart of a mere track is an error of the caller, not an empty picture."""
    answer = make_answer()
    with pytest.raises(ValueError, match="neither power nor current"):
        power_figure(make_answer(series=answer.series.drop(columns=["power_w", "current_a"])), PAPER)


@pytest.mark.parametrize(("start_s", "end_s"), [(0, 1260), (3.2, 4.1), (0, 1e6), (100, 100.2), (5, 5)])
def test_time_ticks_are_few_round_and_inside(start_s, end_s):
    """Ticks lie inside the window, at most as many as asked for (and one for both ends), all different in words."""
    at, words = time_ticks(start_s, end_s, most=8)
    assert len(at) <= 9
    assert all(start_s - 1e-6 <= tick <= end_s + 1e-6 for tick in at)
    assert len(set(words)) == len(words)


def test_the_time_at_a_point_is_put_together_by_the_browser(make_answer):
    """Hours, minutes, seconds and tenths: 3 725.25 s is 1:02:05.2, to the nearest even tenth as numpy rounds."""
    series = pd.DataFrame({"elapsed_s": [0.0, 59.96, 3725.25], "power_w": [10.0, 20.0, 30.0]})
    drawn = power_figure(make_answer(series=series), PAPER).data[1]
    assert drawn.customdata.tolist() == [[0, 0, 0, 0], [0, 1, 0, 0], [1, 2, 5, 2]]
    assert drawn.hovertemplate.startswith("%{customdata[0]}:%{customdata[1]:02d}:%{customdata[2]:02d}.%{customdata[3]}")


@pytest.mark.parametrize(("step_s", "few"), [(1.0, True), (0.0001, False)])
def test_times_are_sent_in_few_digits_only_where_no_sample_moves_on_the_screen(make_answer, step_s, few):
    time_s = 10_000 + step_s * np.arange(200.0)
    series = pd.DataFrame({"elapsed_s": time_s, "power_w": np.full(200, 50.0)})
    drawn = power_figure(make_answer(series=series), PAPER).data[1]
    assert (np.asarray(drawn.x).dtype == np.float32) == few
    assert np.abs(np.asarray(drawn.x, dtype=float) - time_s).max() < 0.01 * step_s


@pytest.mark.parametrize("n", [0, 1])
def test_a_line_of_one_point_has_no_step_to_look_at(n):
    """Its time is sent as it is; the mean of no step was a warning of a library on the terminal."""
    time_s, values = _for_screen(np.full(n, 12345.678), np.ones(n))
    assert time_s.tolist() == [12345.678] * n
    assert values.dtype == np.float32


def test_on_a_clock_the_ticks_are_round_and_the_axis_names_it(make_answer):
    """A ride that begins at 23:50:30: an hour of it has a tick each ten minutes, past midnight too (by hand)."""
    dial = Dial(datetime(2026, 5, 1, 23, 50, 30, tzinfo=UTC), "UTC")
    style = replace(PAPER.style, dial=dial)
    at, words = time_ticks(0.0, 3600.0, most=9, style=style)
    assert at == [570.0 + 600 * k for k in range(6)]
    assert words == ["00:00:00", "00:10:00", "00:20:00", "00:30:00", "00:40:00", "00:50:00"]
    figure = power_figure(make_answer(n=500), replace(PAPER, style=style))
    assert figure.layout.xaxis.title.text == "time of day, UTC"
    assert figure.layout.meta["zero_s"] == 23 * 3600 + 50 * 60 + 30
    assert list(figure.data[1].customdata[0][:3]) == [23, 50, 30]


def test_a_drawing_is_what_its_figure_is_before_the_library_checks_it(make_answer):
    answer = make_answer(n=500)
    drawing = power_drawing(answer, PAPER, start_s=100.0, end_s=200.0, beneath=("speed",))
    figure = power_figure(answer, PAPER, start_s=100.0, end_s=200.0, beneath=("speed",))
    assert go.Figure(drawing).to_json() == figure.to_json()
    assert drawing["layout"]["meta"]["n_samples"] == n_samples_in(answer.series, 100.0, 200.0)


def test_the_numbers_of_hills_stand_on_top_of_the_chart_as_one_trace_that_no_pointer_meets(make_answer):
    hill, whole_s = make_answer().hills[0], float(make_answer(n=500).series["elapsed_s"].iloc[-1])
    down, up, beyond = (
        replace(hill, number=k, direction=("down", "up")[k % 2], start_s=k * whole_s / 2, end_s=(k + 0.5) * whole_s / 2)
        for k in (0, 1, 9)
    )
    figure = power_figure(make_answer(n=500, hills=(down, up, beyond)), PAPER)
    (marks,) = [trace for trace in figure.data if trace.name == "hills"]
    assert list(marks.text) == [hill_mark(down), hill_mark(up)]
    assert list(marks.x) == pytest.approx([whole_s / 8, 5 * whole_s / 8])
    assert list(marks.textfont.color) == [PAPER.returned, PAPER.drawn]
    assert set(marks.y) == {figure.layout.yaxis.range[1]}
    assert (marks.cliponaxis, marks.hoverinfo) == (False, "skip")
