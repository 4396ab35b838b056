"""The zero error: by hand from the reading at rest, limits and standby draw; what contradicts itself is all held."""

from dataclasses import replace

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from ridelog.analysis.electrical.flow import electrical_flow
from ridelog.analysis.electrical.rest import Rest
from ridelog.analysis.electrical.zero import LARGEST_UNSTATED_ZERO_A, Zero, carried_range, current_zero
from ridelog.recording import Recording
from ridelog.settings.bike import SensorSection


def rest(mean_a, noise_a=0.1, resolution_a=0.0, standing_a=None):
    return Rest(mean_a, 400, 80.0, noise_a, resolution_a, standing_a)


def zero(mean_a, *, limit_a=0.2, stated=True, standby_a=None, gain=0.01, **how):
    return current_zero(rest(mean_a, **how), limit_a=limit_a, limit_stated=stated, standby_a=standby_a, gain=gain)


def test_with_the_standby_draw_known_the_reading_at_rest_tells_the_zero():
    """By hand: 0.16 − 0.06 A; noise 0.1/√400; 1 % of 0.06 A for the gain."""
    found = zero(0.16, standby_a=0.06)
    assert found.known
    assert (found.value_a, found.noise_a) == pytest.approx((0.10, 0.005))
    assert found.ranges_a == (pytest.approx((0.10 - 0.0006, 0.10 + 0.0006)),)


def test_a_step_of_the_log_that_no_noise_blurs_leaves_half_of_itself_open():
    found = zero(0.1, standby_a=0.0, noise_a=0.02, resolution_a=0.1)
    assert found.ranges_a == (pytest.approx((0.05, 0.15)),)


def test_a_level_at_which_nothing_shows_that_the_bike_stands_leaves_open_how_steady_is_steady():
    """By hand: 0.16 − 0.06 A, ± 1 % of 0.06 A and ± 0.05 A; without the draw the zero is 0.16 + 0.05 A at most."""
    idle = replace(rest(0.16), standing=False)
    found, without = (
        current_zero(idle, limit_a=0.3, limit_stated=True, standby_a=draw_a, gain=0.01) for draw_a in (0.06, None)
    )
    assert (found.value_a, found.known) == (pytest.approx(0.10), True)
    assert found.ranges_a == (pytest.approx((0.10 - 0.0506, 0.10 + 0.0506)),)
    assert without.ranges_a == (pytest.approx((-0.3, 0.21)),)


def test_without_it_the_zero_lies_within_the_limit_and_below_the_reading():
    """0.1 A at rest: the zero is at most 0.1 A, for electronics only draw."""
    found = zero(0.1)
    assert not found.known
    assert (found.ranges_a, found.value_a) == (((-0.2, 0.1),), 0.0)
    assert zero(0.35).ranges_a == ((-0.2, 0.2),)


def test_a_limit_that_nobody_stated_gives_way_to_a_reading_that_no_usual_draw_explains():
    """By hand: 0.5 A is 0.1 A more than lights and controller take; 5 A would leave 0.5 A at most."""
    assert zero(0.3, limit_a=0.15, stated=False).ranges_a == ((-0.15, 0.15),)
    assert zero(0.5, limit_a=0.15, stated=False).ranges_a == (pytest.approx((-0.15, 0.25)),)
    assert zero(None, limit_a=0.15, stated=False, standing_a=5.0).ranges_a == ((-0.15, LARGEST_UNSTATED_ZERO_A),)
    assert zero(-0.3, limit_a=0.15, stated=False).ranges_a == (pytest.approx((-0.45, -0.3)),)


def test_a_log_that_never_rests_leaves_the_limit_alone():
    found = zero(None)
    assert (found.ranges_a, found.value_a, found.known) == (((-0.2, 0.2),), 0.0, False)


def test_a_standby_draw_that_the_reading_contradicts_is_held_beside_what_the_reading_allows():
    """By hand: 0.06 A read, 3 A entered for 0.06: the zero is −2.94 A, or between −0.15 and 0.06 A."""
    found = zero(0.06, limit_a=0.15, stated=False, standby_a=3.0)
    assert found.ranges_a == (pytest.approx((-2.97, -2.91)), pytest.approx((-0.15, 0.06)))
    assert (found.value_a, found.known) == (0.0, False)
    spread = found.spread_over(np.linspace(0, 1, 1001))
    assert np.mean(spread < -1) == pytest.approx(0.5, abs=0.001)


