"""What a bike recovers on a road one way: a record that loads nothing which reads tables."""

from datetime import datetime
from typing import Literal

from ridelog.lazy import dataclass
from ridelog.uncertain.quantity import Quantity


@dataclass(frozen=True)
class OneWay:
    """One way of a road.

    ``road`` : its number, from 1, in the order in which roads were first ridden · ``name``, ``first`` : of the first
    ride that went this way · ``ascent_m``, ``descent_m`` : median of its rides · ``recovered_pct``, ``captured_pct`` :
    mean of its rides, ``None`` where there are too few to tell
    """

    road: int
    way: Literal["there", "back"]
    name: str
    first: datetime | None
    rides: int
    ascent_m: float | None
    descent_m: float | None
    recovered_pct: Quantity | None
    captured_pct: Quantity | None
