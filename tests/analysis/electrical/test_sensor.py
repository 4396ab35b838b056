"""What the sensor keeps to, and the errors that are common to a ride: limits, and the spread that they promise."""

import numpy as np
import pytest

from ridelog.analysis.electrical.rest import Rest
from ridelog.analysis.electrical.sensor import DEFAULT_LIMITS, GAIN, ZERO, common_trials, sensor_limits
from ridelog.analysis.electrical.zero import current_zero
from ridelog.settings.bike import SensorSection


def test_limits_are_those_of_the_bike_file_completed_by_the_defaults():
    limits = sensor_limits(SensorSection(current_zero_limit_a=0.05, current_gain_limit_pct=2.0, standby_draw_a=0.06))
    assert (limits.zero_a, limits.gain, limits.standby_a) == (0.05, 0.02, 0.06)
    assert set(limits.assumed) == {"charge_gain_limit_pct", "voltage_gain_limit_pct"}
    assert limits.assumed["voltage_gain_limit_pct"] == DEFAULT_LIMITS["voltage_gain_limit_pct"]
    assert limits.voltage_gain == DEFAULT_LIMITS["voltage_gain_limit_pct"] / 100


def common(*, with_voltage=True):
    limits = sensor_limits(SensorSection(current_zero_limit_a=0.06, current_gain_limit_pct=3.0))
    nothing_seen = Rest(None, 0, 0.0, 0.0, 0.0)
    zero = current_zero(
        nothing_seen, limit_a=limits.zero_a, limit_stated=True, standby_a=limits.standby_a, gain=limits.gain
    )
    return common_trials(zero, limits, with_voltage=with_voltage)


@pytest.mark.parametrize(
    ("name", "middle", "half_width"),
    [("zero_a", 0.0, 0.06), ("current_gain", 1.0, 0.03), ("charge_gain", 1.0, 0.005), ("voltage_gain", 1.0, 0.01)],
)
def test_each_error_is_spread_over_its_limits(name, middle, half_width):
    """A rectangle of half-width a has the standard uncertainty a/√3 (JCGM 100, 4.3.7); √(1/5n) of it from n trials."""
    trials = getattr(common(), name)
    assert np.abs(trials - middle).max() <= half_width
    assert trials.std() == pytest.approx(half_width / np.sqrt(3), rel=5 * np.sqrt(1 / (5 * len(trials))))


def test_charge_does_not_hang_on_the_voltage():
    assert np.ptp(common(with_voltage=False).voltage_gain) == 0


def test_what_does_not_act_stands_at_its_best_value():
    only = common().only((GAIN,), 0.02)
    assert np.ptp(only.current_gain) > 0
    assert np.unique(only.zero_a).tolist() == [0.02]
    assert np.unique(only.charge_gain).tolist() == np.unique(only.voltage_gain).tolist() == [1.0]
    assert np.array_equal(common().only((ZERO,), 0.02).zero_a, common().zero_a)
