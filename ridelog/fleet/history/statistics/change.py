"""When did the values of a bike's rides change, if they did?

One change in a series of rides: to another level, at once or over some rides, from a ride on that is not known. Each
possible change is a regressor beside those of the conditions (such as the air's temperature); the statistic is the
largest partial correlation of any of them with the values (the supremum of the F statistics of Andrews 1993,
Econometrica 61:821). Its p-value is from permutations of the residuals under no change (Freedman and Lane 1983,
J. Bus. Econ. Stat. 1:292), and where none of them reaches it, the Bonferroni bound of Student's t over all changes.

One odd ride is no change: residuals beyond 2.5 robust standard deviations count as that much (Huber's score), which
leaves a permutation test exact. Rides that follow one another resemble each other: the statistic is shrunk by the
residuals' correlation from ride to ride, as the variance of a mean of an AR(1) series grows, by (1 + r) / (1 - r).
"""

from dataclasses import dataclass
from typing import Literal

import numpy as np

from ridelog.arrays import robust_scale
from ridelog.fleet.history.measured import Floats

HUBER_SD = 2.5  # residuals count up to so many robust standard deviations
PERMUTATIONS = (499, 49_999)  # first look, and where it finds few that reach the statistic
_LOOK_AGAIN = 10
_CHI2_MEDIAN = 0.454936423119573  # chi-squared, median, one degree of freedom
_PLACE_95 = 7.352  # 95 % of the likelihood ratio of a place: (1 - exp(-x / 2))^2 (Hansen 2000, Econometrica 68:575)
_DATED_FROM = 0.1  # p-value above which a change is not worth the time that dating it takes
_HALVINGS = 30
_ROUNDS = 12  # of Huber's weights
_SEED = 1963

AT_ONCE, TO_THE_END = 1, 1_000_000  # rides over which a change takes place


@dataclass(frozen=True)
class Change:
    """One change in a series.

    ``at`` : index of the first ride of the new behaviour; ``earliest``, ``latest`` : of a 95 % interval of it ·
    ``over`` : rides over which it took place, 1 where at once · ``before``, ``after`` : level before, and at the end,
    under the mean conditions · ``p_value`` : probability of so clear a change anywhere in a series without any
    """

    at: int
    earliest: int
    latest: int
    over: int
    before: float
    after: float
    n_before: int
    n_after: int
    p_value: float


@dataclass(frozen=True)
class Looked:
    """Which changes are looked for.

    ``over`` : rides over which it takes place, evenly · ``direction`` : 1 rising, -1 falling, 0 either ·
    ``fewest_before``, ``fewest_after`` : rides on each side
    """

    over: tuple[int, ...] = (AT_ONCE,)
    direction: Literal[-1, 0, 1] = 0
    fewest_before: int = 4
    fewest_after: int = 2


def one_change(
    values: Floats, looked: Looked, *, conditions: Floats | None = None, u: Floats | None = None
) -> Change | None:
    """The clearest change in a series of rides.

    Parameters
    ----------
    values : one a ride in the order ridden, all known, shape (n,)
    looked : which changes
    conditions : what else moves the values, shape (n, c)
    u : standard uncertainty of each value, for weights

    Returns
    -------
    change : however clear; ``None`` where there are too few rides, or none goes the way that is looked for
    """
    n = len(values)
    around = _design(n, conditions)
    possible = _possible(n, looked)
    if not possible or n < around.shape[1] + 3 or np.ptp(values) == 0:
        return None
    regressors = np.column_stack([_regressor(over, at, n) for over, at in possible])
    root_weight = _root_weights(values, u)[:, None]
    fit = Partial.of(values * root_weight[:, 0], around * root_weight, regressors * root_weight)
    signed = fit.toward(fit.statistics(fit.scores[None, :])[0], looked.direction)
    clearest = int(np.nanargmax(np.where(np.isfinite(signed), signed, -np.inf)))
    if not signed[clearest] > 0:
        return None
    p_value = fit.p_value(fit.shrunk(float(signed[clearest]), clearest), looked.direction)
    lines = [np.column_stack([around, each]) * root_weight for each in regressors.T]
    clear = signed > 0 if p_value <= _DATED_FROM else signed == signed[clearest]
    ways = [line if way else None for line, way in zip(lines, clear, strict=True)]
    best, likely, coefficients = _dated(values * root_weight[:, 0], ways)
    over, at = possible[best]
    after = coefficients[0] + coefficients[-1] * regressors[-1, best]
    where = [possible[each][1] for each in likely]
    return Change(at, min(where), max(where), over, float(coefficients[0]), float(after), at, n - at, p_value)


