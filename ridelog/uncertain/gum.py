"""What measured inputs do to a result: standard uncertainties, their combination, the factor to 95 % (JCGM 100:2008).

The law of propagation of uncertainty, for results that follow their inputs in a straight line near the best values.
Where they do not (shares near 0 or 100 %, small denominators), `ridelog.uncertain.monte_carlo` answers instead; both
become an uncertainty budget for people in `ridelog.uncertain.budget`.

References
----------
JCGM 100:2008, Evaluation of measurement data: Guide to the expression of uncertainty in measurement (GUM).
"""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from ridelog.arrays import Floats

Model = Callable[[Floats], Floats | float]
P_COVERAGE = 0.95  # every interval of ridelog


# --- standard uncertainties of single inputs ------------------------------------------------------


def rectangular_u(half_width: float) -> float:
    """u of a quantity known only to lie within ± ``half_width``: half_width/√3 (JCGM 100, 4.3.7)."""
    return _not_negative(half_width, "half_width") / math.sqrt(3)


def triangular_u(half_width: float) -> float:
    """u where values near the middle are likelier, none beyond ± ``half_width``: half_width/√6 (JCGM 100, 4.3.9)."""
    return _not_negative(half_width, "half_width") / math.sqrt(6)


def arcsine_u(half_width: float) -> float:
    """u of a quantity that swings as a sine within ± ``half_width``: half_width/√2 (JCGM 100, H.1.3.4)."""
    return _not_negative(half_width, "half_width") / math.sqrt(2)


def expanded_to_u(half_width: float, factor: float) -> float:
    """u out of a certificate's ± ``half_width`` and its coverage factor (JCGM 100, 4.3.3); see `coverage_factor`."""
    if factor <= 0:
        raise ValueError(f"a coverage factor must be above 0, not {factor:g}")
    return _not_negative(half_width, "half_width") / factor


def judged_dof(relative_u: float) -> float:
    """Degrees of freedom of a u that is itself only known to ± ``relative_u`` (0.25 = 25 %) (JCGM 100, G.4.2)."""
    return math.inf if _not_negative(relative_u, "relative_u") == 0 else 0.5 * relative_u**-2


@dataclass(frozen=True)
class Estimate:
    """A best value, its standard uncertainty (same unit) and the degrees of freedom of that."""

    value: float
    u: float
    dof: float


def mean_estimate(observations: ArrayLike) -> Estimate:
    """Mean of repeated, independent observations, with u = s/√n and n − 1 degrees of freedom (JCGM 100, 4.2).

    Raises
    ------
    ValueError : fewer than two observations, or one that is not finite
    """
    means = simultaneous_means(np.atleast_2d(np.asarray(observations, dtype=float)))
    return Estimate(float(means.values[0]), float(means.u[0]), means.dof)


@dataclass(frozen=True)
class Estimates:
    """Several quantities at once: ``values`` shape (n,), ``covariance`` shape (n, n), ``dof`` of all of them."""

    values: Floats
    covariance: Floats
    dof: float = math.inf

    @property
    def u(self) -> Floats:
        """Standard uncertainties, shape (n,)."""
        spread: Floats = np.sqrt(np.maximum(np.diag(self.covariance), 0.0))
        return spread

    @property
    def correlation(self) -> Floats:
        """Correlation coefficients, shape (n, n); those of a quantity without uncertainty are 0."""
        outer = np.outer(self.u, self.u)
        result = np.divide(self.covariance, outer, out=np.zeros_like(outer), where=outer > 0)
        np.fill_diagonal(result, 1.0)
        return result


