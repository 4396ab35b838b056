"""What measured inputs do to a result that bends: propagation of whole distributions by random draws (JCGM 101:2008).

References
----------
JCGM 101:2008, Evaluation of measurement data: Supplement 1 to the Guide, propagation of distributions by Monte Carlo.
"""

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from ridelog.arrays import Floats
from ridelog.uncertain.gum import P_COVERAGE, Model

BATCH = 10_000  # draws of one batch (JCGM 101, 7.9.4 b: at least this many)
MIN_BATCHES = 10  # the standard allows 2, whose spread is too often small by chance


@dataclass(frozen=True)
class Spread:
    """Mean, standard uncertainty and coverage interval of draws, all in the unit of the result."""

    mean: float
    u: float
    low: float
    high: float


def coverage_interval(draws: ArrayLike, *, p: float = P_COVERAGE, shortest: bool = False) -> tuple[float, float]:
    """Bounds that hold the share ``p`` of the draws (JCGM 101, 7.7).

    Parameters
    ----------
    draws : shape (m,), more than 1/(1 − p) of them
    p : coverage probability
    shortest : the shortest such interval, which suits lopsided results that end at a bound; otherwise the
        probabilistically symmetric one, with as many draws below as above

    Raises
    ------
    ValueError : too few draws, or one that is not finite
    """
    ordered = np.sort(_finite(draws))
    m = len(ordered)
    if not 0 < p < 1:
        raise ValueError(f"a coverage probability lies between 0 and 1, not at {p:g}")
    held = round(p * m) if math.isclose(p * m, round(p * m)) else math.floor(p * m + 0.5)
    if not 0 < held < m:
        raise ValueError(f"{m} draws are too few for a coverage interval of {100 * p:g} %")
    first = (m - held + 1) // 2 - 1  # the standard counts from 1
    if shortest:
        first = int(np.argmin(ordered[held:] - ordered[: m - held]))
    return float(ordered[first]), float(ordered[first + held])


def spread_of(draws: ArrayLike, *, p: float = P_COVERAGE, shortest: bool = False) -> Spread:
    """Mean, standard deviation (m − 1) and coverage interval of draws of shape (m,) (JCGM 101, 7.6 and 7.7)."""
    values = _finite(draws)
    low, high = coverage_interval(values, p=p, shortest=shortest)
    return Spread(float(values.mean()), float(values.std(ddof=1)), low, high)


def propagate_draws(model: Model, draws: ArrayLike, *, p: float = P_COVERAGE, shortest: bool = False) -> Spread:
    """The spread of one result from draws of its inputs (JCGM 101, 7.4 to 7.7).

    Parameters
    ----------
    model : takes inputs of shape (n, m), gives results of shape (m,)
    draws : shape (n inputs, m draws); correlated inputs are drawn together
    """
    return spread_of(np.asarray(model(np.asarray(draws, dtype=float))), p=p, shortest=shortest)


@dataclass(frozen=True)
class Adaptive:
    """What `propagate_adaptively` found, with how many draws, and whether to the tolerance asked for."""

    spread: Spread
    tolerance: float
    n_draws: int
    converged: bool


def numerical_tolerance(u: float, n_digits: int = 2) -> float:
    """Half a unit in the last of ``n_digits`` significant digits of u (JCGM 101, 7.9.2)."""
    if not (math.isfinite(u) and u > 0 and n_digits >= 1):
        raise ValueError(f"a tolerance needs u above 0 and at least one digit, not u = {u:g}, {n_digits} digits")
    exponent = int(f"{u:.{n_digits - 1}e}".partition("e")[2])  # of u as rounded: 0.0996 with two digits is 10·10⁻²
    return 0.5 * 10.0 ** (exponent - n_digits + 1)


def propagate_adaptively(
    model: Model,
    draw: Callable[[np.random.Generator, int], Floats],
    *,
    n_digits: int = 2,
    shortest: bool = False,
    max_draws: int = 5_000_000,
    seed: int = 1,
) -> Adaptive:
    """Draw in batches until mean, u and both bounds of the 95 % interval stand to the tolerance (JCGM 101, 7.9.4).

    Parameters
    ----------
    model : takes inputs of shape (n, m), gives results of shape (m,)
    draw : takes a generator and m, gives inputs of shape (n, m)
    n_digits : digits of u that are to be meaningful; sets the tolerance by `numerical_tolerance`
    shortest : see `coverage_interval`
    max_draws : where to give up; the result then says so
    seed : of the generator; the same seed gives the same answer
    """
    rng = np.random.default_rng(seed)
    batches: list[Floats] = []
    figures: list[tuple[float, float, float, float]] = []
    tolerance, settled = math.nan, False
    while not settled and (len(batches) + 1) * BATCH <= max(max_draws, MIN_BATCHES * BATCH):
        values = _finite(model(draw(rng, BATCH)))
        one = spread_of(values, shortest=shortest)
        batches.append(values)
        figures.append((one.mean, one.u, one.low, one.high))
        h = len(batches)
        if h < MIN_BATCHES:
            continue
        # of all draws so far, without going through them again: within the batches and between them
        u = math.sqrt(np.mean(np.square([f[1] for f in figures])) + np.var([f[0] for f in figures]))
        if u == 0:
            tolerance, settled = 0.0, True
            continue
        tolerance = numerical_tolerance(u, n_digits)
        settled = bool((2 * np.std(figures, axis=0, ddof=1) / math.sqrt(h) < tolerance).all())
    every = np.concatenate(batches)
    return Adaptive(spread_of(every, shortest=shortest), tolerance, len(every), settled)


def _finite(draws: ArrayLike | float) -> Floats:
    values = np.asarray(draws, dtype=float)
    if values.ndim != 1:
        raise ValueError(f"draws of one result have one dimension, not shape {values.shape}")
    if not np.isfinite(values).all():
        raise ValueError(f"{np.count_nonzero(~np.isfinite(values))} of {len(values)} draws are not finite")
    return values
