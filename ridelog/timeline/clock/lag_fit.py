"""Lag and drift between two signals that are known to fit: as exactly as they tell it, and how exactly that is.

With lag and drift d, a grid point of the other recording at u belongs to the reference time t = lag + u / (1 + d), so
that t is ahead of u by L(t) = lag (1 + d) - d t. Fits work on L at the middle of what the signals tell, and on d.
"""

import math
from dataclasses import dataclass, replace

import numpy as np

from ridelog.recording import JoinMethod
from ridelog.timeline.clock.correlate import robust_line, smoothed, window_lags
from ridelog.timeline.clock.settings import DEFAULTS, ClockSettings


@dataclass(frozen=True)
class Peak:
    """The best shift of one pair of signals, and how it stands against chance and against the second best."""

    method: JoinMethod
    lag_s: float
    agreement: float
    overlap_s: float
    score: float
    rival_ratio: float
    width_s: float


@dataclass(frozen=True)
class Refined:
    """Lag (at the reference's first sample) and drift with their standard uncertainties."""

    lag_s: float
    lag_u_s: float
    drift_ppm: float | None = None
    drift_u_ppm: float | None = None


def refined(own: np.ndarray, its: np.ndarray, step_s: float, peak: Peak, settings: ClockSettings = DEFAULTS) -> Refined:
    """Lag and drift of two speeds by least squares, of two powers by the lags of windows.

    Parameters
    ----------
    own, its : signals of the reference and of the other, each on its own grid of ``step_s``
    step_s : of the grids [s]
    peak : where the signals fit as a whole
    settings : thresholds
    """
    rough = by_windows(own, its, step_s, peak, settings)
    if peak.method != "speed":
        return rough
    fitted = by_least_squares(own, its, step_s, (peak, rough), settings)
    return rough if fitted is None else fitted


# --- least squares --------------------------------------------------------------------------------


@dataclass(frozen=True)
class _Normal:
    """One step of the fit: how far L and d are off, their covariance, and the blocks' share of the information."""

    off: np.ndarray
    covariance: np.ndarray
    dof: float


def by_least_squares(
    own: np.ndarray, its: np.ndarray, step_s: float, start: tuple[Peak, Refined], settings: ClockSettings = DEFAULTS
) -> Refined | None:
    """Lag and drift that leave the least of the difference of two speeds that goes with how fast the speed changes.

    Where the other signal is late by δ, the two differ by δ times the slope of the speed. The slope is taken from one
    signal and held against the other's, so that the noise of neither weakens it (instrumental variables). The
    covariance comes from how the sums scatter between blocks of 20 s, whatever the noise is like (Liang and Zeger,
    1986), with Student's factor for the number of blocks that really tell something. A drift is held to what clocks do
    (`ClockSettings.unseen_drift_ppm`, and few that run far off): the less the signals tell of it, the more it is drawn
    towards none.

    Parameters
    ----------
    own, its : speeds of the reference and of the other, each on its own grid of ``step_s``, NaN where not known [m/s]
    step_s : of the grids [s]
    start : where the signals fit as a whole, and what windows made of it
    settings : thresholds

    Returns
    -------
    Refined; ``None`` where the fit does not settle near the start, or tells too little.

    References
    ----------
    K.-Y. Liang, S. L. Zeger, "Longitudinal data analysis using generalized linear models", Biometrika 73(1), 13-22
    (1986), doi 10.1093/biomet/73.1.13 (formula from memory).
    """
    peak, rough = start
    drift = 1e-6 * (rough.drift_ppm or 0.0)
    if abs(drift) < 1e-6 * settings.unseen_drift_ppm:
        drift = 0.0
    middle_s = max(peak.lag_s, 0.0) + peak.overlap_s / 2
    lag_s = rough.lag_s if drift else peak.lag_s
    ahead_s = lag_s * (1 + drift) - drift * middle_s  # L at the middle
    begun_s = ahead_s
    with_drift = peak.overlap_s >= settings.fit_drift_overlap_s
    step = None
    for _ in range(settings.n_fits):
        moved = moved_onto(its, len(own), step_s, (ahead_s + drift * middle_s) / (1 + drift), drift)
        step = _fit_step(own, moved, step_s, middle_s, with_drift, settings)
        if step is None:
            return None
        ahead_s, drift = ahead_s + float(step.off[0]), drift + float(step.off[1])
        if abs(ahead_s - begun_s) > settings.settle_s:
            return None
        if abs(step.off[0]) < 1e-4:
            break
    if step is None:
        return None
    return _with_usual_drift(ahead_s, drift, middle_s, step.covariance, (with_drift, step_s), settings)


