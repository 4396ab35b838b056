"""Since which ride: which of many possible changes fits a series best, and which fit it as well?

The date is that of the least sum of Huber's losses (Huber 1964, Ann. Math. Statist. 35:73), its 95 % interval that of
the changes whose likelihood ratio is below 7.35 (Hansen 2000, Econometrica 68:575). Rides that follow one another
resemble each other, and then the ratio varies as much more as the mean of such a series does: it is divided by that,
(1 + r) / (1 - r) of the best change's residuals (Bai 1997, Rev. Econ. Stat. 79:551). Where the narrowest interval of
several series is told, each is one of 1 - 0.05 / n, as choosing makes it too sure (Benjamini and Yekutieli 2005, J. Am.
Stat. Assoc. 100:71). What is tested is a few shapes, because each more makes chance more likely; what is dated is many,
because a shape that does not fit moves the date. A share that falls evenly falls ever faster as a logarithm: taken as a
straight line, it would seem to begin rides later.
"""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from ridelog.arrays import robust_scale
from ridelog.fleet.history.measured import Floats
from ridelog.lazy import dataclass

HUBER_SD = 2.5  # residuals count up to so many robust standard deviations
AT_ONCE, TO_THE_END = 1, 1_000_000  # rides over which a change takes place
_MOST_ALIKE = 0.9  # correlation from ride to ride: beyond, the residuals are a trend
_ROUNDS = 12  # of Huber's weights
_AT_A_TIME = 2_000_000  # cells of designs
_FEW = 300  # ways that are all fitted by iterated weights; of more, those that may be among the best
_FAR = 3  # times what the likely ones lie apart: what weights taken as known may be off by
_NONE = 1e-12  # of the largest value: no residual


@dataclass(frozen=True)
class Way:
    """A change that may have been: over how many rides, from which index on.

    ``times`` : values are logarithms, and what they are of went evenly to so many times itself; ``None`` where the
    values themselves went evenly
    """

    over: int
    at: int
    times: float | None = None


def regressors(ways: Sequence[Way], n: int) -> Floats:
    """What has changed by each of so many rides, of several ways: nothing before, all of it in the end.

    Parameters
    ----------
    ways : of which each is one column
    n : rides

    Returns
    -------
    done : from 0 to 1, shape (n, ways)
    """
    at, over = (np.array([getattr(way, name) for way in ways]) for name in ("at", "over"))
    done = np.clip(np.arange(n)[:, None] - at + 1, 0, over) / np.minimum(over, n - at)
    bent = np.flatnonzero([way.times is not None for way in ways])
    if len(bent):
        times = np.array([float(ways[int(each)].times or 1.0) for each in bent])
        done[:, bent] = np.log1p((times - 1) * done[:, bent]) / np.log(times)
    return np.asarray(done)


def ways(n: int, overs: Sequence[int], places: range, times: Sequence[float] = ()) -> list[Way]:
    """Each change that may have been; one that would outlast the rides once, one at once in one shape.

    Parameters
    ----------
    n : rides
    overs : over how many rides each may take place
    places : where each may begin
    times : see `Way`

    Returns
    -------
    ways : in no order that matters
    """
    fit = [(over, at) for over in overs for at in places if over == TO_THE_END or over < n - at]
    return [
        Way(over, at, each) for over, at in fit for each in (None, *(times if over > AT_ONCE and n - at > 1 else ()))
    ]


@dataclass(frozen=True)
class Dated:
    """The best of some ways, those that fit as well (95 %), and the coefficients of the best."""

    best: Way
    likely: tuple[Way, ...]
    coefficients: Floats


def likelihood_ratio(probability: float) -> float:
    """What the likelihood ratio of the true place stays below so often: (1 - exp(-x / 2))^2 of the time (Hansen)."""
    return float(-2 * np.log1p(-np.sqrt(probability)))


def resemblance(left: Floats) -> float:
    """How many times the variance of a mean of independent rides that of a mean of these is, 1 at least.

    Parameters
    ----------
    left : residuals in the order ridden, odd ones drawn in, shape (n,)

    Returns
    -------
    times : (1 + r) / (1 - r) of their correlation r from ride to ride, as of an AR(1) series
    """
    power = float(left @ left)
    r = min(max(float(left[1:] @ left[:-1]) / power, 0.0), _MOST_ALIKE) if power > 0 else 0.0
    return (1 + r) / (1 - r)


def dated(
    values: Floats, around: Floats, possible: Sequence[Way], *, direction: int = 0, root_weight: Floats | None = None,
    told_of: int = 1,
) -> Dated | None:  # fmt: skip
    """Which change fits best.

    Parameters
    ----------
    values : shape (n,)
    around : constant and conditions, shape (n, c)
    possible : changes
    direction : only those that go this way; 0 either
    root_weight : root of each value's weight, shape (n,)
    told_of : series that are dated, of which the one with the narrowest interval is told

    Returns
    -------
    dated : ``None`` where none goes that way
    """
    root = np.ones(len(values)) if root_weight is None else root_weight
    within = likelihood_ratio(1 - 0.05 / told_of)
    if len(possible) > _FEW:
        possible = _worth_fitting(values * root, around * root[:, None], possible, direction, root, within)
    done = regressors(possible, len(values))
    coefficients, signed = _fitted(values * root, around * root[:, None], done * root[:, None])
    left = np.abs(signed)
    meant = _told_apart(done, around)
    meant &= coefficients[:, -1] * direction > 0 if direction else coefficients[:, -1] != 0
    if not meant.any():
        return None
    sums = np.where(meant, left.sum(axis=1), np.inf)
    freedom = max(len(values) - around.shape[1] - 1, 1)
    sd = robust_scale(left[np.argmin(sums)], centre=0.0) * np.sqrt(len(values) / freedom)
    reach = HUBER_SD * max(sd, 1e-9 * float(np.abs(values * root).max()))
    losses = np.where(left < reach, left**2, reach * (2 * left - reach)).sum(axis=1) * (HUBER_SD / reach) ** 2
    losses = np.where(meant, losses, np.inf)
    best = int(np.argmin(losses))
    within *= resemblance(np.clip(signed[best], -reach, reach))
    likely = np.flatnonzero(losses <= losses[best] + within)
    return Dated(possible[best], tuple(possible[int(each)] for each in likely), coefficients[best])


