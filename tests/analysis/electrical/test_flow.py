"""What flowed in a span of time, and what spans of one ride share."""

import dataclasses
import math

import numpy as np
import pandas as pd
import pytest

from ridelog.analysis.electrical.flow import NO_FLOW, electrical_flow
from ridelog.recording import Recording
from ridelog.settings.bike import SensorSection


def flow_of(time_s, current, *, sensor=None, **more):
    frame = pd.DataFrame({"current_a": current, "voltage_v": 48.0}, index=pd.Index(time_s, name="time_s"))
    return electrical_flow(Recording("log.csv", "log", "csv", frame, None, "elapsed", **more), sensor=sensor)


def test_a_span_that_begins_before_the_first_known_current_counts_from_there():
    """Current is known from 10 s on and is 2 A: from 2 to 20 s 20 A·s are drawn, 20/3600 Ah."""
    time_s = np.arange(0.0, 101.0)
    current = np.where(time_s < 10, np.nan, np.where(time_s > 90, -1.0, 2.0))
    drawn = flow_of(time_s, current).between(2.0, 20.0).charge.drawn.quantity()
    assert drawn.value == pytest.approx(20 / 3600)
    assert drawn.low95 < 20 / 3600 < drawn.high95


@pytest.fixture
def steady():
    """Half an hour at 10 A, half an hour at 8 A; zero ± 0.2 A, gain ± 1 %, nothing else unsure."""
    time_s = np.arange(0.0, 3601.0)
    sensor = SensorSection(
        current_zero_limit_a=0.2, current_gain_limit_pct=1.0, charge_gain_limit_pct=0.0, voltage_gain_limit_pct=0.0
    )
    return flow_of(time_s, np.where(time_s < 1800, 10.0, 8.0), sensor=sensor, can_show_return=True)


def test_the_difference_of_two_halves_keeps_the_zero_and_the_gain_that_they_share(steady):
    """10 A and 8 A for half an hour differ by 1 Ah; a zero error shifts both alike, so that only the gain is left.

    ± 1 % of 1 Ah, rectangular: its middle 95 % are ± 0.0095 Ah; 5 % of that for 4000 trials and the one step between.
    Each half by itself is unsure by 0.5 h of ± 0.2 A: from two intervals taken as independent, ± 0.14 Ah would follow.
    """
    first, second = (steady.between(*span).charge.drawn for span in ((0.0, 1800.0), (1800.0, 3600.0)))
    difference = (first - second).quantity()
    assert difference.value == pytest.approx(1.0, abs=1e-3)
    assert (difference.high95 - difference.low95) / 2 == pytest.approx(0.0095, rel=0.05)
    alone = [(half.quantity().high95 - half.quantity().low95) / 2 for half in (first, second)]
    assert math.hypot(*alone) > 10 * 0.0095


def test_two_halves_add_up_to_the_whole(steady):
    """By their best values to rounding, by their intervals to 1 %: zero and gain are the same in all three."""
    halves = [steady.between(*span).energy.drawn for span in ((0.0, 1800.0), (1800.0, 3600.0))]
    added, whole = (halves[0] + halves[1]).quantity(), steady.total.energy.drawn.quantity()
    assert added.value == pytest.approx(whole.value, rel=1e-9)
    assert added.high95 - added.low95 == pytest.approx(whole.high95 - whole.low95, rel=0.01)


def test_a_return_that_the_log_cannot_show_is_unknown_in_every_window(steady):
    blind = dataclasses.replace(steady, shows_return=False)
    for window in (blind.total, blind.between(0.0, 100.0)):
        assert window.energy.drawn.known
        assert not window.energy.returned.known
        assert window.energy.recovered_pct.quantity() is None


def test_without_a_log_nothing_is_known():
    assert not NO_FLOW.total.charge.drawn.known
    assert not NO_FLOW.energy_between(0.0, 10.0).drawn.known


@pytest.mark.parametrize("span", [(400.0, 500.0), (-50.0, -10.0), (1100.0, 1200.0)])
def test_where_the_log_holds_nothing_it_is_not_known_what_flowed(span):
    """Ten minutes without a current, and the time before and after the log: not 0 ± 0 Wh."""
    time_s = np.arange(0.0, 1001.0)
    current = np.where((time_s > 200) & (time_s < 800), np.nan, np.where(time_s > 900, -1.0, 2.0))
    flow = flow_of(time_s, current)
    assert flow.between(*span).charge.drawn.quantity() is None
    assert flow.energy_between(*span).returned.quantity() is None
    assert flow.between(100.0, 500.0).charge.drawn.known


