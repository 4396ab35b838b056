"""Where the uncertainty of a result comes from, and what would shrink it: the uncertainty budget for people."""

import math
from collections.abc import Mapping
from types import MappingProxyType
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike

from ridelog.lazy import dataclass
from ridelog.uncertain.quantity import Quantity

# What would shrink a source; empty where nothing in a rider's power does.
Advice = Literal[
    "", "stand-switched-on", "enter-standby-draw", "compare-both-directions", "log-faster", "let-it-average",
    "find-missing-samples",
]  # fmt: skip
NO_ADVICE: Mapping[str, Advice] = MappingProxyType({})

TOGETHER = "acting together"  # the row of a budget for what single errors do not explain


@dataclass(frozen=True)
class BudgetRow:
    """One source of uncertainty.

    ``u`` : standard uncertainty that it alone gives the result [unit of the result], ``None`` where it only takes some
    away · ``share_pct`` : of the result's variance, ``None`` where that is 0 · ``advice`` : what would shrink it
    """

    name: str
    u: float | None
    share_pct: float | None
    advice: Advice


@dataclass(frozen=True)
class Budget:
    """The uncertainty budget of one result; ``rows`` from the largest share down, ``u_c`` all of them together."""

    quantity: str
    unit: str
    value: float
    rows: tuple[BudgetRow, ...]
    u_c: float
    low95: float
    high95: float

    @property
    def largest(self) -> BudgetRow | None:
        """The source whose shrinking helps most; ``None`` where there is no uncertainty."""
        return next((row for row in self.rows if row.share_pct is not None and row.name != TOGETHER), None)


def budget_from_trials(
    quantity: str,
    unit: str,
    answer: Quantity,
    parts: Mapping[str, ArrayLike],
    *,
    together: ArrayLike,
    advice: Mapping[str, Advice] = NO_ADVICE,
) -> Budget:
    """The budget of a result whose interval came from trials, letting one error act at a time (JCGM 101, annex B).

    Parameters
    ----------
    quantity, unit : for people, e.g. "recovered" and "%"
    answer : the result with its 95 % interval, both bounds given
    parts : name -> trials of the result with *only* this error acting, shape (m,) each [unit of the result]
    together : trials of the result with all errors acting, shape (m,)
    advice : name -> what would shrink it

    Returns
    -------
    Each error with its size and its share of the variance, largest first.

    Raises
    ------
    ValueError : an answer without bounds, or trials that are not finite

    Notes
    -----
    Shares are of the sum of the single variances. Where that misses the variance of all errors together by more than
    chance does, the difference is a row of its own (`TOGETHER`; negative where the errors hold each other back) and
    shares are of the variance together. Chance: an estimated variance is off by √(2/m) of itself (1 σ) for near-normal
    trials, and so is the sum it is compared with; 4 σ of the difference, at least 5 %, are put down to chance.
    """
    if answer.low95 is None or answer.high95 is None:
        raise ValueError(f"{quantity}: a budget needs the bounds of the 95 % interval")
    variances = {name: _variance(name, trials) for name, trials in parts.items()}
    total = _variance(TOGETHER, together)
    alone = sum(variances.values())
    chance = max(0.05, 8 / math.sqrt(np.size(together)))
    apart = abs(total - alone) > chance * total
    whole = total if apart else alone
    rows = [
        BudgetRow(name, math.sqrt(part), 100 * part / whole if whole > 0 else None, advice.get(name, ""))
        for name, part in variances.items()
    ]
    if apart and total > 0:
        rows.append(_rest(total - alone, total))
    return Budget(quantity, unit, answer.value, _sorted(rows), math.sqrt(total), answer.low95, answer.high95)


def _rest(variance: float, whole: float) -> BudgetRow:
    """What the single errors do not explain, because the result does not follow them in straight lines."""
    return BudgetRow(TOGETHER, math.sqrt(variance) if variance > 0 else None, 100 * variance / whole, "")


def _sorted(rows: list[BudgetRow]) -> tuple[BudgetRow, ...]:
    return tuple(sorted(rows, key=lambda row: -math.inf if row.share_pct is None else row.share_pct, reverse=True))


def _variance(name: str, trials: ArrayLike) -> float:
    values = np.asarray(trials, dtype=float)
    if values.ndim != 1 or len(values) < 2 or not np.isfinite(values).all():
        raise ValueError(f"{name}: trials must be at least two finite numbers in one dimension")
    return float(values.var(ddof=1))