def simultaneous_means(observations: ArrayLike) -> Estimates:
    """Means of quantities that were observed together, with the covariances of these means (JCGM 100, 5.2.3, H.2).

    Parameters
    ----------
    observations : shape (n quantities, n observations); a column is one moment

    Raises
    ------
    ValueError : fewer than two observations, or one that is not finite
    """
    table = np.asarray(observations, dtype=float)
    n = table.shape[1]
    if n < 2:
        raise ValueError(f"a spread needs at least 2 observations, not {n}")
    if not np.isfinite(table).all():
        raise ValueError("an observation is not a finite number")
    off = table - table.mean(axis=1, keepdims=True)
    return Estimates(table.mean(axis=1), off @ off.T / (n * (n - 1)), n - 1)


# --- combining them -------------------------------------------------------------------------------


@dataclass(frozen=True)
class Contribution:
    """One source of uncertainty of a result.

    Parameters
    ----------
    name : for people, e.g. "current zero"
    u : standard uncertainty of the input [unit of the input]
    sensitivity : what the result changes by when the input changes by 1 [unit of the result per unit of the input]
    dof : degrees of freedom of ``u``; infinite where it is taken as known
    advice : what would shrink it, for people
    """

    name: str
    u: float
    sensitivity: float = 1.0
    dof: float = math.inf
    advice: str = ""

    def __post_init__(self) -> None:
        """Refuse what no uncertainty can be."""
        if not (math.isfinite(self.u) and self.u >= 0 and math.isfinite(self.sensitivity) and self.dof > 0):
            raise ValueError(f"{self.name}: u = {self.u:g}, sensitivity {self.sensitivity:g}, dof {self.dof:g}")

    @property
    def signed_u(self) -> float:
        """``sensitivity × u`` [unit of the result]."""
        return self.sensitivity * self.u


@dataclass(frozen=True)
class Combined:
    """The combined uncertainty of a result.

    ``u_c`` : combined standard uncertainty · ``dof`` : effective degrees of freedom, as computed · ``factor`` :
    Student's t for ``dof`` truncated to an integer · ``expanded`` : ``factor × u_c`` · ``shares_pct`` : each
    contribution's part of the variance, in the order given. They add to 100 less what second-order terms take; one can
    be negative where correlations take uncertainty away; ``None`` where there is no uncertainty to share.
    """

    u_c: float
    dof: float
    factor: float
    expanded: float
    shares_pct: tuple[float, ...] | None


def combine(
    contributions: Sequence[Contribution],
    correlation: ArrayLike | None = None,
    *,
    p: float = P_COVERAGE,
    second_order_variance: float = 0.0,
) -> Combined:
    """Combine contributions by the law of propagation of uncertainty.

    ``u_c² = Σ (c_i u_i)² + 2 Σ Σ c_i c_j u_i u_j r_ij`` (JCGM 100, equations 13 and 16); degrees of freedom by
    Welch–Satterthwaite (G.2b), truncated for the coverage factor (G.4.1).

    Parameters
    ----------
    contributions : at least one
    correlation : shape (n, n), r_ij of the *inputs*; none means independent
    p : coverage probability of ``expanded``
    second_order_variance : what `second_order_variance` found [unit of the result, squared]; the degrees of freedom are
        those of the other terms

    Raises
    ------
    ValueError : nothing to combine, a matrix that no quantities can have as their correlations, or second-order terms
        that would make the variance negative

    Notes
    -----
    Welch–Satterthwaite asks for independent terms. Inputs that are correlated, directly or through others, are
    therefore taken together as one term. Its degrees of freedom are exact where all were observed together n times (a
    linear combination of such means is the mean of n combinations: n − 1); where they differ the smallest is taken.
    """
    if not contributions:
        raise ValueError("there is no contribution to combine")
    n = len(contributions)
    r = np.eye(n) if correlation is None else _checked_correlation(correlation, n)
    signed = np.array([item.signed_u for item in contributions])
    parts = signed * (r @ signed)
    first_order = max(float(parts.sum()), 0.0)
    variance = first_order + second_order_variance
    if not variance >= 0:
        raise ValueError("second-order terms outweigh the others: the series does not hold, use Monte Carlo")
    dof = _effective_dof(np.array([item.dof for item in contributions]), parts, r)
    factor = coverage_factor(dof, p=p)
    u_c = math.sqrt(variance)
    shares = tuple(float(part) for part in 100 * parts / variance) if variance > 0 else None
    return Combined(u_c, dof, factor, factor * u_c, shares)


