"""Lag and drift of two speeds by least squares: as exactly as they tell it.

Lag, drift and L are those of `ridelog.timeline.clock.lag_fit`.
"""

import math

import numpy as np

from ridelog.arrays import robust_scale
from ridelog.lazy import dataclass
from ridelog.timeline.clock.correlate import smoothed
from ridelog.timeline.clock.lag_fit import LagFit, resampled_onto, student_ratio
from ridelog.timeline.clock.peak import Peak
from ridelog.timeline.clock.settings import DEFAULTS, ClockSettings
from ridelog.timeline.clock.signals import SignalPair


@dataclass(frozen=True)
class _Estimate:
    """L at the middle of the overlap and the drift, shape (2,) [s], [1], with their covariance, shape (2, 2)."""

    value: np.ndarray
    covariance: np.ndarray


def fit_by_least_squares(
    pair: SignalPair, peak: Peak, rough: LagFit, settings: ClockSettings = DEFAULTS
) -> LagFit | None:
    """Lag and drift that leave the least of the difference of two speeds that goes with how fast the speed changes.

    Where the other signal is late by δ, the two differ by δ times the slope of the speed. The slope is taken from one
    signal and held against the other's, so that the noise of neither weakens it (instrumental variables). The
    covariance comes from how the sums scatter between blocks of 20 s, whatever the noise is like (Liang and Zeger,
    1986), with Student's factor for the number of blocks that really tell something. A drift is held to what clocks do
    (`ClockSettings.unseen_drift_ppm`, and few that run far off): the less the signals tell of it, the more it shrinks
    towards none.

    Parameters
    ----------
    pair : speeds of the reference and of the other, NaN where not known [m/s]
    peak : where they fit as a whole
    rough : lag and drift by windows, to start from
    settings : thresholds

    Returns
    -------
    The fit; ``None`` where it does not settle near the start, or tells too little.

    References
    ----------
    K.-Y. Liang, S. L. Zeger, "Longitudinal data analysis using generalized linear models", Biometrika 73(1), 13-22
    (1986), doi 10.1093/biomet/73.1.13 (formula from memory).
    """
    middle_s = peak.middle_s
    with_drift = peak.overlap_s >= settings.fit_drift_overlap_s
    value = start = _starting_value(peak, rough, settings)
    covariance, own_slope = None, _slope(pair.reference, pair.step_s, settings)
    for _ in range(settings.n_fits):
        lag_s = (value[0] + value[1] * middle_s) / (1 + value[1])
        moved = resampled_onto(pair.other, len(pair.reference), pair.step_s, lag_s, value[1])
        drift_from_s = middle_s if with_drift else None
        step = _fit_step(_regression(pair.reference, moved, own_slope, pair.step_s, drift_from_s, settings))
        if step is None:
            return None
        value, covariance = value + step.value, step.covariance
        if abs(value[0] - start[0]) > settings.settle_s:
            return None
        if abs(step.value[0]) < 1e-4:
            break
    if covariance is None:
        return None
    estimate = _Estimate(value, covariance)
    least_u_s = settings.least_u_ratio * pair.step_s
    if with_drift:
        return _with_drift(_shrunk(estimate, settings), middle_s, least_u_s)
    return _without_drift(estimate, middle_s, least_u_s, settings)


def _starting_value(peak: Peak, rough: LagFit, settings: ClockSettings) -> np.ndarray:
    """L at the middle and drift of the peak or, where windows found a drift that is no usual one, of the windows."""
    drift = 1e-6 * (rough.drift_ppm or 0.0)
    if abs(drift) < 1e-6 * settings.unseen_drift_ppm:
        drift = 0.0
    lag_s = rough.lag_s if drift else peak.lag_s
    return np.array([lag_s * (1 + drift) - drift * peak.middle_s, drift])


# --- from the estimate to lag and drift -----------------------------------------------------------


def _without_drift(estimate: _Estimate, middle_s: float, least_u_s: float, settings: ClockSettings) -> LagFit:
    """The lag, less sure by what a usual clock may have drifted since the beginning."""
    drift_u = 1e-6 * settings.unseen_drift_ppm / math.sqrt(3)
    u_s = math.sqrt(float(estimate.covariance[0, 0]) + (drift_u * middle_s) ** 2 + least_u_s**2)
    return LagFit(float(estimate.value[0]), u_s)


def _with_drift(estimate: _Estimate, middle_s: float, least_u_s: float) -> LagFit:
    """The lag at the reference's first sample, carried there from the middle by the drift."""
    ahead_s, drift = (float(each) for each in estimate.value)
    to_start = np.array([1.0, middle_s])  # L(0) = L(middle) + d middle
    u_s = math.sqrt(float(to_start @ estimate.covariance @ to_start) + least_u_s**2)
    lag_s = (ahead_s + drift * middle_s) / (1 + drift)
    return LagFit(lag_s, u_s, 1e6 * drift, 1e6 * math.sqrt(float(estimate.covariance[1, 1])))


def _shrunk(estimate: _Estimate, settings: ClockSettings) -> _Estimate:
    """The estimate with what is known of clocks beforehand: most are usual ones, few run far off.

    The prior of the drift is a mixture of two normal distributions about none; of each, and of the mixture, mean and
    covariance are known in closed form.
    """
    value, covariance = estimate.value, estimate.covariance
    usual = 1e-6 * settings.unseen_drift_ppm / math.sqrt(3)
    priors = ((usual, 1 - settings.unusual_ratio), (1e-6 * settings.unusual_drift_ppm, settings.unusual_ratio))
    weights, means, covariances = [], [], []
    for prior_u, share in priors:
        variance = float(covariance[1, 1]) + prior_u**2
        gain = covariance[:, 1] / variance
        weights.append(share * math.exp(-(float(value[1]) ** 2) / (2 * variance)) / math.sqrt(variance))
        means.append(value - gain * value[1])
        covariances.append(covariance - np.outer(gain, covariance[1]))
    if not sum(weights):  # farther off than any of them
        return estimate
    shares = np.array(weights) / sum(weights)
    mean = shares @ np.array(means)
    apart = np.array(means) - mean
    whole = sum(share * (own + np.outer(off, off)) for share, own, off in zip(shares, covariances, apart, strict=True))
    return _Estimate(mean, np.asarray(whole))


