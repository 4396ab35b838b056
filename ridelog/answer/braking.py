"""What braking had available, and what of it came back: frozen records."""

from typing import Literal

from ridelog.lazy import dataclass
from ridelog.uncertain.quantity import Quantity

EventKind = Literal["stop", "slowing", "holding"]


@dataclass(frozen=True)
class BrakingEvent:
    """One braking event; seconds count from the reference recording's first sample."""

    start_s: float
    end_s: float
    kind: EventKind | None
    start_speed_mps: float | None
    end_speed_mps: float | None
    drop_m: Quantity | None
    returned_ah: Quantity | None
    returned_wh: Quantity | None
    available_wh: Quantity | None
    captured_pct: Quantity | None


KindOfBraking = Literal["stop", "slowing", "holding", "unknown"]


@dataclass(frozen=True)
class BrakingKind:
    """All braking events of one kind together; an event whose kind is not known is of the kind "unknown".

    ``events`` : how many · ``missed_wh`` : available less what of it was returned, as in the ledger
    """

    kind: KindOfBraking
    events: int
    available_wh: Quantity | None
    returned_wh: Quantity | None
    captured_pct: Quantity | None
    missed_wh: Quantity | None = None


@dataclass(frozen=True)
class Braking:
    """All braking events together; ``kinds`` has each event in exactly one row, and its rows add up to the whole."""

    available_wh: Quantity | None
    returned_wh: Quantity | None
    captured_pct: Quantity | None
    events: tuple[BrakingEvent, ...]
    kinds: tuple[BrakingKind, ...] = ()
