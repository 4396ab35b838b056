"""Drawn and returned with all that may be wrong with them: limits, the zero error, trials against closed forms."""

import numpy as np
import pandas as pd
import pytest

from ridelog.analysis.electrical.flow import electrical_flow
from ridelog.analysis.electrical.flow_model import Throughput
from ridelog.recording import Recording
from ridelog.settings.bike import SensorSection
from ridelog.uncertain.trials import exact


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


def noisy_coasting(seed, *, stop_a=-3.0):
    """Ten minutes: mostly noise of 0.2 A around 0 A, one second in ten of it 8 A out, and one stop in the middle."""
    rng = np.random.default_rng(seed)
    time_s = np.arange(0, 600, 0.2)
    current = np.where(time_s % 20 < 2, 8.0, 0.0)
    current[(time_s > 295) & (time_s < 297)] = stop_a
    frame = pd.DataFrame(
        {"current_a": np.round(current + 0.2 * rng.standard_normal(len(time_s)), 2)},
        index=pd.Index(time_s, name="time_s"),
    )
    recording = Recording("log.csv", "0" * 64, "csv", frame, None, "elapsed", can_show_return=True)
    return electrical_flow(recording, sensor=SensorSection(current_zero_limit_a=0.0, standby_draw_a=0.0))


@pytest.mark.parametrize("seed", range(12))
def test_no_part_of_a_ride_returns_more_than_the_ride(seed):
    """What noise feigns is taken off where it may have: the stop alone, or the rest alone, never exceeds both."""
    flow = noisy_coasting(seed)
    whole = flow.total.charge.returned.value
    parts = [flow.between(first_s, first_s + 20.0).charge.returned.value for first_s in range(0, 580, 20)]
    assert min(parts) >= -1e-12
    assert max(*np.cumsum(parts)) <= whole + 1e-12


@pytest.mark.parametrize("seed", range(3))
def test_what_is_taken_off_both_ways_leaves_the_net_charge(seed):
    """Drawn less returned is the trapezoid over the log less its zero; 0.1 % is what mixes at bounds of stretches."""
    flow = noisy_coasting(seed)
    both, levelled_a = flow.total.charge, flow.current_a - flow.zero.value_a
    assert both.net.value == pytest.approx(np.trapezoid(levelled_a, flow.time_s) / 3600, rel=1e-3)
    assert both.returned.value < np.trapezoid(np.maximum(-levelled_a, 0.0), flow.time_s) / 3600 / 3


def test_where_nothing_but_noise_came_back_it_stays_at_nothing():
    returned = noisy_coasting(3, stop_a=8.0).total.told.charge.returned.quantity()
    assert returned.low95 == 0.0
    assert returned.value < 3e-4
