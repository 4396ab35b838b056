"""How much may have come back unseen on a ride of which no sample shows a return. Bounds worked by hand."""

import io
from dataclasses import replace

import numpy as np
import pandas as pd
import pytest

import ridelog
from ridelog.analysis.electrical.bridges import Readings
from ridelog.analysis.electrical.flow import electrical_flow
from ridelog.analysis.electrical.rest import Rest
from ridelog.analysis.electrical.unseen_return import return_seen, unseen_return
from ridelog.recording import Recording
from ridelog.settings.bike import SensorSection
from ridelog.tell.ride import headline
from ridelog.uncertain.coverage import coverage_interval
from tests.analysis.electrical.test_charge import load_tester_log

N = 3601
TIME_S = np.arange(float(N))
FAULTLESS = SensorSection(
    current_zero_limit_a=0.0,
    current_gain_limit_pct=0.0,
    charge_gain_limit_pct=0.0,
    voltage_gain_limit_pct=0.0,
    standby_draw_a=0.0,
)


def readings(current_a, *, resolution_a=0.0, standing=None):
    nothing = np.zeros(N, dtype=bool)
    return Readings(
        TIME_S,
        current_a,
        np.ones(N),
        [],
        nothing if standing is None else standing,
        np.ones(N - 1, dtype=bool),
        nothing[1:],
        Rest(None, 0, 0.0, 0.0, resolution_a),
    )


def test_pulses_between_the_samples_are_as_rare_as_that_none_was_seen_allows():
    """E U of 10 A s, E exponential and U uniform: P(E U > x) is the mean of exp(-x/u) over u, 0.025 at x = 2.29."""
    u = (np.arange(100_000) + 0.5) / 100_000
    bound = 2.29
    assert np.exp(-bound / u).mean() == pytest.approx(0.025, abs=0.001)
    unseen = unseen_return(readings(np.full(N, 10.0)), np.full(N, 10.0))
    _, high = coverage_interval(unseen.trials_a * 3600)  # ampere-seconds over the hour
    assert high == pytest.approx(10.0 * bound, rel=0.1)
    assert unseen.trials_a.min() >= 0


def test_readings_of_nought_hide_up_to_half_of_the_last_digit():
    """1 A steps, half an hour at 0: 0.25 Ah at most; the half of the trials below zero hold 0 to that, evenly."""
    current_a = np.where(TIME_S < 1800, 0.0, 1.0)
    unseen = unseen_return(readings(current_a, resolution_a=1.0), current_a)
    assert coverage_interval(unseen.trials_a)[1] == pytest.approx(0.95 * 0.25, abs=0.01)
    fine = unseen_return(readings(current_a, resolution_a=0.01), current_a)
    assert coverage_interval(fine.trials_a)[1] < 0.005


def test_a_ride_that_shows_a_return_says_itself_how_sure_that_is():
    current_a = np.where(TIME_S == 100, -0.5, 5.0)
    assert return_seen(readings(current_a), current_a)
    assert unseen_return(readings(current_a), current_a) is None
    assert not return_seen(readings(current_a, standing=TIME_S == 100), current_a)  # a charger, or a push of the bike


def flow(current_a, **how):
    frame = pd.DataFrame({"current_a": current_a, "voltage_v": 50.0}, index=TIME_S)
    return electrical_flow(Recording("log.csv", "", "csv", frame, None, "elapsed", **how), sensor=FAULTLESS)


def test_nothing_returned_is_nought_with_an_upper_bound():
    found = flow(np.full(N, 5.0), can_show_return=True)
    for part in (found.total.charge, found.total.energy):
        share = part.recovered_pct.quantity()
        assert (part.returned.value, share.value, share.low95) == (0.0, 0.0, 0.0)
        assert 0 < share.high95 < 0.1
    assert [finding.code for finding in found.findings] == ["nothing-returned"]


def test_a_part_and_the_rest_add_up_to_the_whole():
    found = flow(np.full(N, 5.0), can_show_return=True)
    first, second = (found.between(*span).energy.returned for span in ((0.0, 900.0), (900.0, 3600.0)))
    np.testing.assert_allclose((first + second).trials, found.total.energy.returned.trials, atol=1e-9)


