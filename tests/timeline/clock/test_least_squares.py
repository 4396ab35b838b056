"""Lag and drift of two speeds by least squares, against signals whose lag and drift are known."""

from dataclasses import replace

import numpy as np
import pytest

from ridelog.timeline.clock.lag_fit import LagFit
from ridelog.timeline.clock.least_squares import _regression, _slope, _solved, fit_by_least_squares
from ridelog.timeline.clock.peak import Peak
from ridelog.timeline.clock.settings import DEFAULTS
from ridelog.timeline.clock.signals import SignalPair

STEP_S = 0.2


def speed_mps(at_s: np.ndarray) -> np.ndarray:
    """Four waves of no common period, between 2 and 10 m/s: known at every moment in closed form."""
    periods_s = (13.7, 29.3, 61.1, 7.9)
    return 6.0 + sum(np.sin(2 * np.pi * at_s / period_s + period_s) for period_s in periods_s)


def pair(lag_s: float, drift: float = 0.0, *, length_s: float = 1800.0, noise_mps: float = 0.0, seed: int = 1):
    """Reference and other: the other's grid point u belongs to the reference time lag + u / (1 + d)."""
    rng = np.random.default_rng(seed)
    grid_s = np.arange(0.0, length_s, STEP_S)
    noise = noise_mps * rng.standard_normal((2, len(grid_s)))
    return SignalPair("speed", speed_mps(grid_s) + noise[0], speed_mps(lag_s + grid_s / (1 + drift)) + noise[1], STEP_S)


def peak_at(lag_s: float, length_s: float = 1800.0) -> Peak:
    return Peak(lag_s, agreement=0.99, overlap_s=length_s - abs(lag_s), score=50.0, rival_ratio=0.1, width_s=3.0)


def fit(signals: SignalPair, lag_s: float, **settings: float) -> LagFit | None:
    length_s = len(signals.reference) * STEP_S
    return fit_by_least_squares(signals, peak_at(lag_s, length_s), LagFit(lag_s, 0.1), replace(DEFAULTS, **settings))


def test_a_lag_between_the_points_of_the_grid_is_found_without_noise() -> None:
    """12.34 s on a grid of 0.2 s. The straight line between grid points rounds the waves off a little: 1 ms."""
    found = fit(pair(12.34), 12.4)
    assert found is not None
    assert found.lag_s == pytest.approx(12.34, abs=1e-3)


@pytest.mark.parametrize("drift_ppm", [-60.0, 40.0])
def test_a_drift_is_found_with_its_lag_at_the_first_sample(drift_ppm: float) -> None:
    """Over 30 min, 60 ppm are 0.1 s; without noise they are told to 1 ppm."""
    found = fit(pair(5.0, 1e-6 * drift_ppm), 5.0)
    assert found is not None
    assert found.drift_ppm == pytest.approx(drift_ppm, abs=1.0)
    assert found.lag_s == pytest.approx(5.0, abs=2e-3)


def test_a_drift_shrinks_towards_none_by_what_usual_clocks_do() -> None:
    """Two normal distributions in closed form: what the signals say (variance s², found with any clock allowed), and a
    usual clock's u² = (100 ppm)² / 3. The drift is multiplied by u² / (u² + s²), its variance is s² u² / (u² + s²)."""
    noisy = pair(5.0, 60e-6, length_s=700.0, noise_mps=2.0)
    usual = fit(noisy, 5.0, unusual_ratio=0.0)
    free = fit(noisy, 5.0, unusual_ratio=0.0, unseen_drift_ppm=1e8)
    assert usual is not None
    assert free is not None
    assert usual.drift_ppm is not None
    assert usual.drift_u_ppm is not None
    assert free.drift_ppm is not None
    assert free.drift_u_ppm is not None
    share = 100**2 / 3 / (100**2 / 3 + free.drift_u_ppm**2)
    assert usual.drift_ppm == pytest.approx(share * free.drift_ppm, rel=1e-6)
    assert usual.drift_u_ppm == pytest.approx(share**0.5 * free.drift_u_ppm, rel=1e-6)


def test_a_clock_that_runs_far_off_is_not_drawn_to_a_usual_one() -> None:
    """2000 ppm, told clearly, stay 2000 ppm: few clocks run so, but no usual one does."""
    rough = LagFit(0.05, 0.1, 1990.0, 15.0)  # as windows tell it
    found = fit_by_least_squares(pair(0.0, 2000e-6, noise_mps=0.1), peak_at(0.0), rough)
    assert found is not None
    assert found.drift_ppm == pytest.approx(2000.0, abs=10.0)


def test_a_short_overlap_is_fitted_without_a_drift_but_allows_for_a_usual_one() -> None:
    """500 s: no drift. At 100 ppm either way (rectangular), 250 s before the middle, 250 · 1e-4 / √3 = 0.0144 s."""
    found = fit(pair(0.0, length_s=500.0), 0.0)
    assert found is not None
    assert found.drift_ppm is None
    assert found.lag_u_s == pytest.approx(np.hypot(250e-4 / 3**0.5, DEFAULTS.least_u_ratio * STEP_S), rel=0.02)


def test_the_interval_holds_the_truth_as_often_as_it_says() -> None:
    """Of 40 noisy pairs, 1.96 u holds the lag at least 34 times (95 % expected; 33 or fewer has p < 0.01)."""
    n_within = 0
    for seed in range(40):
        found = fit(pair(3.3, 20e-6, noise_mps=0.3, seed=seed), 3.3)
        assert found is not None
        n_within += abs(found.lag_s - 3.3) <= 1.96 * found.lag_u_s
    assert n_within >= 34


def test_a_start_far_off_is_not_followed_and_too_little_is_not_fitted() -> None:
    """3 s off is more than the fit may go; 10 s hold 50 grid points, and a steady speed none that tells of a lag."""
    assert fit(pair(12.34), 15.4) is None
    assert fit(pair(0.0, length_s=10.0), 0.0) is None
    steady = SignalPair("speed", np.full(3000, 5.0), np.full(3000, 5.0), STEP_S)
    assert fit(steady, 0.0) is None


def test_the_weights_told_are_those_that_the_result_was_made_with() -> None:
    """With strays that count less, weighted residuals leave nothing of the instruments: that is what was solved."""
    signals = pair(0.0, noise_mps=0.2, length_s=600.0)
    strays = np.where(np.arange(len(signals.other)) % 50 < 3, 4.0, 0.0)
    own_slope = _slope(signals.reference, STEP_S, DEFAULTS)
    data = _regression(signals.reference, signals.other + strays, own_slope, STEP_S, None, DEFAULTS)
    assert data is not None
    solution = _solved(data)
    assert solution is not None
    assert solution.weight.min() < 0.5
    left = data.instruments @ (solution.weight * solution.residual)
    scale = np.abs(data.instruments) @ (solution.weight * np.abs(solution.residual))
    assert np.all(np.abs(left) < 1e-9 * scale)