def coverage_factor(dof: float = math.inf, *, p: float = P_COVERAGE) -> float:
    """Student's t for a two-sided coverage probability ``p``, ``dof`` truncated to an integer of at least 1 (G.4.1)."""
    from scipy.special import ndtri, stdtrit

    if not 0 < p < 1:
        raise ValueError(f"a coverage probability lies between 0 and 1, not at {p:g}")
    if math.isinf(dof):
        return float(ndtri((1 + p) / 2))
    whole = max(math.floor(dof * (1 + 1e-9)), 1)  # 4 that was computed as 3.9999999999 is 4
    return float(stdtrit(whole, (1 + p) / 2))


def _effective_dof(dof: Floats, parts: Floats, r: Floats) -> float:
    """Welch–Satterthwaite over groups of correlated contributions; ``parts`` are their terms of the variance."""
    linked = np.abs(r) > 1e-12  # less is rounding
    for _ in range(len(dof)):  # until what is linked through others is linked too
        linked = linked @ linked
    groups = {tuple(np.flatnonzero(row)) for row in linked}
    spread = sum(float(parts[list(group)].sum()) ** 2 / float(dof[list(group)].min()) for group in groups)
    return math.inf if spread == 0 else float(parts.sum()) ** 2 / spread


def _checked_correlation(correlation: ArrayLike, n: int) -> Floats:
    r = np.asarray(correlation, dtype=float)
    if r.shape != (n, n):
        raise ValueError(f"the correlations of {n} contributions need shape ({n}, {n}), not {r.shape}")
    if not (np.isfinite(r).all() and np.allclose(r, r.T, atol=1e-9) and np.allclose(np.diag(r), 1.0, atol=1e-9)):
        raise ValueError("correlations must be finite and symmetric, with 1 on the diagonal")
    if np.linalg.eigvalsh(r)[0] < -1e-9 * n:
        raise ValueError("correlations contradict each other: some combination would have a negative variance")
    return r


# --- models ---------------------------------------------------------------------------------------


def sensitivities(model: Model, values: ArrayLike, u: ArrayLike, *, step_u: float = 1.0) -> Floats:
    """Partial derivatives by central differences, shape (n results, n inputs).

    Parameters
    ----------
    model : takes inputs of shape (n,), gives one result or shape (m,)
    values, u : best values of the inputs and their standard uncertainties, shape (n,); where u is 0 the derivative is
        not needed and left at 0
    step_u : step to either side in units of u. The default, 1, is that of JCGM 100, 5.1.3 note 2: the slope over the
        range that the input may really be in, exact up to quadratic models
    """
    x, spread = np.asarray(values, dtype=float), np.asarray(u, dtype=float)
    columns = []
    for i, step in enumerate(spread * step_u):
        if step == 0:
            columns.append(np.zeros_like(np.atleast_1d(model(x))))
            continue
        up, down = x.copy(), x.copy()
        up[i], down[i] = x[i] + step, x[i] - step
        columns.append((np.atleast_1d(model(up)) - np.atleast_1d(model(down))) / (up[i] - down[i]))
    return np.stack(columns, axis=-1)


def propagate(model: Model, inputs: Estimates, *, jacobian: ArrayLike | None = None) -> Estimates:
    """Results of a model and their covariances, ``J V Jᵀ`` (JCGM 100, 5.2.2 and H.2.3).

    Parameters
    ----------
    model : takes inputs of shape (n,), gives one result or shape (m,)
    inputs : n quantities; their degrees of freedom are those of the results
    jacobian : shape (m, n); by `sensitivities` where none is given
    """
    given = sensitivities(model, inputs.values, inputs.u) if jacobian is None else np.asarray(jacobian, dtype=float)
    j = np.atleast_2d(given)
    return Estimates(np.atleast_1d(np.asarray(model(inputs.values))), j @ inputs.covariance @ j.T, inputs.dof)


