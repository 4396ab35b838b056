"""How probable is a value as low as one, where others of its kind lie as they do?

The others' spread may reach further down than up, as shares that end at 100 % do, and a few dozen values hardly tell by
how much. So the probability is that of the predictive distribution (Aitchison and Dunsmore 1975, Statistical Prediction
Analysis; its level is the stated one to second order: Datta, Mukerjee, Ghosh and Sweeting 2000, Ann. Statist. 28:1414):
the mean over all centres, spreads and skewnesses of Pearson's type III, each by its likelihood. Without skewness, that
mean is Student's t.
"""

import numpy as np
from numpy.typing import NDArray

from ridelog.fleet.history.measured import Floats

SKEWNESSES = (0.0, 0.2, 0.4, 0.6, 0.8, 1.0, 1.25, 1.5, 2.0)  # downwards
_USUAL_SKEWNESS = (
    1.0  # mean of an exponential: the larger, the less likely beforehand. Without, 20 bikes hide weak ones
)
CLOSER_FROM = 0.2  # by Student's t: a value that is no lower stands out by no skewness
_CENTRES = np.linspace(-3.5, 3.5, 11)  # about the mean, in standard errors of the spread that goes with it
_SPREADS = np.linspace(-3.0, 6.0, 15)  # logarithms about that of the standard deviation, in its standard errors


def as_low(value: float, others: Floats, beyond: float = 0.0) -> float:
    """The probability of a value as low.

    Parameters
    ----------
    value : that is judged
    others : of its kind, shape (n,), n >= 3
    beyond : variance that the value has more than the others do

    Returns
    -------
    p_value : 1 where the others do not differ
    """
    from scipy import special

    n, variance, mean = len(others), float(others.var(ddof=1)), float(others.mean())
    if variance * (1 + 1 / n) + beyond <= 0:
        return 1.0
    by_t = float(special.stdtr(n - 1, (value - mean) / np.sqrt(variance * (1 + 1 / n) + beyond)))
    if by_t > CLOSER_FROM or variance <= 0:
        return by_t
    sd = np.sqrt(variance)
    down, own_down = (mean - others) / sd, (mean - value) / sd
    logs, tails = [], []
    for skewness in SKEWNESSES:
        log, reached = _given(skewness, down, own_down, beyond / variance)
        logs.append(log - skewness / _USUAL_SKEWNESS)
        tails.append(np.full(log.shape, by_t) if skewness == 0 else reached)
    weights = np.exp(np.array(logs) - np.max(logs))
    return float((weights * np.array(tails)).sum() / weights.sum())


def _given(skewness: float, down: Floats, own_down: float, beyond: float) -> tuple[Floats, NDArray[np.float64]]:
    """Of each spread and centre: the logarithm of its likelihood, and the probability of a value as far down."""
    from scipy import special

    n = len(down)
    step = np.sqrt((1 + 0.75 * skewness**2) / (2 * n))  # standard error of a logarithm of a standard deviation
    spreads = np.exp(step * _SPREADS)[:, None]
    centres = spreads * _CENTRES / np.sqrt(n)
    each = (down - centres[..., None]) / spreads[..., None]
    own = (own_down - centres) / np.sqrt(spreads**2 + beyond)
    log = np.log(step) - (n - 1) * np.log(spreads)  # by the size of a cell, and 1 / spread beforehand
    if skewness == 0:
        log = log - 0.5 * (each**2).sum(axis=-1) - 0.5 * n * np.log(2 * np.pi)
        return log, special.ndtr(-own)
    # A gamma distribution of this shape has this skewness; moved and scaled to mean 0 and variance 1.
    shape = 4 / skewness**2
    gamma = shape + np.sqrt(shape) * each
    inside = (gamma > 0).all(axis=-1)
    density = (shape - 1) * np.log(np.where(gamma > 0, gamma, 1.0)) - gamma
    log = log + density.sum(axis=-1) - n * (special.gammaln(shape) - 0.5 * np.log(shape))
    reached = special.gammaincc(shape, np.maximum(shape + np.sqrt(shape) * own, 0.0))
    return np.where(inside, log, -np.inf), reached
