"""A difference of two sets of values by Student's t: paired, or of two groups whose spreads may differ.

Each is a weighted sum of the values. The weights say what an error that values share does to the difference: what is
alike on both sides cancels.

References
----------
Student 1908, Biometrika 6:1. Welch 1947, Biometrika 34:28, with the degrees of freedom of Satterthwaite 1946,
Biometrics Bulletin 2:110.
"""

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from ridelog.arrays import Floats
from ridelog.lazy import dataclass

Rows = NDArray[np.intp]


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
        if stats.t.ppf(0.975, self.degrees_of_freedom) * self.se >= stats.norm.ppf(0.975) * measured:
            return self
        return replace(self, se=measured, degrees_of_freedom=np.inf)

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
    estimate : with Satterthwaite's degrees of freedom; the smaller group's where no value differs from another
    """
    weights = np.zeros(len(values))
    weights[second], weights[first] = 1 / len(second), -1 / len(first)
    variances = [float(values[rows].var(ddof=1)) / len(rows) for rows in (first, second)]
    total = sum(variances)
    freedom: float = min(len(first), len(second)) - 1
    if total > 0:
        freedom = total**2 / sum(v**2 / (len(rows) - 1) for v, rows in zip(variances, (first, second), strict=True))
    return Estimate(float(weights @ values), weights, float(np.sqrt(total)), freedom)
