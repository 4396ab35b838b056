"""What braking had available, and what of it came back: frozen records."""

from dataclasses import dataclass
from typing import Literal

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


@dataclass(frozen=True)
class Braking:
    """All braking events together."""

    available_wh: Quantity | None
    returned_wh: Quantity | None
    captured_pct: Quantity | None
    events: tuple[BrakingEvent, ...]
