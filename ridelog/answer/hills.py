"""The hills of a ride as ridden: frozen records."""

from dataclasses import dataclass
from typing import Literal

from ridelog.uncertain.quantity import Quantity


@dataclass(frozen=True)
class Hill:
    """One hill as ridden, in one direction; ``start_m`` and ``end_m`` are distances along the ride."""

    id: str
    name: str
    direction: Literal["up", "down"]
    start_s: float
    end_s: float
    start_m: float
    end_m: float
    length_m: float
    height_m: Quantity
    mean_grade_pct: Quantity
    drawn_wh: Quantity | None
    returned_wh: Quantity | None
    recovered_pct: Quantity | None
    available_wh: Quantity | None
    captured_pct: Quantity | None


@dataclass(frozen=True)
class HillPair:
    """One hill ridden both ways: returned going down over drawn going up."""

    up: str
    down: str
    recovered_pct: Quantity | None
