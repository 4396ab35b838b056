"""A difference with what chance and what shared errors may do to it, as one distribution (JCGM 101:2008).

The difference is Student's t about its estimate, plus errors that values share and that do not cancel, which are
rectangular as limits are. Its interval and the probability on the far side of 0 are read off the same distribution.
"""

from collections.abc import Sequence
from dataclasses import field

import numpy as np

from ridelog.arrays import Floats
from ridelog.compare.statistics.estimate import Estimate
from ridelog.fleet.history.statistics.shared import rectangular_sum
from ridelog.lazy import dataclass

POINTS = 256  # of the shared errors' distribution
NOTHING = 1e-9  # share of the rest below which a shared error has cancelled


@dataclass(frozen=True, eq=False)
class Combined:
    """Student's t, scaled by ``se`` and moved to ``centre``, plus ``shared``: equally likely values."""

    centre: float
    se: float
    degrees_of_freedom: float
    shared: Floats
    _known: dict[float, tuple[float, float]] = field(default_factory=dict, init=False, repr=False)  # intervals by level

    @classmethod
    def of(cls, estimate: Estimate, shared_u: Sequence[float] = ()) -> "Combined":
        """An estimate with shared errors.

        Parameters
        ----------
        estimate : the difference
        shared_u : what one standard uncertainty of each shared error does to it

        Returns
        -------
        combined : of them
        """
        largest = max((abs(u) for u in shared_u), default=0.0)
        told = [u for u in shared_u if abs(u) > NOTHING * max(largest, estimate.se, abs(estimate.value))]
        return cls(
            estimate.value, estimate.se, estimate.degrees_of_freedom, np.sort(rectangular_sum(told, POINTS))
        )  # fmt: skip

    @property
    def shared_u(self) -> float:
        """Standard uncertainty of the shared errors."""
        return float(self.shared.std())

    def below(self, value: float) -> float:
        """Probability that the difference lies below a value; half of what lies at it counts as below."""
        from scipy import special

        away = value - self.centre - self.shared
        if self.se == 0:
            return float(np.mean((away > 0) + 0.5 * (away == 0)))
        return float(np.mean(special.stdtr(self.degrees_of_freedom, away / self.se)))

    def p_value(self) -> float:
        """Twice the probability on the far side of 0."""
        below = self.below(0.0)
        return min(1.0, 2 * min(below, 1 - below))

    def interval(self, level: float = 0.95) -> tuple[float, float]:
        """As much of the distribution below as above (JCGM 101, 7.7)."""
        if level not in self._known:
            self._known[level] = self._quantile((1 - level) / 2), self._quantile((1 + level) / 2)
        return self._known[level]

    def _quantile(self, probability: float) -> float:
        from scipy import optimize, special

        if self.se == 0:
            return self.centre + float(np.quantile(self.shared, probability, method="hazen"))
        reach = float(special.stdtrit(self.degrees_of_freedom, probability)) * self.se
        low, high = self.centre + self.shared[0] + reach, self.centre + self.shared[-1] + reach
        if high - low <= NOTHING * self.se:
            return float((low + high) / 2)
        return float(optimize.brentq(lambda value: self.below(value) - probability, low, high, xtol=1e-9 * self.se))
