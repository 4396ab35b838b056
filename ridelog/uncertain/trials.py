"""One uncertain number: its best value, its trials, and the errors that it shares with other numbers.

A trial is one draw of everything that may be wrong (JCGM 101:2008, 7.2): trial k of every number of a ride is worked
out from the same trial k of the errors that they share, such as the zero of the current sensor or the mass. A sum, a
difference or a share, formed trial by trial, therefore keeps what its parts have in common: a zero error that raises
two halves of a ride alike leaves their difference alone. Only at the border, for people and files, does a number become
a `Quantity` with the bounds of its 95 % coverage interval.

What is not known is carried: a number without a best value makes every result unknown that is formed from it.

References
----------
JCGM 101:2008, Evaluation of measurement data: Supplement 1 to the Guide, propagation of distributions by Monte Carlo.
"""

import math
from collections.abc import Iterable
from functools import cached_property
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from ridelog.arrays import Floats
from ridelog.lazy import dataclass
from ridelog.uncertain.coverage import P_COVERAGE, all_finite, coverage_interval, interval_of_finite
from ridelog.uncertain.quantity import Quantity

N_TRIALS = 4000
AnyFloat = TypeVar("AnyFloat", np.float32, np.float64)
MOST_PRODUCTS, FEW_ROWS = 200_000, 4  # of a product of matrices that one thread does: fewer than 2^18 of them
LEAST_WHOLE = 1e-12  # what a trial's whole is taken for where it is not above 0, so that a share stays a number


@dataclass(frozen=True, eq=False)
class Uncertain:
    """A best value and trials of it.

    Attributes
    ----------
    value : NaN where the number is not known
    trials : shape (m,), in the unit of the value; NaN where the value is known but how sure it is has not been
        evaluated
    sources : names of the errors that act on it, as a budget names them
    """

    value: float
    trials: Floats
    sources: frozenset[str] = frozenset()

    @property
    def known(self) -> bool:
        """Whether there is a best value."""
        return math.isfinite(self.value)

    @cached_property
    def evaluated(self) -> bool:
        """Whether there is a best value and every trial is a number."""
        return self.known and all_finite(self.trials)

    @property
    def u(self) -> float:
        """Standard uncertainty, the standard deviation of the trials (JCGM 101, 7.6); NaN where not evaluated."""
        if len(self.trials) > 1:
            return float(self.trials.std(ddof=1))
        return 0.0 if self.evaluated else math.nan  # a number without uncertainty has a single trial

    def __neg__(self) -> "Uncertain":
        """The number with the other sign."""
        return Uncertain(-self.value, -self.trials, self.sources)

    def __add__(self, other: "Uncertain | float") -> "Uncertain":
        """The sum, trial by trial."""
        more = uncertain(other)
        return Uncertain(self.value + more.value, self.trials + more.trials, self.sources | more.sources)

    def __sub__(self, other: "Uncertain | float") -> "Uncertain":
        """The difference, trial by trial."""
        less = uncertain(other)
        return Uncertain(self.value - less.value, self.trials - less.trials, self.sources | less.sources)

    def __mul__(self, other: "Uncertain | float") -> "Uncertain":
        """The product, trial by trial."""
        factor = uncertain(other)
        return Uncertain(self.value * factor.value, self.trials * factor.trials, self.sources | factor.sources)

    def __truediv__(self, other: "Uncertain | float") -> "Uncertain":
        """The quotient, trial by trial; unknown where the divisor is 0, all of it or single trials."""
        if not isinstance(other, Uncertain) and other:
            return Uncertain(self.value / other, self.trials / other, self.sources)
        by = uncertain(other)
        if by.value == 0:
            return UNKNOWN
        with np.errstate(divide="ignore", invalid="ignore"):
            trials = self.trials / by.trials
        trials = np.where(np.isfinite(trials), trials, np.nan)
        return Uncertain(self.value / by.value, trials, self.sources | by.sources)

    def __radd__(self, other: float) -> "Uncertain":
        """A plain number and this one, so that ``sum`` works."""
        return self + other

    def __rsub__(self, other: float) -> "Uncertain":
        """A plain number less this one."""
        return -self + other

    def __rmul__(self, other: float) -> "Uncertain":
        """A plain number times this one."""
        return self * other

    def at_least(self, least: float) -> "Uncertain":
        """The number, with value and trials below ``least`` raised to it; what is not known stays so."""
        value = self.value if not self.known else max(self.value, least)
        return Uncertain(value, np.maximum(self.trials, least), self.sources)

    def share_pct(self, whole: "Uncertain") -> "Uncertain":
        """100 × this / whole; unknown where the whole may be nothing, for then nothing bounds the share [%].

        That is where its best value is not above 0, or more of its trials are not than lie below an interval.
        """
        if not whole.value > 0 or float(np.mean(whole.trials <= 0)) > (1 - P_COVERAGE) / 2:
            return UNKNOWN
        trials = 100 * self.trials / np.maximum(whole.trials, LEAST_WHOLE)
        return Uncertain(100 * self.value / whole.value, trials, self.sources | whole.sources)

    def or_else(self, value: float) -> "Uncertain":
        """The number where it is known, else ``value`` exactly: for sums that go on without it."""
        return self if self.known else exact(value)

    def quantity(self, *, least: float = -math.inf, most: float = math.inf) -> Quantity | None:
        """The number for people and files: its best value and its 95 % coverage interval.

        A best value at the edge of what is possible (nothing flowed at all) may lie outside the middle 95 % of the
        trials; the interval then reaches to it.

        Parameters
        ----------
        least, most : what the number cannot lie below or above; the bounds do not either

        Returns
        -------
        quantity : ``None`` where the number is not known, without bounds where its trials are not
        """
        if not self.known:
            return None
        value = min(max(float(self.value), least), most)
        if not self.evaluated:
            return Quantity(value)
        if len(self.trials) == 1:
            return Quantity(value, value, value)
        low, high = (min(max(bound, least), most) for bound in self._interval)
        return Quantity(value, min(low, value), max(high, value))

    @cached_property
    def _interval(self) -> tuple[float, float]:
        """That of its trials: a number is told in more than one place."""
        return interval_of_finite(self.trials)