def _with_usual_drift(
    ahead_s: float,
    drift: float,
    middle_s: float,
    covariance: np.ndarray,
    kind: tuple[bool, float],
    settings: ClockSettings,
) -> Refined:
    """The fit, its drift drawn towards what clocks do by as much as the signals leave open."""
    with_drift, step_s = kind
    usual = 1e-6 * settings.unseen_drift_ppm / math.sqrt(3)
    least_s = settings.least_u_ratio * step_s
    if not with_drift:
        u_s = math.sqrt(float(covariance[0, 0]) + (usual * middle_s) ** 2 + least_s**2)
        return Refined(ahead_s, u_s)
    ahead_s, drift, covariance = _drawn(np.array([ahead_s, drift]), covariance, usual, settings)
    to_start = np.array([1.0, middle_s])  # L(0) = L(middle) + d middle
    u_s = math.sqrt(float(to_start @ covariance @ to_start) + least_s**2)
    lag_s = (ahead_s + drift * middle_s) / (1 + drift)
    return Refined(lag_s, u_s, 1e6 * drift, 1e6 * math.sqrt(float(covariance[1, 1])))


def _drawn(
    fit: np.ndarray, covariance: np.ndarray, usual: float, settings: ClockSettings
) -> tuple[float, float, np.ndarray]:
    """L, drift and their covariance with what is known of clocks: most are usual ones, few run far off."""
    kinds = ((usual, 1 - settings.unusual_ratio), (1e-6 * settings.unusual_drift_ppm, settings.unusual_ratio))
    weights, means, spreads = [], [], []
    for clock_u, share in kinds:
        variance = float(covariance[1, 1]) + clock_u**2
        gain = covariance[:, 1] / variance
        weights.append(share * math.exp(-(float(fit[1]) ** 2) / (2 * variance)) / math.sqrt(variance))
        means.append(fit - gain * fit[1])
        spreads.append(covariance - np.outer(gain, covariance[1]))
    if not sum(weights):  # farther off than any of them
        return float(fit[0]), float(fit[1]), covariance
    parts = np.array(weights) / sum(weights)
    mean = parts @ np.array(means)
    apart = np.array(means) - mean
    spread = sum(part * (own + np.outer(off, off)) for part, own, off in zip(parts, spreads, apart, strict=True))
    return float(mean[0]), float(mean[1]), np.asarray(spread)