def test_noise_below_nought_at_rest_shows_that_a_return_would_be_seen():
    """0.02 A of noise around 0 for a minute, then 5 A: nothing came back, within some thousandths."""
    noise = 0.02 * np.random.default_rng(3).standard_normal(N)
    share = flow(np.where(TIME_S < 60, 0.0, 5.0) + noise).total.charge.recovered_pct.quantity()
    assert share.low95 == pytest.approx(0.0, abs=1e-3)
    assert 0 < share.high95 < 0.1


def test_a_drive_cycle_without_regen_gives_nought_where_its_numbers_carry_a_sign():
    """Regen was off below 10 °C. Written with discharge below zero, as the tester does, or with the sign turned."""
    time_s, channels = load_tester_log("0degC_UDDS")
    told = []
    for sign in (1, -1):
        table = pd.DataFrame(
            {
                "time (s)": time_s,
                "battery current (A)": sign * channels["current_a"] + 0.0,  # no -0.0
                "cell voltage 1 (V)": channels["voltage_v"],
            }
        )
        content = io.BytesIO(table.to_csv(index=False, float_format="%.5f").encode())
        content.name = "tester.csv"
        told.append(ridelog.measure(ridelog.load_ride([content])))
    assert told[0].charge.returned_ah is None  # nothing shows that this one could
    charge = told[1].charge
    assert (charge.returned_ah.value, charge.recovered_pct.low95) == (0.0, 0.0)
    assert 0 < charge.recovered_pct.high95 < 6.0  # the zero of a sensor that nobody stated: 0.15 A beside 2 A
    assert "0 Ah came back: 0 % (0" in headline(replace(told[1], findings=())).sentence


def test_a_log_that_writes_signs_and_cuts_off_at_zero_proves_nothing():
    """0.06 A at rest, 0.00 A for 100 s of riding: the draw of the electronics was outweighed, and none of it shown."""
    speed_mps = np.where(TIME_S < 600, 0.0, 6.0)
    current_a = np.where(TIME_S < 600, 0.06, np.where(TIME_S < 700, 0.0, 5.0))
    for written, shows in ((current_a, False), (np.where(current_a == 0, 0.06, current_a), True)):
        frame = pd.DataFrame({"current_a": written, "voltage_v": 50.0}, index=TIME_S)
        recording = Recording("log.csv", "", "csv", frame, None, "elapsed", writes_sign=True)
        assert electrical_flow(recording, speed_mps=speed_mps).shows_return is shows
        vouched = replace(recording, can_show_return=True)
        assert electrical_flow(vouched, speed_mps=speed_mps).shows_return
        assert not electrical_flow(replace(recording, can_show_return=False), speed_mps=speed_mps).shows_return


@pytest.mark.parametrize("seed", range(12))
def test_whatever_zero_noise_and_steps_feign_a_ride_without_regen_returned_nought(seed):
    """By turns driven and rolling, with the errors of usual sensors: the interval holds 0, and the value is 0."""
    rng = np.random.default_rng(seed)
    driven_a = np.repeat(rng.uniform(2, 12, 60) * (rng.random(60) < 0.6), 61)[:N]
    driven_a[600:660] = driven_a[3000:3060] = 0.0
    speed_mps = np.where((TIME_S - 600) % 2400 < 60, 0.0, 6.0)
    standby_a, zero_a, noise_a = rng.uniform(0.03, 0.15), rng.uniform(-0.15, 0.15), float(rng.choice([0.02, 0.1]))
    step_a = float(rng.choice([0.01, 0.1, 1.0]))
    read_a = np.round((driven_a + standby_a + zero_a + noise_a * rng.standard_normal(N)) / step_a) * step_a
    frame = pd.DataFrame({"current_a": read_a, "voltage_v": 50.0}, index=TIME_S)
    recording = Recording("log.csv", "", "csv", frame, None, "elapsed", can_show_return=True)
    sensor = SensorSection(current_zero_limit_a=0.15, standby_draw_a=standby_a if rng.random() < 0.5 else None)
    found = electrical_flow(recording, sensor=sensor, speed_mps=speed_mps)
    share = found.total.energy.recovered_pct.quantity()
    assert (share.value, share.low95) == (0.0, 0.0)
    assert 0 < share.high95 < 10.0
    assert "nothing-returned" in [finding.code for finding in found.findings]
