"""Numbers that tables show and the answer does not hold itself yet: worked out here and nowhere else at the edges."""

from collections.abc import Sequence
from dataclasses import dataclass

from ridelog.answer.braking import BrakingEvent
from ridelog.answer.hills import Hill
from ridelog.answer.ride import Answer
from ridelog.uncertain.quantity import Quantity


@dataclass(frozen=True)
class HillShares:
    """The hill on which most came back, its share of all that did, and that of all descents [%]."""

    best: Hill
    best_pct: float
    descents_pct: float
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
    return HillShares(best, 100 * best_wh / returned.value, 100 * sum(descents_wh) / returned.value, len(descents_wh))


@dataclass(frozen=True)
class KindOfBraking:
    """The braking events of one kind together; ``None`` where a number is not known."""

    kind: str
    n_events: int
    available_wh: Quantity | None
    returned_wh: Quantity | None
    captured_pct: Quantity | None


def braking_kinds(events: Sequence[BrakingEvent]) -> tuple[KindOfBraking, ...]:
    """The events by kind, those of unknown kind last."""
    rows = []
    for kind in ("stop", "slowing", "holding", None):
        chosen = [event for event in events if event.kind == kind]
        if chosen:
            available_wh = _sum([event.available_wh for event in chosen])
            returned_wh = _sum([event.returned_wh for event in chosen])
            captured_pct = 100 * returned_wh / available_wh if available_wh and returned_wh is not None else None
            sums = (None if each is None else Quantity(each) for each in (available_wh, returned_wh, captured_pct))
            rows.append(KindOfBraking(kind or "unknown", len(chosen), *sums))
    return tuple(rows)


def _sum(quantities: Sequence[Quantity | None]) -> float | None:
    known = [each.value for each in quantities if each is not None]
    return sum(known) if known else None


def missed_wh(event: BrakingEvent) -> float | None:
    """What was available and did not reach the battery [Wh]."""
    if event.available_wh is None or event.returned_wh is None:
        return None
    return event.available_wh.value - event.returned_wh.value
