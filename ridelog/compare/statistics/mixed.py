"""A difference where several values of each ride belong together: one random effect a ride, hills as they are.

Two hills of one ride share its wind, its rider and its battery, so that ten hills of one ride are not ten rides. The
model is fitted by restricted maximum likelihood (Laird and Ware 1982, Biometrics 38:963), by statsmodels. The degrees
of freedom are those of rides, whatever the number of hills (containment). Where every ride has every hill once,
Student's t of the rides' means is exact (Welch's where they are not paired) and is taken: a set-up that does more on
one hill than on another makes hills differ by more than rides, which the model would count as chance.
"""

import warnings
from typing import Any

import numpy as np
from numpy.typing import NDArray

from ridelog.arrays import Floats
from ridelog.compare.statistics.estimate import Estimate, of_two
from ridelog.lazy import dataclass

LEAST_RATIO = 0.05  # of the variances where a fit begins: at 0 it would not move
NOTHING = 1e-10  # share of the values' variance below which a residual is rounding


@dataclass(frozen=True, eq=False)
class MixedFit:
    """A line with one random effect a cluster.

    ``coefficients``, ``se`` : shape (c,) · ``weights`` : coefficients = weights @ values, shape (c, n) ·
    ``between_variance`` : of clusters · ``residual_variance`` : within · ``log_likelihood`` : restricted
    """

    coefficients: Floats
    se: Floats
    weights: Floats
    between_variance: float
    residual_variance: float
    log_likelihood: float


def random_intercept(values: Floats, design: Floats, cluster: NDArray[np.object_]) -> MixedFit | None:
    """The line by restricted maximum likelihood.

    Parameters
    ----------
    values : shape (n,)
    design : fixed effects, shape (n, c)
    cluster : what each value belongs to, shape (n,)

    Returns
    -------
    fit : ``None`` where the likelihood has no maximum that could be found
    """
    from statsmodels.regression.mixed_linear_model import MixedLM, MixedLMParams

    members = np.unique(np.asarray(cluster, dtype=str), return_inverse=True)[1]
    if _explained(values, design) or design.shape[1] >= len(values):
        return None
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # whether it converged is asked below
        try:
            start = MixedLMParams.from_components(
                fe_params=np.zeros(design.shape[1]), cov_re=np.array([[_between_over_within(values, design, members)]])
            )
            told = MixedLM(values, design, groups=members).fit(start, reml=True)
            se = np.asarray(told.bse_fe, dtype=float)
        except (np.linalg.LinAlgError, ValueError):
            return None
    between, residual = float(np.asarray(told.cov_re).ravel()[0]), float(told.scale)
    if not (told.converged and np.all(np.isfinite(se)) and residual > 0 and between >= 0):
        return None
    weights = _weights(design, members, between, residual)
    coefficients = np.asarray(told.fe_params, dtype=float)
    return MixedFit(coefficients, se, weights, between, residual, float(told.llf))


def _explained(values: Floats, design: Floats) -> bool:
    """Whether the fixed effects leave nothing to be random."""
    left = values - design @ np.linalg.lstsq(design, values, rcond=None)[0]
    return float(left @ left) <= NOTHING * max(float(values @ values), 1e-300)


def _between_over_within(values: Floats, design: Floats, members: NDArray[np.intp]) -> float:
    """Variance of clusters over that within, by moments: from there the fit finds its maximum sooner, and more often.

    From 1, where it begins otherwise, 4 fits of 100 to hills of made-up rides ended elsewhere.
    """
    left = values - design @ np.linalg.lstsq(design, values, rcond=None)[0]
    sizes = np.bincount(members)
    means = np.bincount(members, left) / sizes
    within = float(np.sum((left - means[members]) ** 2)) / max(len(left) - len(sizes) - design.shape[1] + 1, 1)
    between = float(means.var()) - within / float(sizes.mean())
    return max(between / within, LEAST_RATIO) if within > 0 else 1.0


