"""Charts hold what they claim to show."""

import numpy as np
import pytest

from ridelog.figures.ride import NIGHT, PAPER, label_room, power_figure, profile_figure, time_ticks, track_figure


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


def test_the_profile_names_every_hill(make_answer):
    """Each of the six hills has its mark above the profile."""
    words = [note.text.replace("\xa0", " ") for note in profile_figure(make_answer(), PAPER).layout.annotations]
    assert [word.split("<br>")[0] for word in words] == ["▲ 1", "▼ 2", "▲ 3", "▼ 3", "▲ 2", "▼ 1"]
    assert "gave <b>4.1 Wh</b>" in words[1]


def test_no_height_and_no_positions_mean_no_chart(make_answer):
    """A ride without height or positions has no profile and no track, rather than empty axes."""
    series = make_answer().series
    bare = make_answer(series=series.drop(columns=["smooth_altitude_m", "altitude_m", "east_m", "north_m"]))
    assert profile_figure(bare, PAPER) is None
    assert track_figure(bare, PAPER) is None


def test_the_track_keeps_its_proportions_and_marks_regen(make_answer):
    """East and north share one scale; the thick line is there exactly where charge returned."""
    figure = track_figure(make_answer(), NIGHT)
    assert figure.layout.yaxis.scaleanchor == "x"
    assert figure.layout.yaxis.scaleratio == 1
    way, regen = figure.data[:2]
    assert regen.line.width > 3 * way.line.width
    assert way.line.dash == "dot"
    assert 0 < np.isfinite(regen.x).sum() < np.isfinite(way.x).sum()


@pytest.mark.parametrize(("start_s", "end_s"), [(0, 1260), (3.2, 4.1), (0, 1e6), (100, 100.2), (5, 5)])
def test_time_ticks_are_few_round_and_inside(start_s, end_s):
    """Ticks lie inside the window, at most as many as asked for (and one for both ends), all different in words."""
    at, words = time_ticks(start_s, end_s, most=8)
    assert len(at) <= 9
    assert all(start_s - 1e-6 <= tick <= end_s + 1e-6 for tick in at)
    assert len(set(words)) == len(words)


def test_labels_that_would_touch_are_left_out():
    """Of labels at 0, 1, 5, 13 and 30 on a width of 100 the second is too near; the others have room by distance."""
    assert label_room([0, 1, 5, 13, 30], 100.0, PAPER) == [1, 0, 1, 2, 3]