def _dated(values: Floats, lines: list[Floats | None]) -> tuple[int, list[int], Floats]:
    """Which line fits best by Huber's loss, which fit as well (95 %), and the best one's coefficients.

    Scores that were drawn in make a slope look like a step: shape and date are those of the values themselves.
    """
    fits = {at: robust_line(line, values) for at, line in enumerate(lines) if line is not None}
    left = {at: np.abs(values - lines[at] @ coefficients) for at, coefficients in fits.items()}  # type: ignore[operator]
    nearest = min(left.values(), key=lambda each: float(each.sum()))
    freedom = max(len(values) - len(next(iter(fits.values()))), 1)
    sd = robust_scale(nearest, centre=0.0) * np.sqrt(len(values) / freedom)
    sd = max(sd, 1e-9 * float(np.abs(values).max()))
    losses = {
        at: float(np.where(each < HUBER_SD * sd, each**2, HUBER_SD * sd * (2 * each - HUBER_SD * sd)).sum()) / sd**2
        for at, each in left.items()
    }
    best = min(losses, key=lambda at: losses[at])
    return best, [at for at, loss in losses.items() if loss <= losses[best] + _PLACE_95], fits[best]


def _possible(n: int, looked: Looked) -> list[tuple[int, int]]:
    """Each change that is looked for, over how many rides and from which on; one that would outlast the rides once."""
    places = range(looked.fewest_before, n - looked.fewest_after + 1)
    return [(over, at) for over in looked.over for at in places if over == TO_THE_END or over < n - at]


def _design(n: int, conditions: Floats | None) -> Floats:
    """A constant and the conditions about their means, so that the constant is the level under mean conditions."""
    if conditions is None or conditions.shape[1] == 0:
        return np.ones((n, 1))
    return np.column_stack([np.ones(n), conditions - conditions.mean(axis=0)])


def _regressor(over: int, at: int, n: int) -> Floats:
    """What has changed by each ride: nothing before, and all of it from ``over`` rides on."""
    return np.clip(np.arange(n) - at + 1, 0, over) / min(over, n - at)


def _root_weights(values: Floats, u: Floats | None) -> Floats:
    """Root of the weights: a ride's own variance beside one of all rides.

    That makes neighbours differ, in the median, as much as they do (a robust form of Paule and Mandel's condition); a
    change inflates one difference alone.
    """
    if u is None or not np.any(u > 0):
        return np.ones_like(values)
    variance = np.nan_to_num(u) ** 2
    pairs, squares = variance[1:] + variance[:-1], np.diff(values) ** 2
    low, high = 0.0, float(np.max(squares)) + 1e-300
    for _ in range(_HALVINGS):  # the ratio falls with the variance between rides, so halving finds it
        between = (low + high) / 2
        beyond = float(np.median(squares / (pairs + 2 * between))) > _CHI2_MEDIAN
        low, high = (between, high) if beyond else (low, between)
    total = variance + high + 1e-3 * float(np.median(variance[variance > 0]))
    return np.asarray(np.sqrt(np.median(total) / total))


def robust_line(design: Floats, values: Floats) -> Floats:
    """Coefficients of a line by Huber's weights, iterated (Huber 1964, Ann. Math. Statist. 35:73)."""
    weight = np.ones(len(values))
    coefficients: Floats = np.zeros(design.shape[1])
    for _ in range(_ROUNDS):
        root = np.sqrt(weight)
        coefficients = np.asarray(np.linalg.lstsq(design * root[:, None], values * root, rcond=None)[0], dtype=float)
        left = np.abs(values - design @ coefficients)
        reach = HUBER_SD * robust_scale(left, centre=0.0)
        if reach <= 1e-12 * float(np.abs(values).max()):
            break
        weight = np.minimum(1.0, reach / np.maximum(left, reach * 1e-9))
    return np.asarray(coefficients)