def _fitted(values: Floats, around: Floats, done: Floats) -> tuple[Floats, Floats]:
    """Coefficients of a robust line of each change, and what each leaves of each value, shape (changes, n)."""
    coefficients = _lines(values, around, done)
    fitted = coefficients[:, :-1] @ around.T + coefficients[:, -1:] * done.T
    return coefficients, values - fitted


def _worth_fitting(
    values: Floats, around: Floats, possible: Sequence[Way], direction: int, root: Floats, within: float
) -> Sequence[Way]:
    """The ways that may be among the best: Huber's weights of a good one, taken as known, give each way's squares.

    With weights that are known a line is one projection, so that the hundred thousand ways of a thousand rides take
    seconds and little memory; what lies far beyond the best of them is not fitted by iterated weights.
    """
    n = len(values)
    some = possible[:: max(len(possible) // _FEW, 1)]
    signed = _fitted(values, around, regressors(some, n) * root[:, None])[1]
    signed = signed[np.argmin(np.abs(signed).sum(axis=1))]
    nearest = np.abs(signed)
    sd = max(robust_scale(nearest, centre=0.0), 1e-9 * float(np.abs(values).max()))
    root_huber = np.sqrt(np.minimum(1.0, HUBER_SD * sd / np.maximum(nearest, HUBER_SD * sd)))
    basis, _ = np.linalg.qr(around * root_huber[:, None])
    own = values * root_huber
    own -= basis @ (basis.T @ own)
    size = max(_AT_A_TIME // n, 1)
    taken = []
    for first in range(0, len(possible), size):
        done = regressors(possible[first : first + size], n) * (root * root_huber)[:, None]
        done -= basis @ (basis.T @ done)
        length2, along = (done**2).sum(axis=0), own @ done
        meant = (along * direction > 0 if direction else along != 0) & (length2 > _NONE * n)
        taken.append(np.where(meant, along**2 / np.where(meant, length2, 1.0), 0.0))
    squares = np.concatenate(taken) / sd**2
    within *= _FAR * resemblance(np.clip(signed, -HUBER_SD * sd, HUBER_SD * sd))
    return [possible[int(each)] for each in np.flatnonzero(squares >= squares.max() - within)]


def _told_apart(done: Floats, around: Floats) -> NDArray[np.bool_]:
    """Which changes the conditions do not explain, shape (changes,)."""
    basis, _ = np.linalg.qr(around)
    own = np.linalg.norm(done - basis @ (basis.T @ done), axis=0)
    return np.asarray(own >= 1e-6 * np.linalg.norm(done, axis=0))


def _lines(values: Floats, around: Floats, done: Floats) -> Floats:
    """Coefficients of a line on the conditions and each regressor, shape (changes, c + 1)."""
    size = max(_AT_A_TIME // max(around.size + len(values), 1), 1)
    parts = []
    for first in range(0, done.shape[1], size):
        own = done[:, first : first + size].T[:, :, None]
        designs = np.concatenate([np.broadcast_to(around, (len(own), *around.shape)), own], axis=2)
        parts.append(robust_lines(designs, values))
    return np.concatenate(parts)


def robust_lines(designs: Floats, values: Floats) -> Floats:
    """Coefficients of lines by Huber's weights, iterated.

    Parameters
    ----------
    designs : of each line, shape (lines, n, c)
    values : shape (n,)

    Returns
    -------
    coefficients : shape (lines, c); what a design does not tell apart is the least in size
    """
    scale = np.linalg.norm(designs, axis=1, keepdims=True)
    scaled = designs / np.where(scale > 0, scale, 1.0)
    weight = np.ones(scaled.shape[:2])
    coefficients = np.zeros((len(scaled), scaled.shape[2]))
    going = np.arange(len(scaled))
    for _ in range(_ROUNDS):
        own = scaled[going]
        weighed = own * weight[going][:, :, None]
        inverse = np.linalg.pinv(own.transpose(0, 2, 1) @ weighed, rcond=1e-10, hermitian=True)
        coefficients[going] = np.einsum("lij,lj->li", inverse, np.einsum("lni,n->li", weighed, values))
        left = np.abs(values - np.einsum("lni,li->ln", own, coefficients[going]))
        reach = HUBER_SD * 1.4826 * np.median(left, axis=1, keepdims=True)  # `robust_scale` about 0, of each line
        weight[going] = np.minimum(1.0, reach / np.maximum(left, np.maximum(reach * 1e-9, 1e-300)))
        going = going[reach[:, 0] > _NONE * float(np.abs(values).max())]
        if not len(going):
            break
    return np.asarray(coefficients / np.where(scale > 0, scale, 1.0)[:, 0, :])