def _fit_step(
    own: np.ndarray, moved: np.ndarray, step_s: float, middle_s: float, with_drift: bool, settings: ClockSettings
) -> _Normal | None:
    """How far L and d are off, from the difference of two signals on one grid; ``None`` where too little tells it."""
    width = round(settings.slope_s / step_s)
    own_slope, its_slope = (np.gradient(smoothed(values, width), step_s) for values in (own, moved))
    known = np.flatnonzero(np.isfinite(own_slope + its_slope + own + moved))
    if len(known) < 60:
        return None
    since_s = known * step_s - middle_s
    # Beside scale and zero: errors of positions make slow riding and standing look quicker, never slower.
    slow = np.maximum(0.0, 1.0 - own[known] / settings.slow_mps)
    level = np.column_stack((np.ones(len(known)), own[known], *((slow,) if slow.any() else ())))

    def columns(slope: np.ndarray) -> np.ndarray:
        parts = (-slope[known], slope[known] * since_s) if with_drift else (-slope[known],)
        return np.column_stack((*parts, level))

    aside, across = columns(own_slope), columns(its_slope)
    apart = (own - moved)[known]
    weight = np.ones(len(known))
    for _ in range(2):  # what lies far out (stray fixes, lost samples) counts less (Huber)
        normal = (aside * weight[:, None]).T @ across
        if np.linalg.cond(normal) > 1e14:
            return None
        off = np.linalg.solve(normal, (aside * weight[:, None]).T @ apart)
        rest = apart - across @ off
        telling = np.abs(rest[np.abs(own_slope[known]) > 0.05])
        spread = 1.4826 * float(np.median(telling)) if len(telling) else 0.0
        weight = np.minimum(1.0, 2.5 * spread / np.maximum(np.abs(rest), 1e-12)) if spread else weight
    block = (known * step_s // settings.block_s).astype(int)
    block -= block[0]
    pulls = np.stack([np.bincount(block, weights=part) for part in (aside * (weight * rest)[:, None]).T])
    told = np.bincount(block, weights=aside[:, 0] * across[:, 0] * weight)
    told = np.maximum(told, 0.0)
    dof = float(told.sum() ** 2 / np.maximum((told**2).sum(), 1e-30)) - off.size + 2
    if dof < 3:
        return None
    inverse = np.linalg.inv(normal)
    n = int((told > 0).sum())
    covariance = inverse @ (pulls @ pulls.T) @ inverse.T * n / max(n - off.size, 1) * _student(dof) ** 2
    kept = 2 if with_drift else 1
    result, spread2 = np.zeros(2), np.zeros((2, 2))
    result[:kept], spread2[:kept, :kept] = off[:kept], covariance[:kept, :kept]
    return _Normal(result, spread2, dof)


def _student(dof: float) -> float:
    """By how much a spread known with ``dof`` degrees of freedom is widened: twice it is then as good as 95 %
    (JCGM 100:2008, G.3)."""
    from scipy.special import stdtrit

    return float(stdtrit(dof, 0.975)) / 1.96


def moved_onto(its: np.ndarray, n: int, step_s: float, lag_s: float, drift: float) -> np.ndarray:
    """The other's grid seen at the reference's first ``n`` grid points; NaN next to anything unknown."""
    at = (np.arange(n) * step_s - lag_s) * (1 + drift) / step_s
    result: np.ndarray = np.interp(at, np.arange(len(its)), its, left=np.nan, right=np.nan)
    return result


# --- windows --------------------------------------------------------------------------------------


def by_windows(
    own: np.ndarray, its: np.ndarray, step_s: float, peak: Peak, settings: ClockSettings = DEFAULTS
) -> Refined:
    """Lag and drift from the lags of windows, by a robust line; the peak's lag where there are too few windows.

    Parameters
    ----------
    own, its : signals of the reference and of the other, each on its own grid of ``step_s``
    step_s : of the grids [s]
    peak : where the signals fit as a whole
    settings : thresholds
    """
    by_speed = peak.method == "speed"
    least_u_s = 0.25 * step_s if by_speed else settings.power_u_s
    unseen_u_s = _unseen_drift_u_s(peak, settings)
    plain = Refined(peak.lag_s, math.hypot(_chance_s(own, its, step_s, peak, settings), least_u_s, unseen_u_s))
    if peak.overlap_s < (settings.drift_overlap_s if by_speed else settings.power_overlap_s):
        return plain
    window_s = min(2 * settings.window_s, max(settings.window_s, peak.overlap_s / 20))
    reach_s = min(max(4.0, 0.0015 * peak.overlap_s), 0.2 * window_s)
    lag_s, drift = peak.lag_s, 0.0
    result = plain
    for reach in (reach_s, 0.5 * reach_s + 1.0):
        at_s, shift_s = _good_windows(
            own, moved_onto(its, len(own), step_s, lag_s, drift), step_s, (window_s, reach), settings
        )
        if len(at_s) < settings.n_windows or np.ptp(at_s) + window_s < settings.drift_overlap_s:
            return plain
        ahead_s = at_s - (at_s - lag_s - shift_s) * (1 + drift)  # t - u
        slope, intercept_s = robust_line(at_s, ahead_s)
        drift = -slope
        lag_s = intercept_s / (1 + drift)
        middle_u_s, slope_u = _line_u(at_s, ahead_s - intercept_s - slope * at_s, 0.1 * step_s)
        drift_u_ppm = 1e6 * slope_u
        limit_ppm = max(settings.drift_u_limit_ppm if by_speed else 0.0, abs(1e6 * drift) / 3)
        if drift_u_ppm > limit_ppm or abs(1e6 * drift) > settings.largest_drift_ppm:
            return replace(plain, lag_u_s=math.hypot(middle_u_s, least_u_s, unseen_u_s))
        lag_u_s = math.hypot(middle_u_s, slope_u * float(at_s.mean()), least_u_s)
        result = Refined(lag_s, lag_u_s, 1e6 * drift, drift_u_ppm)
    return result


def _unseen_drift_u_s(peak: Peak, settings: ClockSettings) -> float:
    """What a drift that is not found may do between the middle of the overlap, where the lag is, and the beginning."""
    middle_s = max(peak.lag_s, 0.0) + peak.overlap_s / 2
    return 1e-6 * settings.unseen_drift_ppm / math.sqrt(3) * middle_s


def _line_u(at_s: np.ndarray, off_s: np.ndarray, least_s: float) -> tuple[float, float]:
    """Standard uncertainties of a line through windows, at their middle and of its slope [s], [1].

    The median of the distances alone is often small by chance where windows are few, so that their root mean square
    counts too; and a spread known from n windows with n − 2 degrees of freedom needs Student's factor, which is put
    into the uncertainty: twice it is then as good as 95 % (JCGM 100:2008, G.3).
    """
    dof = max(len(at_s) - 2, 1)
    spread_s = max(_spread(off_s), float(np.sqrt(np.sum(off_s**2) / dof)), least_s) * _student(dof)
    return spread_s / math.sqrt(len(at_s)), spread_s / float(np.sqrt(np.sum((at_s - at_s.mean()) ** 2)))


def _good_windows(
    own: np.ndarray, moved: np.ndarray, step_s: float, size_s: tuple[float, float], settings: ClockSettings
) -> tuple[np.ndarray, np.ndarray]:
    """Middles and lags of the windows (length and reach in ``size_s``) whose agreement is believed."""
    centre_s, shift_s, agreement = window_lags(own, moved, step_s, *size_s)
    good_mask = np.isfinite(shift_s) & (np.nan_to_num(agreement) >= settings.least_agreement)
    return centre_s[good_mask], shift_s[good_mask]


def _spread(values: np.ndarray) -> float:
    """Standard deviation of normal values, from the median of their distances to the median."""
    return 1.4826 * float(np.median(np.abs(values - np.median(values))))


def _chance_s(own: np.ndarray, its: np.ndarray, step_s: float, peak: Peak, settings: ClockSettings) -> float:
    """Standard uncertainty of the peak's lag: from how the lags of eight or so windows scatter.

    Without four windows that agree: a peak of half-width w is located to about w times the root of the unexplained
    share of the spread, averaged over the independent stretches.
    """
    window_s = min(max(peak.overlap_s / 8, 60.0), 2 * settings.window_s)
    moved = moved_onto(its, len(own), step_s, peak.lag_s, 0.0)
    at_s, shift_s = _good_windows(own, moved, step_s, (window_s, 4.0), settings)
    if len(at_s) >= 4:
        return _spread(shift_s) / math.sqrt(len(at_s))
    n_eff = max(peak.overlap_s / (2 * peak.width_s), 1.0)
    return peak.width_s * math.sqrt(max(1 - peak.agreement**2, 0.0) / n_eff)
