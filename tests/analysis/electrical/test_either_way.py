"""What flowed while braked in a log that drops the sign: the interval holds what was drawn, whichever way it went."""

import io
import json

import numpy as np
import pandas as pd
import pytest

import ridelog
from ridelog.analysis.electrical.either_way import EitherWay, either_way
from ridelog.analysis.electrical.flow import electrical_flow
from ridelog.recording import Recording
from ridelog.tell.ride import headline
from tests.places import SAMPLES

TIME_S = np.arange(0.0, 600.0, 0.5)
BRAKED = (TIME_S >= 300) & (TIME_S < 420)
SPEED_MPS = np.full(len(TIME_S), 6.0)
RUNS = [(int(np.flatnonzero(BRAKED)[0]), int(np.flatnonzero(BRAKED)[-1]))]
WATTS = np.where(BRAKED, 100.0, 200.0)  # 100 W push with 17 N at 6 m/s, 200 W with 33 N


def spans(force_n, watts=WATTS, runs=RUNS):
    return either_way(TIME_S, SPEED_MPS, watts, runs, force_n=force_n, least_w=10.0)


def test_what_flows_while_braked_may_have_gone_either_way():
    """From 300 to 420 s, and a second at either end; driven with 27 N elsewhere."""
    found = spans(np.where(BRAKED, 20.0, -27.0))
    assert found.spans_s.tolist() == [[299.0], [420.5]]
    assert found.bounded


def test_braking_too_soft_to_be_found_counts_where_the_force_is_not_that_of_a_drive():
    """From 100 to 110 s the bike is pushed with 5 N, although 200 W would push with 33 N."""
    force_n = np.where(BRAKED, 20.0, np.where((TIME_S >= 100) & (TIME_S <= 110), -5.0, -27.0))
    assert spans(force_n).spans_s.T.tolist() == [[99.0, 111.0], [299.0, 420.5]]


def test_where_heights_are_missing_nothing_is_taken_for_driven():
    """A track over part of the ride: from 0 to 50 s nothing is known of the force."""
    force_n = np.where(BRAKED, 20.0, np.where(TIME_S <= 50, np.nan, -27.0))
    assert spans(force_n).spans_s.T.tolist() == [[-1.0, 51.0], [299.0, 420.5]]


def test_without_heights_no_lower_bound_is_known():
    assert not spans(None).bounded


def test_a_log_that_clips_at_zero_shows_no_current_while_braked():
    """Only in the first 20 of 120 s, as the motor stops late."""
    watts = np.where(BRAKED & (TIME_S > 320), 3.0, 200.0)
    assert spans(np.where(BRAKED, 20.0, -27.0), watts) is None
    assert spans(np.full(len(TIME_S), -27.0), runs=[]) is None


@pytest.fixture
def flow():
    """4 A for 10 min, a fifth of them braked: 2/3 Ah flowed, 0.135 of them while it may have been return."""
    frame = pd.DataFrame({"current_a": 4.0, "voltage_v": 50.0}, index=TIME_S)
    return electrical_flow(Recording("log.csv", "", "csv", frame, None, "elapsed"))


def test_drawn_is_all_that_flowed_less_all_or_nothing_of_it(flow):
    """4 A · 121.5 s = 0.135 Ah within the spans; of 0.6661 Ah. Gain ± 2 %, zero ± 0.15 A."""
    held = EitherWay(np.array([[299.0], [420.5]]), bounded=True)
    model, window_s = flow.charge, (0.0, 599.5)
    whole = model.window(*window_s).drawn
    assert held.flowed(model, *window_s) == pytest.approx(0.135, rel=1e-6)
    less, twice = (held.less(whole, model, window_s, times=times) for times in (1, 2))
    for found, times in ((less, 1), (twice, 2)):
        assert found.value == pytest.approx(whole.value - times * 0.135 / 2, rel=1e-6)
        assert found.quantity().high95 == pytest.approx(whole.quantity().high95, rel=0.01)
        low = whole.quantity().low95 * (1 - times * 0.135 / whole.value)
        assert found.quantity().low95 == pytest.approx(low, rel=0.01)


