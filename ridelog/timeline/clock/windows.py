"""Lag and drift of two signals from the lags of windows: rough, but for signals of any kind."""

import math

import numpy as np

from ridelog.arrays import robust_scale
from ridelog.lazy import dataclass
from ridelog.timeline.clock.correlate import robust_line, window_lags
from ridelog.timeline.clock.lag_fit import LagFit, resampled_onto, student_ratio
from ridelog.timeline.clock.peak import Peak
from ridelog.timeline.clock.settings import DEFAULTS, ClockSettings
from ridelog.timeline.clock.signals import SignalPair


def fit_by_windows(pair: SignalPair, peak: Peak, settings: ClockSettings = DEFAULTS) -> LagFit:
    """Lag and drift from the lags of windows, by a robust line; the peak's lag where there are too few windows.

    Parameters
    ----------
    pair : the signals
    peak : where they fit as a whole
    settings : thresholds

    Returns
    -------
    Lag and, where it is significant, drift.
    """
    by_speed = pair.method == "speed"
    least_u_s = 0.25 * pair.step_s if by_speed else settings.power_u_s
    unseen_u_s = _unseen_drift_u_s(peak, settings)
    long_enough = peak.overlap_s >= (settings.drift_overlap_s if by_speed else settings.power_overlap_s)
    fit = LagFit(peak.lag_s, 0.0, 0.0)
    for window in _windows(peak.overlap_s, settings):
        line = _line_through_windows(pair, fit, window, settings) if long_enough else None
        if line is None:
            return LagFit(peak.lag_s, math.hypot(_peak_u_s(pair, peak, settings), least_u_s, unseen_u_s))
        drift_ppm, drift_u_ppm = 1e6 * line.drift, 1e6 * line.drift_u
        limit_ppm = max(settings.drift_u_limit_ppm if by_speed else 0.0, abs(drift_ppm) / 3)
        if drift_u_ppm > limit_ppm or abs(drift_ppm) > settings.largest_drift_ppm:
            return LagFit(peak.lag_s, math.hypot(line.middle_u_s, least_u_s, unseen_u_s))
        lag_u_s = math.hypot(line.middle_u_s, line.drift_u * line.middle_s, least_u_s)
        fit = LagFit(line.lag_s, lag_u_s, drift_ppm, drift_u_ppm)
    return fit


@dataclass(frozen=True)
class _Window:
    """Length of a window, and the largest shift that is tried in it, either way [s]."""

    length_s: float
    reach_s: float


def _windows(overlap_s: float, settings: ClockSettings) -> tuple[_Window, _Window]:
    """A first pass that reaches as far as a drift may lead, and a second one about the line of the first."""
    length_s = min(2 * settings.window_s, max(settings.window_s, overlap_s / 20))
    reach_s = min(max(4.0, 0.0015 * overlap_s), 0.2 * length_s)
    return _Window(length_s, reach_s), _Window(length_s, 0.5 * reach_s + 1.0)


@dataclass(frozen=True)
class _Line:
    """A line through the lags of windows, with standard uncertainties at their middle and of the drift [s], [1]."""

    lag_s: float
    drift: float
    middle_s: float
    middle_u_s: float
    drift_u: float


def _line_through_windows(pair: SignalPair, fit: LagFit, window: _Window, settings: ClockSettings) -> _Line | None:
    """The line through the windows about an earlier fit; ``None`` where too few agree or they span too little."""
    drift = 1e-6 * (fit.drift_ppm or 0.0)
    at_s, shift_s = _agreeing_windows(pair, fit.lag_s, drift, window, settings)
    if len(at_s) < settings.n_windows or np.ptp(at_s) + window.length_s < settings.drift_overlap_s:
        return None
    ahead_s = at_s - (at_s - fit.lag_s - shift_s) * (1 + drift)  # t - u
    slope, intercept_s = robust_line(at_s, ahead_s)
    middle_u_s, slope_u = _line_u(at_s, ahead_s - intercept_s - slope * at_s, 0.1 * pair.step_s)
    return _Line(intercept_s / (1 - slope), -slope, float(at_s.mean()), middle_u_s, slope_u)


def _line_u(at_s: np.ndarray, residual_s: np.ndarray, least_s: float) -> tuple[float, float]:
    """Standard uncertainties of a line through windows, at their middle and of its slope [s], [1].

    The median of the distances alone is often small by chance where windows are few, so that their root mean square
    counts too; and a spread known from n windows with n - 2 degrees of freedom needs Student's factor, which is put
    into the uncertainty: twice it is then as good as 95 % (JCGM 100:2008, G.3).
    """
    dof = max(len(at_s) - 2, 1)
    spread_s = max(robust_scale(residual_s), float(np.sqrt(np.sum(residual_s**2) / dof)), least_s) * student_ratio(dof)
    return spread_s / math.sqrt(len(at_s)), spread_s / float(np.sqrt(np.sum((at_s - at_s.mean()) ** 2)))


def _agreeing_windows(
    pair: SignalPair, lag_s: float, drift: float, window: _Window, settings: ClockSettings
) -> tuple[np.ndarray, np.ndarray]:
    """Middles of the windows whose agreement is believed, and their shifts from the given lag and drift [s]."""
    moved = resampled_onto(pair.other, len(pair.reference), pair.step_s, lag_s, drift)
    centre_s, shift_s, agreement = window_lags(pair.reference, moved, pair.step_s, window.length_s, window.reach_s)
    good_mask = np.isfinite(shift_s) & (np.nan_to_num(agreement) >= settings.least_agreement)
    return centre_s[good_mask], shift_s[good_mask]


def _unseen_drift_u_s(peak: Peak, settings: ClockSettings) -> float:
    """What a drift that is not found may do between the middle of the overlap, where the lag is, and the beginning."""
    return 1e-6 * settings.unseen_drift_ppm / math.sqrt(3) * peak.middle_s


def _peak_u_s(pair: SignalPair, peak: Peak, settings: ClockSettings) -> float:
    """Standard uncertainty of the peak's lag: from how the lags of eight or so windows scatter.

    Without four windows that agree: a peak of half-width w is located to about w times the root of the unexplained
    share of the spread, averaged over the independent stretches.
    """
    length_s = min(max(peak.overlap_s / 8, 60.0), 2 * settings.window_s)
    at_s, shift_s = _agreeing_windows(pair, peak.lag_s, 0.0, _Window(length_s, 4.0), settings)
    if len(at_s) >= 4:
        return robust_scale(shift_s) / math.sqrt(len(at_s))
    n_independent = max(peak.overlap_s / (2 * peak.width_s), 1.0)
    return peak.width_s * math.sqrt(max(1 - peak.agreement**2, 0.0) / n_independent)
