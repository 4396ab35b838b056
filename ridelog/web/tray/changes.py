"""What a choice of the visitor changed in the answer: the headline's numbers before and after it."""

from ridelog.answer.ride import Answer
from ridelog.lazy import dataclass
from ridelog.uncertain.quantity import Quantity

MOST_KEPT = 8  # choices of a ride; older ones are forgotten


@dataclass(frozen=True)
class Figures:
    """The numbers that a choice is judged by; ``None`` where the answer has none.

    Attributes
    ----------
    recovered_pct : of energy, or of charge where energy is not known [%]
    returned_wh : what came back [Wh]
    captured_pct : of what braking had available [%]
    """

    recovered_pct: Quantity | None = None
    returned_wh: Quantity | None = None
    captured_pct: Quantity | None = None


@dataclass(frozen=True)
class Change:
    """A choice, and the numbers before and after it; ``None`` where the files gave no answer."""

    words: str
    before: Figures | None
    after: Figures | None


def figures_of(answer: Answer | None) -> Figures | None:
    """The numbers of an answer; ``None`` without one."""
    if answer is None:
        return None
    return Figures(
        answer.energy.recovered_pct or answer.charge.recovered_pct,
        answer.energy.returned_wh,
        answer.braking.captured_pct,
    )