def test_a_voltage_column_without_a_number_gives_no_energy_and_says_so():
    time_s = np.arange(0.0, 101.0)
    frame = pd.DataFrame({"current_a": 2.0, "voltage_v": np.nan}, index=pd.Index(time_s, name="time_s"))
    flow = electrical_flow(Recording("log.csv", "log", "csv", frame, None, "elapsed"))
    assert flow.total.charge.drawn.known
    assert flow.total.energy.drawn.quantity() is None
    assert "no-voltage" in [finding.code for finding in flow.findings]


def test_power_whose_current_is_too_small_to_tell_a_voltage_gives_no_energy():
    """0.2 A and 10 W: not 0 ± 0 Wh."""
    time_s = np.arange(0.0, 101.0)
    frame = pd.DataFrame({"current_a": 0.2, "power_w": 10.0}, index=pd.Index(time_s, name="time_s"))
    flow = electrical_flow(Recording("log.csv", "log", "csv", frame, None, "elapsed"))
    assert flow.total.energy.drawn.quantity() is None


def gapped(averaged):
    """Stops and starts on a log that misses single samples and a whole minute, and ends before what is asked for."""
    rng = np.random.default_rng(7)
    time_s = np.delete(np.arange(0.0, 1200.0), [*range(600, 660), *rng.integers(1, 590, 30)])
    current = 4 + 8 * np.sin(time_s / 15) + 0.1 * rng.standard_normal(len(time_s))
    return flow_of(time_s, current, sensor=SensorSection(averaged=averaged), can_show_return=True)


SPANS_S = [
    (10.0, 30.5),
    (30.5, 77.25),
    (100.0, 101.0),
    (590.0, 670.0),
    (610.0, 640.0),
    (700.0, 700.0),
    (1190.0, 1300.0),
]


@pytest.mark.parametrize("averaged", [False, True])
def test_windows_together_are_the_sum_of_each_trial_by_trial(averaged):
    """Those that touch, that lie in a gap, across one, or beyond the log; what was not seen counts for nothing."""
    flow = gapped(averaged)
    each = [window.energy.returned for window in flow.windows(SPANS_S)]
    assert [part.known for part in each] == [True, True, True, True, False, True, True]
    together, added = flow.returned_in(SPANS_S), sum(part.or_else(0.0) for part in each)
    assert together.value == pytest.approx(added.value, abs=1e-12)
    np.testing.assert_allclose(together.trials, added.trials, atol=1e-6)  # errors between samples are kept to 10⁻⁷
    assert flow.returned_in([]).quantity().high95 == 0


def test_windows_asked_for_at_once_are_those_asked_for_one_by_one():
    flow, other = gapped(averaged=False), gapped(averaged=False)
    for many, span in zip(flow.windows(SPANS_S), SPANS_S, strict=True):
        one = other.between(*span)
        for a, b in zip((many.charge, many.energy), (one.charge, one.energy), strict=True):
            np.testing.assert_allclose(a.drawn.trials, b.drawn.trials, rtol=1e-12, atol=1e-15)
            assert a.returned.value == pytest.approx(b.returned.value, abs=1e-15, nan_ok=True)


@pytest.mark.parametrize(("rest_a", "braking_a", "cuts_off"), [(0.04, 0.0, True), (0.0, 0.0, False), (0.3, 0.3, False)])
def test_a_log_that_holds_0_while_riding_and_not_at_rest_cuts_off(rest_a, braking_a, cuts_off):
    """Noise of 0.03 A takes some readings of 0.04 A at rest to 0 as well; rest at 0 looks like a coarse log's."""
    time_s = np.arange(600.0)
    phase = time_s % 60
    stands, brakes = phase < 20, phase > 50
    noise = np.where(stands & (rest_a > 0), 0.03, 0.0) * np.random.default_rng(4).standard_normal(600)
    current = np.maximum(np.where(stands, rest_a, np.where(brakes, braking_a, 8.0)) + noise, 0.0).round(2)
    frame = pd.DataFrame({"current_a": current, "voltage_v": 40.0}, index=pd.Index(time_s, name="time_s"))
    log = Recording("log.csv", "0" * 64, "csv", frame, None, "elapsed")
    flow = electrical_flow(log, speed_mps=np.where(stands, 0.0, 6.0))
    (finding,) = [each for each in flow.findings if each.code == "cannot-show-return"]
    assert finding.facts["cuts_off"] is cuts_off
    assert not flow.shows_return
