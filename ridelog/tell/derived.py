"""Numbers that tables show where the answer does not hold them: worked out here and nowhere else at the edges."""

from collections.abc import Sequence
from dataclasses import dataclass

from ridelog.answer.braking import Braking, BrakingEvent, BrakingKind, KindOfBraking
from ridelog.answer.hills import Hill
from ridelog.answer.ride import Answer
from ridelog.uncertain.quantity import Quantity


@dataclass(frozen=True)
class HillShares:
    """The hill on which most came back, its share of all that did, and that of all descents [%]."""

    best: Hill
    best_pct: Quantity
    descents_pct: Quantity
    n_descents: int


def hill_shares(answer: Answer) -> HillShares | None:
    """Shares of the returned energy; ``None`` where no hill returned any."""
    returned = answer.energy.returned_wh
    by_hill = [(hill, hill.returned_wh.value) for hill in answer.hills if hill.returned_wh is not None]
    some = [(hill, value_wh) for hill, value_wh in by_hill if value_wh > 0]
    if returned is None or returned.value <= 0 or not some:
        return None
    best, best_wh = max(some, key=lambda each: each[1])
    descents_wh = [value_wh for hill, value_wh in some if hill.direction == "down"]
    return HillShares(
        best,
        best.share_of_returned_pct or Quantity(100 * best_wh / returned.value),
        answer.energy.descents_share_of_returned_pct or Quantity(100 * sum(descents_wh) / returned.value),
        len(descents_wh),
    )


def braking_kinds(braking: Braking) -> tuple[BrakingKind, ...]:
    """The braking events by kind, those of unknown kind last."""
    if braking.kinds:
        return braking.kinds
    rows = []
    known: tuple[KindOfBraking, ...] = ("stop", "slowing", "holding", "unknown")
    for kind in known:
        chosen = [event for event in braking.events if (event.kind or "unknown") == kind]
        if chosen:
            available_wh = _sum([event.available_wh for event in chosen])
            returned_wh = _sum([event.returned_wh for event in chosen])
            captured_pct = 100 * returned_wh / available_wh if available_wh and returned_wh is not None else None
            sums = (None if each is None else Quantity(each) for each in (available_wh, returned_wh, captured_pct))
            rows.append(BrakingKind(kind, len(chosen), *sums))
    return tuple(rows)


def _sum(quantities: Sequence[Quantity | None]) -> float | None:
    known = [each.value for each in quantities if each is not None]
    return sum(known) if known else None


def missed_wh(event: BrakingEvent) -> float | None:
    """What was available and did not reach the battery [Wh]."""
    if event.available_wh is None or event.returned_wh is None:
        return None
    return event.available_wh.value - event.returned_wh.value
