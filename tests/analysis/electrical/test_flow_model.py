"""Drawn and returned with all that may be wrong with them: limits, the zero error, trials against closed forms."""

import numpy as np
import pandas as pd
import pytest

from ridelog.analysis.electrical.flow import electrical_flow
from ridelog.analysis.electrical.flow_model import (
    DEFAULT_LIMITS,
    LARGEST_STANDBY_A,
    Throughput,
    current_zero,
    sensor_limits,
)
from ridelog.analysis.electrical.rest import Rest
from ridelog.recording import Recording
from ridelog.settings.bike import SensorSection
from ridelog.uncertain.trials import exact


def test_limits_are_those_of_the_bike_file_completed_by_the_defaults():
    limits = sensor_limits(SensorSection(current_zero_limit_a=0.05, current_gain_limit_pct=2.0, standby_draw_a=0.06))
    assert (limits.zero_a, limits.gain, limits.standby_a) == (0.05, 0.02, 0.06)
    assert set(limits.assumed) == {"charge_gain_limit_pct", "voltage_gain_limit_pct"}
    assert limits.assumed["voltage_gain_limit_pct"] == DEFAULT_LIMITS["voltage_gain_limit_pct"]
    assert limits.voltage_gain == DEFAULT_LIMITS["voltage_gain_limit_pct"] / 100


def rest(mean_a, noise_a=0.1, resolution_a=0.0):
    return Rest(mean_a, 400, 80.0, noise_a, resolution_a)


def zero(mean_a, *, limit_a=0.2, standby_a=None, gain_pct=1.0, **how):
    sensor = SensorSection(current_zero_limit_a=limit_a, standby_draw_a=standby_a, current_gain_limit_pct=gain_pct)
    return current_zero(rest(mean_a, **how), sensor_limits(sensor))


def test_with_the_standby_draw_known_the_reading_at_rest_tells_the_zero():
    """By hand: 0.16 − 0.06 A; noise 0.1/√400; 1 % of 0.06 A for the gain."""
    found = zero(0.16, standby_a=0.06)
    assert found.known
    assert (found.value_a, found.noise_a) == pytest.approx((0.10, 0.005))
    assert (found.low_a, found.high_a) == pytest.approx((0.10 - 0.0006, 0.10 + 0.0006))


def test_a_step_of_the_log_that_no_noise_blurs_leaves_half_of_itself_open():
    found = zero(0.1, standby_a=0.0, noise_a=0.02, resolution_a=0.1)
    assert (found.low_a, found.high_a) == pytest.approx((0.05, 0.15))


def test_without_it_the_zero_lies_within_the_limit_and_leaves_a_possible_standby_draw():
    """0.1 A at rest: the zero is at most 0.1 A, and at least 0.1 − 0.4 A, which the limit of 0.2 A cuts."""
    found = zero(0.1)
    assert not found.known
    assert (found.low_a, found.high_a, found.value_a) == pytest.approx((-0.2, 0.1, 0.0))
    assert zero(0.35).low_a == pytest.approx(0.35 - LARGEST_STANDBY_A)


def test_a_reading_that_contradicts_the_limit_is_what_there_is():
    found = zero(-1.0)
    assert (found.low_a, found.high_a) == (-1.0, 0.0)


def test_a_log_that_never_rests_leaves_the_limit_alone():
    found = zero(None)
    assert (found.low_a, found.high_a, found.value_a, found.known) == (-0.2, 0.2, 0.0, False)


def test_two_windows_together_are_their_sum():
    both = Throughput(exact(3.0), exact(1.0)) + Throughput(exact(5.0), exact(0.5))
    assert (both.drawn.value, both.returned.value, both.net.value) == (8.0, 1.5, 6.5)
    assert both.recovered_pct.value == pytest.approx(100 * 1.5 / 8)
    assert not Throughput(exact(0.0), exact(0.0)).recovered_pct.known


def throughput(limit_a=0.0, gain_pct=0.0, charge_gain_pct=0.0):
    """Ten hours of 8 A out for 40 s and 4 A in for 10 s."""
    time_s = np.arange(0, 36_000, 1.0)
    frame = pd.DataFrame(
        {"current_a": np.where(time_s % 50 < 40, 8.0, -4.0), "voltage_v": 50.0}, index=pd.Index(time_s, name="time_s")
    )
    sensor = SensorSection(
        current_zero_limit_a=limit_a,
        current_gain_limit_pct=gain_pct,
        charge_gain_limit_pct=charge_gain_pct,
        voltage_gain_limit_pct=0.0,
    )
    recording = Recording("log.csv", "0" * 64, "csv", frame, None, "elapsed")
    return electrical_flow(recording, sensor=sensor).total.charge


@pytest.mark.parametrize(
    ("limits", "drawn_u", "returned_u"),
    [
        # u of a rectangle of half-width a is a/√3: gain 1 % of 64 and of 8 Ah; charge gain of what returned alone
        ({"gain_pct": 1.0}, 0.64 / np.sqrt(3), 0.08 / np.sqrt(3)),
        ({"charge_gain_pct": 1.0}, 0.0, 0.08 / np.sqrt(3)),
        # a zero of 0.1 A counts for the 8 h of drawing, and for the 2 h of return
        ({"limit_a": 0.1}, 0.8 / np.sqrt(3), 0.2 / np.sqrt(3)),
    ],
    ids=["gain", "charge gain", "zero"],
)
def test_one_error_alone_spreads_the_trials_as_its_rectangle(limits, drawn_u, returned_u):
    """Squares add up with those of what sampling at 1 Hz leaves open, some 0.02 Ah without any other error."""
    flow, sampled = throughput(**limits), throughput()
    assert sampled.drawn.u < 0.03
    assert (flow.drawn.value, flow.returned.value) == pytest.approx((64, 8), rel=0.01)
    assert flow.drawn.u == pytest.approx(np.hypot(drawn_u, sampled.drawn.u), rel=0.03)
    assert flow.returned.u == pytest.approx(np.hypot(returned_u, sampled.returned.u), rel=0.03)


def test_the_gain_cancels_in_the_share():
    assert throughput(gain_pct=5.0).recovered_pct.u < 0.1 * throughput(charge_gain_pct=5.0).recovered_pct.u
