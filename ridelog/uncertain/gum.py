"""The law of propagation of uncertainty: what independent errors with stated sizes do to a sum of them.

It answers where a result follows its inputs in straight lines, as the heights of a ride do. Where it does not (shares,
ratios near 0), the trials of `ridelog.uncertain.trials` answer instead.

References
----------
JCGM 100:2008, Evaluation of measurement data: Guide to the expression of uncertainty in measurement.
"""

import math
from collections.abc import Sequence

from ridelog.lazy import dataclass
from ridelog.uncertain.coverage import P_COVERAGE
from ridelog.uncertain.special import normal_z, student_t


def rectangular_u(half_width: float) -> float:
    """u of a quantity known only to lie within ± ``half_width``: half_width/√3 (JCGM 100, 4.3.7).

    Raises
    ------
    ValueError : a width that is none
    """
    if not (math.isfinite(half_width) and half_width >= 0):
        raise ValueError(f"half_width must be a number of at least 0, not {half_width}")
    return half_width / math.sqrt(3)


@dataclass(frozen=True)
class Contribution:
    """One source of uncertainty of a result, independent of the others.

    Attributes
    ----------
    name : for people, e.g. "height scale"
    u : standard uncertainty of the input [unit of the input]
    sensitivity : what the result changes by when the input changes by 1 [unit of the result per unit of the input]
    dof : degrees of freedom of ``u``; infinite where it is taken as known
    """

    name: str
    u: float
    sensitivity: float = 1.0
    dof: float = math.inf

    def __post_init__(self) -> None:
        """Refuse what no uncertainty can be."""
        if not (math.isfinite(self.u) and self.u >= 0 and math.isfinite(self.sensitivity) and self.dof > 0):
            raise ValueError(f"{self.name}: u = {self.u}, sensitivity {self.sensitivity}, dof {self.dof}")

    @property
    def signed_u(self) -> float:
        """``sensitivity × u`` [unit of the result]."""
        return self.sensitivity * self.u


@dataclass(frozen=True)
class Combined:
    """The combined uncertainty of a result.

    Attributes
    ----------
    u_c : combined standard uncertainty
    dof : effective degrees of freedom, as computed
    factor : Student's t for ``dof`` truncated to an integer
    expanded : ``factor × u_c``
    """

    u_c: float
    dof: float
    factor: float
    expanded: float


def combine(contributions: Sequence[Contribution], *, p: float = P_COVERAGE) -> Combined:
    """Combine independent contributions by the law of propagation of uncertainty.

    ``u_c² = Σ (c_i u_i)²`` (JCGM 100, equation 10); degrees of freedom by Welch–Satterthwaite (G.2b), truncated for the
    coverage factor (G.4.1).

    Parameters
    ----------
    contributions : at least one
    p : coverage probability of ``expanded``

    Raises
    ------
    ValueError : nothing to combine
    """
    if not contributions:
        raise ValueError("there is no contribution to combine")
    variances = [item.signed_u**2 for item in contributions]
    variance = math.fsum(variances)
    spread = math.fsum(part**2 / item.dof for part, item in zip(variances, contributions, strict=True))
    dof = math.inf if spread == 0 else variance**2 / spread
    factor = coverage_factor(dof, p=p)
    u_c = math.sqrt(variance)
    return Combined(u_c, dof, factor, factor * u_c)


def coverage_factor(dof: float = math.inf, *, p: float = P_COVERAGE) -> float:
    """Student's t for a two-sided coverage probability ``p``, ``dof`` truncated to an integer of at least 1 (G.4.1)."""
    return student_factor(max(math.floor(dof * (1 + 1e-9)), 1) if math.isfinite(dof) else dof, p=p)  # 3.999999999 is 4


def student_factor(dof: float, *, p: float = P_COVERAGE) -> float:
    """Student's t for a two-sided coverage probability ``p``; the normal factor for infinitely many ``dof`` (G.3).

    Raises
    ------
    ValueError : a probability that is none
    """
    if not 0 < p < 1:
        raise ValueError(f"a coverage probability lies between 0 and 1, not at {p}")
    return normal_z((1 + p) / 2) if math.isinf(dof) else student_t(dof, (1 + p) / 2)