def test_a_window_and_the_rest_add_up_to_the_whole(flow):
    held = EitherWay(np.array([[299.0], [420.5]]), bounded=True)
    parts = [
        held.less(flow.charge.window(*span).drawn, flow.charge, span)
        for span in ((0.0, 350.0), (350.0, 599.5), (0.0, 599.5))
    ]
    assert parts[0].value + parts[1].value == pytest.approx(parts[2].value)
    np.testing.assert_allclose((parts[0] + parts[1]).trials, parts[2].trials, rtol=0.01)


def test_where_no_bound_is_known_none_is_given(flow):
    held = EitherWay(np.array([[299.0], [420.5]]), bounded=False)
    found = held.less(flow.charge.window(0.0, 599.5).drawn, flow.charge, (0.0, 599.5)).quantity()
    assert found.value == pytest.approx(4 * 599.5 / 3600)
    assert (found.low95, found.high95) == (None, None)


def sample(slug, log, column, change):
    """A sample ride whose current was changed by a logger."""
    frame = pd.read_csv(SAMPLES / slug / log)
    (name,) = [each for each in frame if column in each]
    frame[name] = change(frame[name])
    content = io.BytesIO(frame.to_csv(index=False).encode())
    content.name = log
    ride = ridelog.load_ride([content, SAMPLES / slug / "track.gpx"], bike=SAMPLES / slug / "bike.toml")
    return ridelog.measure(ride), json.loads((SAMPLES / slug / "truth.json").read_text())


@pytest.mark.parametrize(("slug", "log"), [("commute", "controller.csv"), ("winter", "battery.csv")])
@pytest.mark.parametrize("sign", [1, -1], ids=["all above zero", "all below"])
def test_the_interval_of_a_log_that_drops_the_sign_holds_what_was_drawn_and_used(slug, log, sign):
    """The samples' truths: 72.86 of 78.75 Wh that flowed, and 23.13 of 27.95."""
    answer, true = sample(slug, log, "urrent", lambda amperes: sign * amperes.abs())
    assert answer.energy.drawn_wh.low95 <= true["drawn_wh"] <= answer.energy.drawn_wh.high95
    assert answer.charge.drawn_ah.low95 <= true["drawn_ah"] <= answer.charge.drawn_ah.high95
    net = answer.energy.net_wh_per_km
    assert net.low95 <= 1000 * (true["drawn_wh"] - true["returned_wh"]) / true["distance_m"] <= net.high95
    assert answer.energy.returned_wh is None
    assert "flow-while-braked" in {finding.code for finding in answer.findings}
    assert " to " in headline(answer).drawn


@pytest.mark.parametrize("noise_a", [0.0, 0.05, 0.2])
def test_a_log_below_zero_throughout_that_cuts_off_there_proves_nothing(noise_a):
    """What was drawn is written below zero, and whatever came back as 0: as if nothing had (truth: 8.07 %)."""
    rng = np.random.default_rng(2)
    answer, _ = sample(
        "commute",
        "controller.csv",
        "urrent",
        lambda amperes: -(amperes + noise_a * rng.standard_normal(len(amperes))).clip(lower=0).round(2),
    )
    assert answer.energy.recovered_pct is None
    codes = {finding.code for finding in answer.findings}
    assert "cannot-show-return" in codes
    assert "nothing-returned" not in codes


def test_a_log_below_zero_throughout_that_never_loses_the_draw_at_rest_shows_that_nothing_came_back():
    """0.06 A at rest, and never less while riding: the electronics' draw was never outweighed."""
    answer, _ = sample("commute", "controller.csv", "urrent", lambda amperes: -amperes.clip(lower=0.06))
    share = answer.energy.recovered_pct
    assert (share.value, share.low95) == (0.0, 0.0)
    assert 0 < share.high95 < 0.5


def test_a_log_cut_off_at_zero_draws_what_it_shows():
    answer, true = sample("commute", "controller.csv", "urrent", lambda amperes: amperes.clip(lower=0))
    assert answer.energy.drawn_wh.value == pytest.approx(true["drawn_wh"], rel=0.001)
    assert answer.energy.net_wh_per_km is None  # what came back is in it
    assert "flow-while-braked" not in {finding.code for finding in answer.findings}
