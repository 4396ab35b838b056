"""Lag and drift from the lags of windows, against signals whose lag and drift are known."""

import math

import numpy as np
import pytest

from ridelog.timeline.clock.correlate import smoothed
from ridelog.timeline.clock.peak import Peak
from ridelog.timeline.clock.settings import DEFAULTS
from ridelog.timeline.clock.signals import JoinMethod, SignalPair
from ridelog.timeline.clock.windows import fit_by_windows

STEP_S = 0.2


def pair(length_s: float, lag_s: float, drift: float, method: JoinMethod = "speed") -> SignalPair:
    """A wavering signal, and the same as a clock sees it that began later and runs fast."""
    rng = np.random.default_rng(4)
    grid_s = np.arange(0.0, length_s, STEP_S)
    course = smoothed(rng.standard_normal(len(grid_s)), 25)
    other = np.interp(lag_s + grid_s / (1 + drift), grid_s, course, right=np.nan)
    return SignalPair(method, course, other, STEP_S)


def peak(length_s: float, lag_s: float) -> Peak:
    return Peak(lag_s, agreement=0.9, overlap_s=length_s - lag_s, score=50.0, rival_ratio=0.1, width_s=3.0)


def test_windows_of_a_long_ride_tell_lag_and_drift() -> None:
    """An hour at 300 ppm: 1.1 s. Windows resolve a tenth of the grid, 0.02 s, which is 10 ppm over the hour."""
    found = fit_by_windows(pair(3600.0, 20.0, 300e-6), peak(3600.0, 20.0))
    assert found.drift_ppm == pytest.approx(300.0, abs=20.0)
    assert found.lag_s == pytest.approx(20.0, abs=0.05)
    assert found.drift_u_ppm is not None
    assert found.drift_u_ppm < DEFAULTS.drift_u_limit_ppm


def test_a_short_ride_keeps_the_lag_of_its_peak_and_allows_for_a_usual_drift() -> None:
    """15 min are less than drift is looked for in: at least 100 ppm / √3 over the 450 s to the middle, 0.026 s."""
    found = fit_by_windows(pair(900.0, 0.0, 0.0), peak(900.0, 0.0))
    assert (found.lag_s, found.drift_ppm) == (0.0, None)
    assert found.lag_u_s >= math.hypot(450e-4 / math.sqrt(3), 0.25 * STEP_S)
    assert found.lag_u_s < 0.2


def test_power_is_never_known_better_than_its_kinds_of_rider_allow() -> None:
    found = fit_by_windows(pair(4000.0, 0.0, 0.0, "power"), peak(4000.0, 0.0))
    assert found.lag_u_s >= DEFAULTS.power_u_s


def test_a_drift_of_power_below_three_times_its_uncertainty_is_not_believed() -> None:
    """Noise of the size of the signal itself; what windows make of it is told from none by no three uncertainties."""
    rng = np.random.default_rng(2)
    clean = pair(4000.0, 0.0, 5e-6, "power")
    noisy = SignalPair("power", clean.reference, clean.other + 0.2 * rng.standard_normal(len(clean.other)), STEP_S)
    assert fit_by_windows(noisy, peak(4000.0, 0.0)).drift_ppm is None


def test_without_windows_that_agree_the_peak_is_as_sharp_as_its_width_and_agreement_say() -> None:
    """w √(1 - r²) / √n: 3 s · √(1 - 0.81) / √(300 / 6) = 0.185 s; beside it 0.25 of the grid and an unseen drift."""
    rng = np.random.default_rng(3)
    n = int(300 / STEP_S)
    strangers = SignalPair("speed", rng.standard_normal(n), rng.standard_normal(n), STEP_S)
    found = fit_by_windows(strangers, peak(300.0, 0.0))
    expected_s = math.hypot(3 * math.sqrt(0.19) / math.sqrt(50), 0.25 * STEP_S, 150e-4 / math.sqrt(3))
    assert found.lag_u_s == pytest.approx(expected_s)
