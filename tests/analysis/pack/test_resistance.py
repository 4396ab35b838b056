"""The pack's series resistance from the steps of the current."""

import numpy as np
import pytest

from ridelog.analysis.electrical.sensor import sensor_limits
from ridelog.analysis.pack.resistance import current_steps, resistance_q
from ridelog.settings.bike import SensorSection
from tests.places import others_recording

EXACT = sensor_limits(
    SensorSection(
        current_zero_limit_a=0.0, current_gain_limit_pct=0.0, charge_gain_limit_pct=0.0, voltage_gain_limit_pct=0.0
    )
)


def ride(*, step_s=0.2, ohm=0.1, trend_v_per_ah=0.0, noise_a=0.0, minutes=10, seed=1):
    """V = 48 − R I (references: COMPUTED example of a synthetic ride) with starts of 10 A and stops of −5 A."""
    time_s = step_s * np.arange(round(60 * minutes / step_s))
    phase_s = time_s % 30
    current_a = np.select([phase_s < 12, phase_s < 20, phase_s < 24], [10.0, 0.0, -5.0], 4.0)
    drawn_ah = np.concatenate(([0.0], np.cumsum(current_a[1:] * step_s / 3600)))
    voltage_v = 48 - ohm * current_a + trend_v_per_ah * drawn_ah
    noise = noise_a * np.random.default_rng(seed).standard_normal(len(time_s))
    return time_s, current_a + noise, voltage_v


def resistance(time_s, current_a, voltage_v, *, limits=EXACT, noise_a=0.0):
    usable = np.isfinite(voltage_v)
    return resistance_q(current_steps(time_s, current_a, voltage_v, usable), limits, noise_a)


@pytest.mark.parametrize("step_s", [0.1, 0.2, 0.5, 1.0, 2.0])
def test_steps_without_any_error_give_the_resistance_itself(step_s):
    """V = 48 − 0.1 I: 0.1 ohm at any step; only rounding is left."""
    found = resistance(*ride(step_s=step_s))
    assert found.value == pytest.approx(0.1, rel=1e-9)
    assert found.low95 == pytest.approx(0.1, rel=1e-6)
    assert found.high95 == pytest.approx(0.1, rel=1e-6)


def test_a_falling_open_circuit_voltage_is_not_taken_for_resistance():
    """13 cells of 14 Ah fall by some 0.9 V each over their charge: −0.84 V/Ah, 2.3 mV in 1 s at 10 A."""
    found = resistance(*ride(trend_v_per_ah=-0.84))
    assert found.value == pytest.approx(0.1, rel=1e-3)


def test_noise_of_the_current_does_not_flatten_the_line():
    """1 A of noise on steps whose mean square is about 17 A² would flatten it by 2/(17 + 2), a tenth."""
    values = [resistance(*ride(noise_a=1.0, seed=seed), noise_a=1.0) for seed in range(12)]
    assert np.mean([found.value for found in values]) == pytest.approx(0.1, rel=0.01)
    assert sum(found.low95 <= 0.1 <= found.high95 for found in values) >= 10


def test_single_wild_voltages_do_not_move_the_line():
    """Ten samples of 3000 that are 20 V off."""
    time_s, current_a, voltage_v = ride()
    voltage_v[100::300] += 20
    assert resistance(time_s, current_a, voltage_v).value == pytest.approx(0.1, rel=0.01)


def test_gains_of_current_and_voltage_widen_the_interval():
    """R reads g_V / g_I too high: ± 1 % and ± 0.5 % rectangular, 95 % of their sum within ± 1.184 % (trapezoid)."""
    limits = sensor_limits(
        SensorSection(
            current_zero_limit_a=0.0, current_gain_limit_pct=1.0, charge_gain_limit_pct=0.0, voltage_gain_limit_pct=0.5
        )
    )
    found = resistance(*ride(), limits=limits)
    # trapezoid of half-widths 1 and 0.5: P(|x| > t) = (1.5 - t)² / 2, 5 % at t = 1.5 - sqrt(0.1) = 1.184
    assert found.low95 == pytest.approx(0.1 * (1 - 0.01184), rel=1e-3)
    assert found.high95 == pytest.approx(0.1 * (1 + 0.01184), rel=1e-3)


def test_missing_samples_are_not_paired_across():
    """With every third stretch of 7 s lost, the pairs that are left still give the resistance."""
    time_s, current_a, voltage_v = ride()
    kept = time_s % 21 < 14
    assert resistance(time_s[kept], current_a[kept], voltage_v[kept]).value == pytest.approx(0.1, rel=1e-6)


@pytest.mark.parametrize("case", ["no steps", "flat voltage", "slow log", "rising with current", "one sample"])
def test_what_tells_no_resistance_gives_none(case):
    time_s, current_a, voltage_v = ride(step_s=10.0 if case == "slow log" else 0.2, minutes=60)
    if case == "no steps":
        current_a, voltage_v = np.full_like(current_a, 5.0), np.full_like(voltage_v, 47.5)
    if case == "flat voltage":
        voltage_v = np.full_like(voltage_v, 48.0)
    if case == "rising with current":
        voltage_v = 48 + 0.1 * current_a
    if case == "one sample":
        time_s, current_a, voltage_v = time_s[:1], current_a[:1], voltage_v[:1]
    assert resistance(time_s, current_a, voltage_v) is None


@pytest.mark.parametrize(("name", "low_ohm", "high_ohm"), [("25degC_US06", 0.02, 0.04), ("0degC_UDDS", 0.04, 0.10)])
def test_a_real_cell_on_a_tester_resists_as_such_cells_do(name, low_ohm, high_ohm):
    """A cell of some 3 Ah in the 18650 size has 20 to 40 milliohm at 25 °C, and two to three times that at 0 °C.

    From memory of data sheets and reviews. The tester reads voltage and current some 0.1 s apart, so that pairs 0.1 s
    apart give a third of it: the reason for a lag of 1 s.
    """
    path = others_recording(f"batt/{name}.mat")
    from scipy.io import loadmat

    log = loadmat(path, squeeze_me=True, struct_as_record=False)["meas"]
    time_s, current_a, voltage_v = (
        np.asarray(getattr(log, key), dtype=float) for key in ("Time", "Current", "Voltage")
    )
    kept = np.concatenate(([True], np.diff(time_s) > 0))
    found = resistance(time_s[kept], -current_a[kept], voltage_v[kept])
    assert low_ohm < found.low95 < found.high95 < high_ohm