def test_a_reading_below_zero_that_contradicts_the_stated_limit_keeps_both():
    assert zero(-1.0).ranges_a == (pytest.approx((-1.8, 0.0)),)


@given(
    reading_a=st.floats(-1.0, 1.0),
    limit_a=st.floats(0.0, 0.6),
    stated=st.booleans(),
    standby_a=st.none() | st.floats(0.0, 5.0),
)
def test_the_value_lies_between_the_ends(reading_a, limit_a, stated, standby_a):
    found = zero(reading_a, limit_a=limit_a, stated=stated, standby_a=standby_a)
    assert all(low <= high for low, high in found.ranges_a)
    assert found.low_a - 1e-12 <= found.value_a <= found.high_a + 1e-12


@given(reading_a=st.floats(-0.9, 0.9), limit_a=st.floats(0.01, 0.6), stated=st.booleans())
def test_the_range_moves_smoothly_with_the_reading(reading_a, limit_a, stated):
    """No end moves by more than twice what the reading moves by."""
    first, second = (carried_range(r, 0.0, limit_a, limit_stated=stated) for r in (reading_a, reading_a + 0.01))
    assert max(abs(a - b) for a, b in zip(first, second, strict=True)) <= 0.02 + 1e-12


def test_zeros_to_work_out_span_every_range_and_hold_the_value():
    zeros = Zero(0.0, ((-3.0, -2.0), (-0.1, 0.2)), 0.0, known=False).between(4)
    assert {-3.0, -2.0, -0.1, 0.0, 0.2} <= set(zeros)
    assert (np.diff(zeros) > 0).all()


# ---- a whole ride with a load that nobody entered ----

STEP_S = 0.2
TIME_S = np.arange(0, 1800, STEP_S)


def told_and_true(draw_a, zero_a, *, seed=1, **sensor):
    """Fifteen starts and stops at 5 Hz with a constant draw, read by a sensor whose zero is off."""
    rng = np.random.default_rng(seed)
    cycle = TIME_S % 120
    motor = np.where(cycle < 70, 9 + 4 * np.sin(2 * np.pi * TIME_S / 17), np.where((cycle >= 80) & (cycle < 88), -7, 0))
    true = motor + draw_a
    read = np.round(true + zero_a + rng.normal(0, 0.03, len(TIME_S)), 2)
    frame = pd.DataFrame({"current_a": read}, index=pd.Index(TIME_S, name="time_s"))
    recording = Recording("log.csv", "0" * 64, "csv", frame, None, "elapsed")
    speed = np.where(cycle < 88, 6.0, 0.0)
    flow = electrical_flow(recording, sensor=SensorSection(**sensor), speed_mps=speed)
    share = flow.total.charge.recovered_pct.quantity()
    return share, 100 * np.clip(-true, 0, None).sum() / np.clip(true, 0, None).sum()


@pytest.mark.parametrize("draw_a", [0.06, 0.2, 0.3, 0.4, 0.45, 0.5, 0.55, 0.7, 0.9, 1.2, 3.0])
@pytest.mark.parametrize("zero_a", [-0.05, 0.0, 0.1])
def test_a_standing_draw_that_nobody_entered_is_carried(draw_a, zero_a):
    share, true_pct = told_and_true(draw_a, zero_a)
    assert share.low95 <= true_pct <= share.high95
    assert share.low95 <= share.value <= share.high95


def test_the_interval_grows_with_the_draw():
    """Not slower than the share itself falls: relative to the value it never shrinks, from the draw of lights on."""
    widths = []
    for draw_a in (0.3, 0.4, 0.45, 0.5, 0.6, 0.7):
        share, _ = told_and_true(draw_a, 0.0)
        widths.append((share.high95 - share.low95) / share.value)
    assert (np.diff(widths) > -0.002).all()


@pytest.mark.parametrize("entered_a", [3.0, 0.6, 1.5])
def test_a_slip_in_the_standby_draw_leaves_the_truth_within(entered_a):
    """0.06 A flow; ten or fifty times that is entered."""
    share, true_pct = told_and_true(0.06, 0.0, standby_draw_a=entered_a)
    assert share.low95 <= true_pct <= share.high95
    assert share.low95 <= share.value <= share.high95
