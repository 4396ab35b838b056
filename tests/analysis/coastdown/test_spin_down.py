"""A wheel that spins down in the air."""

import math

import numpy as np
import pytest

from ridelog.analysis.coastdown.spin_down import drag_as_crr, drag_force_n, spin_down_rate, spin_down_torque_nm
from ridelog.uncertain.gum import Estimate


def test_inertia_times_deceleration_is_the_drag_torque():
    """J 0.20 kg m², 2.5 rad/s²: 0.5 N m (by hand); 5 % and 4 % combine to 6.40 %, times 1.96."""
    torque, interval = spin_down_torque_nm(Estimate(0.20, 0.01, math.inf), Estimate(2.5, 0.1, math.inf))
    assert torque.value == pytest.approx(0.5, rel=1e-12)
    assert torque.u == pytest.approx(0.5 * math.hypot(0.05, 0.04), rel=1e-12)
    assert interval.high95 == pytest.approx(0.5 * (1 + 1.959964 * math.hypot(0.05, 0.04)), rel=1e-6)
    assert interval.low95 + interval.high95 == pytest.approx(1.0, rel=1e-12)


def test_few_points_widen_the_interval():
    """With 4 degrees of freedom and an inertia that is known, Student's t is 2.776 (table)."""
    torque, interval = spin_down_torque_nm(Estimate(0.20, 0.0, math.inf), Estimate(2.5, 0.1, 4))
    assert torque.dof == pytest.approx(4)
    assert interval.high95 == pytest.approx(0.5 + 2.776 * 0.02, rel=1e-4)


def test_the_slope_of_the_speeds_is_the_deceleration():
    """ω = 30 − 2.5 t exactly: no scatter, no uncertainty."""
    time_s = np.arange(0, 8, 0.5)
    rate = spin_down_rate(time_s, 30 - 2.5 * time_s)
    assert rate.value == pytest.approx(2.5, rel=1e-12)
    assert rate.u == pytest.approx(0, abs=1e-12)


def test_half_a_newton_metre_looks_like_0_00136_of_rolling_resistance():
    """0.5 N m at 0.34 m are 1.470588 N (0.5/0.34), which over 110 kg × 9.80665 m/s² are 0.0013633 (by hand)."""
    force_n = drag_force_n(0.5, 2 * math.pi * 0.34)
    assert force_n == pytest.approx(1.470588, rel=1e-6)
    assert drag_as_crr(force_n, 110.0) == pytest.approx(0.0013633, abs=5e-8)


def test_an_inertia_of_nothing_is_refused():
    """A wheel has mass."""
    with pytest.raises(ValueError, match="above 0"):
        spin_down_torque_nm(Estimate(0.0, 0.0, math.inf), Estimate(2.5, 0.1, math.inf))