UNKNOWN = Uncertain(math.nan, np.array([math.nan]))


def exact(value: float) -> Uncertain:
    """A number without uncertainty."""
    return Uncertain(float(value), np.array([float(value)]))


def unevaluated(value: float | None) -> Uncertain:
    """A number of which it is not known how sure it is; unknown for ``None`` and NaN."""
    return UNKNOWN if value is None or not math.isfinite(value) else Uncertain(float(value), np.array([math.nan]))


def uncertain(number: Uncertain | float) -> Uncertain:
    """The number as it is, or a plain one as exact."""
    return number if isinstance(number, Uncertain) else exact(number)


def combined(factors: NDArray[AnyFloat], trials: NDArray[AnyFloat]) -> NDArray[AnyFloat]:
    """Sums of some rows of trials, each times a factor; the same to the last bit however many cores there are.

    Linear algebra in several threads may round otherwise than in one, so that an answer would hang on the computer:
    it is given products so small that it does each in one, and no row alone, for which it has other rules.

    Parameters
    ----------
    factors : shape (m, k)
    trials : shape (k, n)

    Returns
    -------
    Shape (m, n).
    """
    (m, k), n = factors.shape, trials.shape[1]
    if k == 1:
        return factors * trials
    rows = np.concatenate([factors, factors[:1]]) if m % 2 else factors
    sums = np.empty((len(rows), n), dtype=trials.dtype)
    for top in range(0, len(rows), FEW_ROWS):
        some = slice(top, top + FEW_ROWS)
        for left in range(0, n, wide := max(MOST_PRODUCTS // (FEW_ROWS * k), 2)):
            part = slice(left, left + wide)
            np.matmul(rows[some], trials[:, part], out=sums[some, part])
    return sums[:m]


def total(numbers: Iterable[Uncertain]) -> Uncertain:
    """The sum of all; exactly 0 for none, unknown where one is not known."""
    result = exact(0.0)
    for number in numbers:
        result = result + number
    return result


def share_of_whole_pct(part: Uncertain, whole: Uncertain, *, least_share: float = 0.025) -> Quantity | None:
    """100 × part / whole where the part cannot exceed the whole, trial by trial; ``None`` where there is no whole.

    That is known beforehand and belongs in the distribution: trials in which the part would exceed the whole are left
    out; one in which it would be below nothing has none of it. A best value beyond 100 % is so replaced by the median
    of the trials that are possible.

    Parameters
    ----------
    part, whole : trials of the same errors in the same order, in one unit
    least_share : where fewer of the trials are possible, the two contradict each other and nothing is said [1]

    Returns
    -------
    Share with its 95 % interval, within 0 to 100 [%].

    References
    ----------
    JCGM 101:2008, 6.4.
    """
    part = part.at_least(0.0)
    if not part.known or not whole.value > 0:
        return None
    value = float(100 * part.value / whole.value)
    if not whole.evaluated:
        return Quantity(value) if value <= 100 else None
    shares = 100 * np.maximum(part.trials, 0.0) / np.maximum(whole.trials, LEAST_WHOLE)
    possible = shares[shares <= 100]
    if len(possible) < least_share * len(shares):
        return None
    low, high = coverage_interval(possible) if len(possible) > 1 else (value, value)
    value = value if value <= 100 else float(np.median(possible))
    return Quantity(value, min(low, value), max(high, value))


def rectangular(low: float, high: float, rng: np.random.Generator, *, source: str = "") -> Uncertain:
    """A number that lies anywhere between two limits alike (JCGM 100:2008, 4.3.7); its best value is the middle.

    Parameters
    ----------
    low, high : the limits
    rng : where its trials come from
    source : name of the error, for budgets

    Returns
    -------
    number : of `N_TRIALS` trials
    """
    sources = frozenset((source,)) if source else frozenset[str]()
    return Uncertain((low + high) / 2, rng.uniform(low, high, N_TRIALS), sources)


def evenly_between(low: float, high: float, rng: np.random.Generator) -> Uncertain:
    """A number that lies anywhere between two limits alike, its trials spread evenly and shuffled.

    One trial from each of `N_TRIALS` equal parts: the interval of the number by itself then carries no chance.

    Parameters
    ----------
    low, high : limits
    rng : shuffles the trials

    Returns
    -------
    Number whose best value is the middle.
    """
    places = (rng.permutation(N_TRIALS) + 0.5) / N_TRIALS
    return Uncertain((low + high) / 2, low + (high - low) * places)


def known_quantity(number: Uncertain) -> Quantity:
    """The quantity of a number that is known.

    Raises
    ------
    ValueError : it is not
    """
    quantity = number.quantity()
    if quantity is None:
        raise ValueError("the number is not known")
    return quantity


def hull(value: float, ends: Iterable[Quantity]) -> Quantity:
    """A value with the interval that holds those of all ends: 95 % whichever of them, or between, is right."""
    there = list(ends)
    lows = [end.low95 for end in there if end.low95 is not None]
    highs = [end.high95 for end in there if end.high95 is not None]
    if len(lows) < len(there) or len(highs) < len(there):
        return Quantity(float(value))
    return Quantity(float(value), min(lows), max(highs))
