"""Correlation of signals known in parts, against plain loops and an independent library."""

import numpy as np
import pytest
import scipy.fft
import scipy.stats

from ridelog.timeline.clock.correlate import (
    correlate_all,
    on_grid,
    parabola_peak,
    peak_width_s,
    quick_length,
    robust_line,
    smoothed,
    window_lags,
)


def _with_holes(rng: np.random.Generator, n: int) -> np.ndarray:
    values = np.cumsum(rng.normal(size=n))
    values[rng.random(n) < 0.2] = np.nan
    return values


def test_lengths_of_quick_transforms_are_those_of_scipy() -> None:
    asked = [*range(1, 2000), 65_537, 1_234_567, 87_654_321]
    assert [quick_length(n) for n in asked] == [scipy.fft.next_fast_len(n, real=True) for n in asked]


@pytest.mark.parametrize("seed", range(5))
def test_every_shift_has_the_correlation_of_what_both_know_there(seed: int) -> None:
    """Against numpy's corrcoef at each shift, samples unknown to either left out."""
    rng = np.random.default_rng(seed)
    reference, other = _with_holes(rng, 83), _with_holes(rng, 60)
    found = correlate_all(reference, other, 0.5, 5.0)
    assert len(found.lag_s) > 90
    for lag_s, agreement, overlap_s in zip(found.lag_s, found.agreement, found.overlap_s, strict=True):
        lag = round(lag_s / 0.5)
        pairs = [(reference[k + lag], other[k]) for k in range(60) if 0 <= k + lag < 83]
        a, b = np.array([pair for pair in pairs if np.isfinite(pair).all()]).T
        assert overlap_s == pytest.approx(0.5 * len(a))
        assert agreement == pytest.approx(np.corrcoef(a, b)[0, 1], abs=1e-9)


def test_a_shift_without_enough_overlap_is_not_looked_at() -> None:
    found = correlate_all(np.arange(100.0), np.arange(50.0), 1.0, 30.0)
    assert found.overlap_s.min() == 30.0
    assert (found.lag_s.min(), found.lag_s.max()) == (-20.0, 70.0)


def test_a_signal_that_does_not_vary_agrees_with_nothing() -> None:
    assert np.isnan(correlate_all(np.full(100, 5.0), np.arange(100.0), 1.0, 10.0).agreement).all()


def test_signals_that_are_unknown_throughout_have_no_shift() -> None:
    assert len(correlate_all(np.full(100, np.nan), np.arange(100.0), 1.0, 10.0).lag_s) == 0


def test_a_grid_does_not_reach_into_gaps_or_beyond_the_ends() -> None:
    grid_s = np.arange(-1, 12.0)
    values = on_grid(np.array([0.0, 1.0, 2.0, 8.0, 9.0]), np.array([0.0, 10.0, 20.0, 80.0, 90.0]), grid_s, 3.0)
    assert np.isnan(values[[0, 4, 5, 6, 7, 8, 11, 12]]).all()
    assert values[[1, 2, 3, 9, 10]].tolist() == [0.0, 10.0, 20.0, 80.0, 90.0]


def test_a_fine_signal_is_averaged_about_each_grid_point() -> None:
    """A ramp stays itself (no delay), a ripple faster than the grid goes."""
    time_s = np.arange(0, 20, 0.01)
    grid_s = np.arange(1.0, 19.0, 0.2)
    assert on_grid(time_s, 3 * time_s, grid_s, 1.0) == pytest.approx(3 * grid_s, abs=0.02)
    assert np.abs(on_grid(time_s, np.sin(2 * np.pi * time_s / 0.05), grid_s, 1.0)).max() < 0.1


def test_a_parabola_has_its_top_where_it_was_put() -> None:
    at = np.arange(10.0)
    assert parabola_peak(5 - 0.3 * (at - 4.3) ** 2, 4) == pytest.approx(0.3)
    assert parabola_peak(at, 0) == 0.0
    assert parabola_peak(np.array([1.0, np.nan, 1.0]), 1) == 0.0


def test_a_moving_mean_leaves_a_ramp_and_holes_where_they_were() -> None:
    values = np.arange(50.0)
    values[20] = np.nan
    got = smoothed(values, 5)
    assert np.isnan(got[20])
    assert got[5:15] == pytest.approx(values[5:15])


def test_the_width_of_a_sine_is_a_sixth_of_its_period() -> None:
    """cos falls to one half at 60 degrees; the grid resolves 0.1 s."""
    time_s = np.arange(0, 600, 0.1)
    assert peak_width_s(np.sin(2 * np.pi * time_s / 30), 0.1) == pytest.approx(5.0, abs=0.2)


def test_windows_find_a_shift_that_grows() -> None:
    """other(t) = reference(t + 0.5 + t / 2000): the shift back onto the reference is that, to a tenth of the grid."""
    rng = np.random.default_rng(3)
    time_s = np.arange(0, 2400, 0.2)
    knots = smoothed(rng.normal(size=len(time_s) + 200), 25)[:-200]
    late = np.interp(time_s + 0.5 + time_s / 2000, time_s, knots)
    centre_s, lag_s, agreement = window_lags(knots, late, 0.2, 300.0, 4.0)
    assert centre_s.tolist() == [150.0 + 300.0 * k for k in range(8)]
    assert lag_s == pytest.approx(0.5 + centre_s / 2000, abs=0.02)
    assert agreement.min() > 0.95


def test_a_window_whose_best_shift_lies_at_the_end_of_reach_tells_none() -> None:
    time_s = np.arange(0, 600, 0.2)
    wave = np.sin(time_s / 5)
    _, lag_s, _ = window_lags(wave, np.sin((time_s + 5) / 5), 0.2, 300.0, 2.0)
    assert np.isnan(lag_s).all()


def test_the_robust_line_is_that_of_an_independent_library() -> None:
    """Against scipy.stats.theilslopes, with outliers."""
    rng = np.random.default_rng(8)
    x = np.sort(rng.uniform(0, 5000, 21))
    y = 3.0 - 1e-4 * x + rng.normal(0, 0.1, 21)
    y[[3, 17]] += 50.0
    slope, intercept, _, _ = scipy.stats.theilslopes(y, x)
    assert robust_line(x, y) == pytest.approx((slope, intercept))


def test_a_fast_log_between_the_points_of_the_grid_is_not_shifted() -> None:
    """Samples at 10 Hz fall on the bounds of cells of 0.2 s every other time: a straight line stays where it is."""
    time_s = np.arange(0.0, 60.0, 0.1)
    grid_s = np.arange(0.0, 59.0, 0.2)
    assert on_grid(time_s, 2.0 * time_s, grid_s, 2.0)[1:] == pytest.approx(2.0 * grid_s[1:], abs=1e-9)
