"""A difference of two sets of values by Student's t: paired, or of two groups whose spreads may differ.

Each is a weighted sum of the values. The weights say what an error that values share does to the difference: what is
alike on both sides cancels.

References
----------
Student 1908, Biometrika 6:1. Welch 1947, Biometrika 34:28, with the degrees of freedom of Satterthwaite 1946,
Biometrics Bulletin 2:110. Best and Rayner 1987, Technometrics 29:205 (from memory).
"""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from ridelog.arrays import Floats
from ridelog.lazy import dataclass

Rows = NDArray[np.intp]
# Of a group of 2 beside 10, Welch's t tells 10 of 100 that are no difference, of 3 beside 12 seven, of 5 beside 15 five
# and a half: counted. It wants rather more of each (Best and Rayner 1987)
FEW = 3


@dataclass(frozen=True, eq=False)
class Estimate:
    """A difference, and what chance alone may do to it.

    ``value`` : weights @ values · ``weights`` : shape (n,) · ``se`` : its standard error · ``degrees_of_freedom`` :
    of that; infinite where the standard error is known
    """

    value: float
    weights: Floats
    se: float
    degrees_of_freedom: float

    def floored(self, own_u: Floats) -> "Estimate":
        """The estimate, chance no smaller than the errors of measurement that each value has for itself.

        Few values, or values that are all the same, may lie closer together than they were measured.

        Parameters
        ----------
        own_u : standard uncertainty of each value's own error, shape (n,)

        Returns
        -------
        The wider of Student's interval of the spread and the normal one of the measurement.
        """
        from scipy import stats

        measured = self.measurement_u(own_u)
        if self.half_width() >= stats.norm.ppf(0.975) * measured:
            return self
        return replace(self, se=measured, degrees_of_freedom=np.inf)

    def half_width(self) -> float:
        """Of Student's 95 % interval."""
        from scipy import stats

        return float(stats.t.ppf(0.975, self.degrees_of_freedom)) * self.se

    def measurement_u(self, own_u: Floats) -> float:
        """What the values' own errors amount to in the difference, as a standard uncertainty."""
        return float(np.sqrt(np.sum((self.weights * own_u) ** 2)))


def paired(values: Floats, first: Rows, second: Rows) -> Estimate:
    """Mean difference of pairs, second less first.

    Parameters
    ----------
    values : shape (n,)
    first, second : rows of each pair, shape (pairs,), pairs >= 2

    Returns
    -------
    estimate : with pairs - 1 degrees of freedom
    """
    n = len(first)
    differences = values[second] - values[first]
    weights = np.zeros(len(values))
    weights[second], weights[first] = 1 / n, -1 / n
    return Estimate(float(differences.mean()), weights, float(differences.std(ddof=1) / np.sqrt(n)), n - 1)


def welch(values: Floats, first: Rows, second: Rows) -> Estimate:
    """Difference of two means, second less first, by Welch's t.

    Parameters
    ----------
    values : shape (n,)
    first, second : rows of each group, two at least

    Returns
    -------
    estimate : as `of_two`; with the smaller group's degrees of freedom where no value differs from another
    """
    weights = np.zeros(len(values))
    weights[second], weights[first] = 1 / len(second), -1 / len(first)
    variances = [float(values[rows].var(ddof=1)) / len(rows) for rows in (first, second)]
    return of_two(float(weights @ values), weights, variances, (len(first), len(second)))


def of_two(value: float, weights: Floats, variances: Sequence[float], rides: Sequence[int]) -> Estimate:
    """A difference of two groups, each with a spread of its own.

    Parameters
    ----------
    value, weights : of the difference
    variances : what the spread of each group alone makes of it
    rides : of each group, two at least

    Returns
    -------
    estimate : with Satterthwaite's degrees of freedom; the smaller group's where nothing spreads. Beside more than
        `FEW` others, so few rides show too little of their spread for that: if Student's interval of one spread in
        common is the wider one, it is taken
    """
    total = sum(variances)
    freedom: float = min(rides) - 1
    if total > 0:
        freedom = total**2 / sum(v**2 / (n - 1) for v, n in zip(variances, rides, strict=True))
    by_each = Estimate(value, weights, float(np.sqrt(total)), freedom)
    if min(rides) > FEW or rides[0] == rides[1]:
        return by_each
    freedom = sum(rides) - 2
    squared = sum(v * n * (n - 1) for v, n in zip(variances, rides, strict=True)) / freedom
    in_common = Estimate(value, weights, float(np.sqrt(squared * sum(1 / n for n in rides))), freedom)
    return max(by_each, in_common, key=Estimate.half_width)
