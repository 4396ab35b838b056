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

from typing import Literal

import numpy as np

from ridelog.arrays import robust_scale
from ridelog.fleet.history.measured import Floats
from ridelog.fleet.history.statistics.dating import AT_ONCE, HUBER_SD, dated, regressors, resemblance, ways
from ridelog.lazy import dataclass

PERMUTATIONS = (499, 49_999)  # first look, and where it finds few that reach the statistic
_LOOK_AGAIN = 10
_CHI2_MEDIAN = 0.454936423119573  # chi-squared, median, one degree of freedom
_DATED_FROM = 0.05  # p-value above which a change is not worth the time that dating it takes: nothing is told of it
_MOST_TESTED = 150  # places where a change may begin that are tested; of more rides every second, third …, which dating
# then looks between: permutations cost the square of the places, and a change lasts longer than the steps are
_HALVINGS = 30
_AT_A_TIME = 3_000_000  # cells of what is permuted at once, so that memory does not grow with a bike's rides
_SEED = 1963


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
    ``fewest_before``, ``fewest_after`` : rides on each side; a change that stands out may be dated to an earlier one,
    after one ride · ``dated_over`` : as ``over``, for the date alone; that by
    default · ``times`` : where values are logarithms, to how many times itself what they are of may have gone evenly,
    for the date alone · ``told_of`` : series that are looked at, of which the one that is dated most narrowly is told
    """

    over: tuple[int, ...] = (AT_ONCE,)
    direction: Literal[-1, 0, 1] = 0
    fewest_before: int = 4
    fewest_after: int = 2
    dated_over: tuple[int, ...] = ()
    times: tuple[float, ...] = ()
    told_of: int = 1


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
    places = range(looked.fewest_before, n - looked.fewest_after + 1)
    possible = ways(n, looked.over, places[:: -(-len(places) // _MOST_TESTED) or 1])
    if not possible or n < around.shape[1] + 3 or np.ptp(values) == 0:
        return None
    root_weight = _root_weights(values, u)
    weighed = root_weight[:, None]
    fit = Partial.of(values * root_weight, around * weighed, regressors(possible, n) * weighed)
    signed = fit.toward(fit.statistics(fit.scores[None, :])[0], looked.direction)
    clearest = int(np.nanargmax(np.where(np.isfinite(signed), signed, -np.inf)))
    if not signed[clearest] > 0:
        return None
    p_value = fit.p_value(fit.shrunk(float(signed[clearest]), clearest), looked.direction)
    likely = [possible[clearest]]
    if p_value <= _DATED_FROM:
        likely = ways(n, looked.dated_over or looked.over, range(1, places.stop), looked.times)
    found = dated(
        values, around, likely, direction=looked.direction, root_weight=root_weight, told_of=looked.told_of
    )  # fmt: skip
    if found is None:
        return None
    at, level = found.best.at, float(found.coefficients[0])
    where = [way.at for way in found.likely]
    after = level + float(found.coefficients[-1])
    return Change(at, min(where), max(where), found.best.over, level, after, at, n - at, p_value)


def _design(n: int, conditions: Floats | None) -> Floats:
    """A constant and the conditions about their means, so that the constant is the level under mean conditions."""
    if conditions is None or conditions.shape[1] == 0:
        return np.ones((n, 1))
    return np.column_stack([np.ones(n), conditions - conditions.mean(axis=0)])


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
        t = _t_of(statistic, self.freedom) / np.sqrt(resemblance(left))
        return float(t / np.sqrt(self.freedom + t**2))

    def p_value(self, statistic: float, direction: int) -> float:
        """Probability of a statistic as large anywhere under no change."""
        rng = np.random.default_rng(_SEED)
        at_once = max(_AT_A_TIME // max(self.changes.size, 1), 1)
        for n_drawn in PERMUTATIONS:
            reached = 0
            for first in range(0, n_drawn, at_once):
                drawn = np.tile(self.scores, (min(at_once, n_drawn - first), 1))
                rng.permuted(drawn, axis=1, out=drawn)
                largest = np.nanmax(self.toward(self.statistics(drawn), direction), axis=1)
                reached += int(np.count_nonzero(largest >= statistic - 1e-12))
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
