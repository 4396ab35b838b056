"""The power chart holds what it claims to show."""

import numpy as np
import pytest

from ridelog.figures.look import PAPER
from ridelog.figures.power import power_figure, time_ticks


def test_power_is_split_into_drawn_above_and_returned_below(make_answer):
    """No point of "drawn" is below zero and none of "returned" above, and both reach the log's extremes."""
    answer = make_answer()
    traces = {trace.name: trace for trace in power_figure(answer, PAPER).data if trace.name}
    power = answer.series["power_w"]
    assert np.nanmin(traces["drawn"].y) >= 0
    assert np.nanmax(traces["drawn"].y) == power.max()
    assert np.nanmax(traces["returned"].y) <= 0
    assert np.nanmin(traces["returned"].y) == power.min()


def test_zooming_in_shows_every_sample(make_answer):
    """A minute of a 5 Hz log shows its 300 samples, which the whole of a long ride does not."""
    answer = make_answer(n=100_000)
    whole, minute = power_figure(answer, PAPER), power_figure(answer, PAPER, start_s=600.0, end_s=659.9)
    assert whole.layout.meta["n_samples"] == 100_000
    assert len(whole.data[1].x) < 10_000
    assert minute.layout.meta["n_samples"] == 300
    assert set(answer.series["elapsed_s"].iloc[3000:3300]) <= set(minute.data[1].x)


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
