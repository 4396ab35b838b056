"""The hills of a ride as ridden: frozen records."""

from dataclasses import field
from typing import Literal

from ridelog.lazy import dataclass
from ridelog.uncertain.quantity import Quantity


@dataclass(frozen=True)
class Place:
    """A place on the earth, WGS 84."""

    latitude_deg: float
    longitude_deg: float


@dataclass(frozen=True)
class Hill:
    """One hill as ridden, in one direction.

    ``start_m``, ``end_m`` : distances along the ride · ``number`` : counted from 1 in the order in which hills are
    first met; a hill ridden both ways keeps one number · ``start``, ``end`` : where it begins and ends, ``None``
    without positions · ``share_of_returned_pct`` : of all that came back on the ride, what came back on this hill
    """

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
    number: int = field(kw_only=True)
    start: Place | None = None
    end: Place | None = None
    share_of_returned_pct: Quantity | None = None


@dataclass(frozen=True)
class HillPair:
    """One hill ridden both ways: returned going down over drawn going up."""

    up: str
    down: str
    recovered_pct: Quantity | None