def _weights(design: Floats, members: NDArray[np.intp], between: float, residual: float) -> Floats:
    """Rows that give the generalised least squares' coefficients: (X' V^-1 X)^-1 X' V^-1."""
    same = members[:, None] == members[None, :]
    inverse = np.linalg.inv(np.eye(len(members)) * residual + same * between)
    return np.asarray(np.linalg.solve(design.T @ inverse @ design, design.T @ inverse))


@dataclass(frozen=True, eq=False)
class Repeated:
    """Values that repeat within rides.

    ``second`` : of the second group, not of the first · ``ride``, ``hill`` : of each value · ``pair`` : of the ride, as
    a whole number; ``None`` where rides are not paired. Shapes (n,)
    """

    second: NDArray[np.bool_]
    ride: NDArray[np.object_]
    hill: NDArray[np.object_]
    pair: NDArray[np.intp] | None = None


def repeated(values: Floats, layout: Repeated) -> tuple[Estimate, bool]:
    """Difference of two groups whose values repeat within rides, hills and pairs of rides taken out.

    Parameters
    ----------
    values : shape (n,)
    layout : what each value belongs to

    Returns
    -------
    estimate : with rides - 2 degrees of freedom, or pairs - 1; by rides' means that are not paired, Satterthwaite's
    converged : whether it is the mixed model's, or as exact: that of the rides' means where every ride has every hill
        once; else it is that of the means with hills taken out by least squares
    """
    blocks: list[NDArray[Any]] = [layout.hill] if layout.pair is None else [layout.hill, layout.pair]
    design = np.column_stack([layout.second.astype(float), np.ones(len(values)), *map(_dummies, blocks)])
    design = design[:, _independent(design)]
    n_rides = len(set(layout.ride))
    freedom = n_rides - 2 if layout.pair is None else len(set(layout.pair.tolist())) - 1
    if _is_balanced(layout):
        return _by_ride_means(values, layout, design, freedom), True
    fit = random_intercept(values, design, layout.ride)
    if fit is not None:
        return Estimate(float(fit.coefficients[0]), fit.weights[0], float(fit.se[0]), freedom), True
    return _by_ride_means(values, layout, design, freedom), False


def _is_balanced(layout: Repeated) -> bool:
    """Whether every ride has every hill once."""
    passes = {(ride, hill) for ride, hill in zip(layout.ride, layout.hill, strict=True)}
    return len(passes) == len(layout.ride) == len(set(layout.ride)) * len(set(layout.hill))


def _dummies(labels: NDArray[Any]) -> Floats:
    """A column for each label but the first."""
    known = sorted(set(labels.tolist()))
    return np.column_stack([np.empty((len(labels), 0)), *((labels == each).astype(float) for each in known[1:])])


def _independent(design: Floats) -> list[int]:
    """Columns that no earlier ones make up; the first, which is asked about, comes first."""
    kept: list[int] = []
    for column in range(design.shape[1]):
        if np.linalg.matrix_rank(design[:, [*kept, column]]) > len(kept):
            kept.append(column)
    return kept


def _by_ride_means(values: Floats, layout: Repeated, design: Floats, freedom: int) -> Estimate:
    """Least squares, with the spread of the rides' mean residuals as the chance (clusters as units).

    Of rides that are not paired each group shows its own, as by Welch: a small group beside a large one would else be
    judged by the degrees of freedom of the large one.
    """
    weights = np.linalg.pinv(design)
    left = values - design @ (weights @ values)
    value, rides = float(weights[0] @ values), sorted(set(layout.ride))
    scores = np.array([weights[0][layout.ride == each] @ left[layout.ride == each] for each in rides])
    if layout.pair is not None:
        variance = float(scores @ scores) * len(rides) / max(freedom, 1)
        return Estimate(value, weights[0], float(np.sqrt(variance)), freedom)
    seconds = np.array([bool(layout.second[layout.ride == each][0]) for each in rides])
    own = [scores[~seconds], scores[seconds]]
    return of_two(value, weights[0], [float(one @ one) * len(one) / (len(one) - 1) for one in own], [*map(len, own)])