def second_order_variance(model: Model, values: ArrayLike, u: ArrayLike) -> float:
    """What curvature adds to the variance of one result of independent, normally distributed inputs.

    ``Σ_i Σ_j [½ (∂²f/∂x_i∂x_j)² + ∂f/∂x_i · ∂³f/∂x_i∂x_j²] u_i² u_j²`` (JCGM 100, 5.1.2 note), by central differences
    over ± u. It is negative where the curve flattens enough.

    Returns
    -------
    variance [unit of the result, squared]
    """
    x, spread = np.asarray(values, dtype=float), np.asarray(u, dtype=float)
    steps = list(np.diag(spread))

    def at(shift: Floats) -> float:
        return float(np.squeeze(model(x + shift)))

    def curve(around: Floats, e: Floats) -> float:
        return at(around + e) - 2 * at(around) + at(around - e)

    total = 0.0
    for i, a in enumerate(steps):
        slope = (at(a) - at(-a)) / 2
        for j, b in enumerate(steps):
            bend = curve(0 * a, a) if i == j else (at(a + b) - at(a - b) - at(b - a) + at(-a - b)) / 4
            total += bend**2 / 2 + slope * (curve(a, b) - curve(-a, b)) / 2
    return total


@dataclass(frozen=True)
class Line:
    """A fitted straight line ``intercept + slope · (x − x0)``; ``residual_s`` is the spread of the points about it."""

    x0: float
    coefficients: Estimates
    residual_s: float

    @property
    def intercept(self) -> Estimate:
        """The line's value at ``x0``."""
        return self.at(self.x0)

    @property
    def slope(self) -> Estimate:
        """The line's change per unit of x."""
        return Estimate(float(self.coefficients.values[1]), float(self.coefficients.u[1]), self.coefficients.dof)

    def at(self, x: float) -> Estimate:
        """The line's value at ``x``, with the correlation of intercept and slope (JCGM 100, H.3.4)."""
        weights = np.array([1.0, x - self.x0])
        variance = float(weights @ self.coefficients.covariance @ weights)
        return Estimate(float(weights @ self.coefficients.values), math.sqrt(max(variance, 0.0)), self.coefficients.dof)


def fit_line(x: ArrayLike, y: ArrayLike, *, x0: float = 0.0) -> Line:
    """Least-squares straight line of y on x, all uncertainty in y, alike for all points, estimated from the scatter.

    Parameters
    ----------
    x, y : shape (n,), at least three points
    x0 : where the intercept is taken (JCGM 100, H.3)

    Raises
    ------
    ValueError : fewer than three points, all at one x, or not finite
    """
    off, height = np.asarray(x, dtype=float) - x0, np.asarray(y, dtype=float)
    n = len(off)
    if n < 3 or len(height) != n or not (np.isfinite(off).all() and np.isfinite(height).all()):
        raise ValueError(f"a line with its uncertainty needs at least 3 finite points, not x {n}, y {len(height)}")
    middle = off.mean()
    width = float(((off - middle) ** 2).sum())
    if width == 0:
        raise ValueError("all points lie at one x: no slope can be fitted")
    slope = float(((off - middle) * (height - height.mean())).sum()) / width
    residuals = height - height.mean() - slope * (off - middle)
    variance = float((residuals**2).sum()) / (n - 2)
    covariance = variance / width * np.array([[float((off**2).mean()), -middle], [-middle, 1.0]])
    values = np.array([height.mean() - slope * middle, slope])
    return Line(x0, Estimates(values, covariance, n - 2), math.sqrt(variance))


def _not_negative(value: float, name: str) -> float:
    if not (math.isfinite(value) and value >= 0):
        raise ValueError(f"{name} must be a number of at least 0, not {value:g}")
    return value