# --- one step of the fit --------------------------------------------------------------------------


@dataclass(frozen=True)
class _Regression:
    """The difference of two signals at the grid points that both know, and what it may depend on.

    Attributes
    ----------
    difference : reference less other, shape (n,)
    regressors, instruments : shape (k, n): L, drift (where it is fitted), scale, zero and slow riding; slopes are those
        of the other in the regressors, those of the reference in the instruments
    changing_mask : grid points at which the speed changes so much that they tell of the lag
    block : number of the block of each grid point, from 0
    n_fitted : 2 with the drift, 1 without
    """

    difference: np.ndarray
    regressors: np.ndarray
    instruments: np.ndarray
    changing_mask: np.ndarray
    block: np.ndarray
    n_fitted: int


def _slope(values: np.ndarray, step_s: float, settings: ClockSettings) -> np.ndarray:
    """How fast a signal changes, smoothed, shape (n,)."""
    slope: np.ndarray = np.gradient(smoothed(values, round(settings.slope_s / step_s)), step_s)
    return slope


def _regression(
    reference: np.ndarray,
    moved: np.ndarray,
    own_slope: np.ndarray,
    step_s: float,
    drift_from_s: float | None,
    settings: ClockSettings,
) -> _Regression | None:
    """The regression for two signals on one grid, the drift counted from ``drift_from_s``; ``None`` if too short."""
    other_slope = _slope(moved, step_s, settings)
    known = np.flatnonzero(np.isfinite(own_slope + other_slope + reference + moved))
    if len(known) < 60:
        return None
    # Beside scale and zero: errors of positions make slow riding and standing look quicker, never slower.
    slow = np.maximum(0.0, 1.0 - reference[known] / settings.slow_mps)
    level = (np.ones(len(known)), reference[known], *((slow,) if slow.any() else ()))

    def rows(slope: np.ndarray) -> np.ndarray:
        if drift_from_s is None:
            return np.stack((-slope, *level))
        return np.stack((-slope, slope * (known * step_s - drift_from_s), *level))

    block = (known * step_s // settings.block_s).astype(int)
    return _Regression(
        difference=(reference - moved)[known],
        regressors=rows(other_slope[known]),
        instruments=rows(own_slope[known]),
        changing_mask=np.abs(own_slope[known]) > 0.05,
        block=block - block[0],
        n_fitted=1 if drift_from_s is None else 2,
    )


@dataclass(frozen=True)
class _Solution:
    """Coefficients, what they leave, and the weights of the grid points and the matrix that they were solved with."""

    coefficients: np.ndarray
    residual: np.ndarray
    weight: np.ndarray
    matrix: np.ndarray


def _solved(data: _Regression) -> _Solution | None:
    """The instrumental variables' solution; what lies far out (stray fixes, lost samples) counts less (Huber)."""
    weight = np.ones(len(data.difference))
    solution = None
    for _ in range(2):
        weighted = data.instruments * weight
        matrix = np.stack([data.regressors @ row for row in weighted])  # in half the time of one product
        if np.linalg.cond(matrix) > 1e14:
            return None
        coefficients = np.linalg.solve(matrix, weighted @ data.difference)
        residual = data.difference - coefficients @ data.regressors
        solution = _Solution(coefficients, residual, weight, matrix)
        spread = robust_scale(residual[data.changing_mask], centre=0.0)
        weight = np.minimum(1.0, 2.5 * spread / np.maximum(np.abs(residual), 1e-12)) if spread else weight
    return solution


def _covariance(data: _Regression, solution: _Solution) -> np.ndarray | None:
    """Covariance of the coefficients from how blocks scatter; ``None`` where too few blocks tell anything."""
    n_coefficients = solution.coefficients.size
    scores = data.instruments * (solution.weight * solution.residual)
    block_scores = np.stack([np.bincount(data.block, weights=row) for row in scores])
    information = data.instruments[0] * data.regressors[0] * solution.weight
    information = np.maximum(np.bincount(data.block, weights=information), 0.0)
    dof = float(information.sum() ** 2 / np.maximum((information**2).sum(), 1e-30)) - n_coefficients + 2
    if dof < 3:
        return None
    inverse = np.linalg.inv(solution.matrix)
    n = int((information > 0).sum())
    scatter = block_scores @ block_scores.T
    covariance: np.ndarray = inverse @ scatter @ inverse.T * n / max(n - n_coefficients, 1) * student_ratio(dof) ** 2
    return covariance


def _fit_step(data: _Regression | None) -> _Estimate | None:
    """How far L and drift are off, with their covariance; ``None`` where too little tells it."""
    solution = None if data is None else _solved(data)
    if data is None or solution is None:
        return None
    covariance = _covariance(data, solution)
    if covariance is None:
        return None
    off, spread = np.zeros(2), np.zeros((2, 2))
    off[: data.n_fitted] = solution.coefficients[: data.n_fitted]
    spread[: data.n_fitted, : data.n_fitted] = covariance[: data.n_fitted, : data.n_fitted]
    return _Estimate(off, spread)