@dataclass(frozen=True)
class Partial:
    """Values and possible changes with the conditions taken out of both.

    ``scores`` : residuals under no change, odd ones drawn in · ``basis`` : orthonormal, of the conditions ·
    ``changes`` : each of length 1, NaN where the conditions explain it, shape (n, changes)
    """

    scores: Floats
    basis: Floats
    changes: Floats

    @classmethod
    def of(cls, values: Floats, around: Floats, regressors: Floats) -> "Partial":
        """Take the conditions out of the values and of each possible change.

        Parameters
        ----------
        values : shape (n,)
        around : constant and conditions, shape (n, c)
        regressors : one column a possible change, shape (n, changes)

        Returns
        -------
        partial : of them
        """
        basis, _ = np.linalg.qr(around)
        residuals = values - basis @ (basis.T @ values)
        changes = regressors - basis @ (basis.T @ regressors)
        lengths = np.linalg.norm(changes, axis=0)
        explained = lengths < 1e-6 * np.linalg.norm(regressors, axis=0)
        middle = float(np.median(residuals))
        reach = HUBER_SD * (robust_scale(residuals) or float(residuals.std()))
        scores = np.clip(residuals - middle, -reach, reach)
        return cls(scores - basis @ (basis.T @ scores), basis, changes / np.where(explained, np.nan, lengths))

    def statistics(self, series: Floats) -> Floats:
        """Partial correlation of each change with each of several series of residuals, shape (series, changes)."""
        own = series - (series @ self.basis) @ self.basis.T
        norm = np.linalg.norm(own, axis=1)
        return np.asarray((own @ self.changes) / np.where(norm > 0, norm, np.inf)[:, None])

    @staticmethod
    def toward(statistics: Floats, direction: int) -> Floats:
        """Statistics by how far they go the way that is looked for; 0 is either."""
        return statistics * direction if direction else np.abs(statistics)

    @property
    def freedom(self) -> int:
        """Degrees of freedom that conditions and one change leave."""
        return int(len(self.scores) - self.basis.shape[1] - 1)

    def shrunk(self, statistic: float, change: int) -> float:
        """A statistic as if rides were independent: its t shrunk by the correlation from ride to ride that is left."""
        column = self.changes[:, change]
        left = self.scores - column * float(column @ self.scores)
        power = float(left @ left)
        r = min(max(float(left[1:] @ left[:-1]) / power, 0.0), 0.9) if power > 0 else 0.0
        t = _t_of(statistic, self.freedom) * np.sqrt((1 - r) / (1 + r))
        return float(t / np.sqrt(self.freedom + t**2))

    def p_value(self, statistic: float, direction: int) -> float:
        """Probability of a statistic as large anywhere under no change."""
        rng = np.random.default_rng(_SEED)
        for n_drawn in PERMUTATIONS:
            drawn = rng.permuted(np.broadcast_to(self.scores, (n_drawn, len(self.scores))), axis=1)
            largest = np.nanmax(self.toward(self.statistics(drawn), direction), axis=1)
            reached = int(np.count_nonzero(largest >= statistic - 1e-12))
            if reached > _LOOK_AGAIN:
                break
        bound = 1.0 if reached else self._bound(statistic, direction)
        return float(min((reached + 1) / (n_drawn + 1), bound))

    def _bound(self, statistic: float, direction: int) -> float:
        """Bonferroni's bound of Student's t over all changes."""
        from scipy import stats

        one = float(stats.t.sf(_t_of(statistic, self.freedom), self.freedom))
        return min(1.0, int(np.isfinite(self.changes[0]).sum()) * (1 if direction else 2) * one)


def _t_of(correlation: float, freedom: int) -> float:
    """Student's t of a partial correlation."""
    return float(correlation * np.sqrt(freedom / max(1 - correlation**2, 1e-12)))
