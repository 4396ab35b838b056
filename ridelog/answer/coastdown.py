"""The answer of a coast-down: frozen records, and their form as JSON. Numbers are as in `ridelog.answer.ride`."""

from collections.abc import Mapping
from typing import Any

from ridelog import __version__
from ridelog.answer.plain import from_schema, with_schema
from ridelog.findings import Finding
from ridelog.lazy import dataclass
from ridelog.uncertain.quantity import Quantity


@dataclass(frozen=True)
class CoastStretch:
    """One stretch of coasting.

    ``heading_deg`` : clockwise from north, ``None`` where not known · ``road``, ``way`` : stretches with one number
    were ridden on one road, 1 and −1 the two ways · ``used`` : it is in the fit · ``off_mps`` : spread about the fit
    """

    start_s: float
    end_s: float
    start_speed_mps: float
    end_speed_mps: float
    length_m: float
    mean_grade_pct: float | None
    heading_deg: float | None
    road: int
    way: int
    used: bool
    off_mps: float | None


@dataclass(frozen=True)
class Measured:
    """A quantity with its standard uncertainty ``u``, for what goes into a bike file."""

    value: float
    low95: float | None
    high95: float | None
    u: float

    @property
    def quantity(self) -> Quantity:
        """The number as every other."""
        return Quantity(self.value, self.low95, self.high95)


@dataclass(frozen=True)
class CoastedRide:
    """The ride that the coasting is in."""

    name: str


@dataclass(frozen=True)
class CoastDown:
    """What coasting tells of drag.

    Attributes
    ----------
    ride : in which the coasting was
    cda_m2 : drag area; ``None`` where nothing could be fitted, as the next three [m²]
    constant_n : A, what slows the bike at any speed: rolling and motor together [N]
    crr_with_drag : A/(m g), the Crr that a bike without motor drag would have [1]
    crr : rolling alone, where the motor's drag is known or there is none [1]
    motor_drag_n : the motor's drag, where Crr is known [N]
    drag_known_n : what ``crr`` was taken less of [N]
    correlation : of CdA and A
    settled : CdA and Crr are known better than without a measurement
    speed_noise_mps : spread of the speeds about the fit [m/s]
    stretches : all that were found, in riding order
    findings : gravest first
    ridelog : the version that measured it
    """

    ride: CoastedRide
    cda_m2: Measured | None = None
    constant_n: Measured | None = None
    crr_with_drag: Measured | None = None
    crr: Measured | None = None
    motor_drag_n: Measured | None = None
    drag_known_n: float | None = None
    correlation: float | None = None
    settled: bool = False
    speed_noise_mps: float | None = None
    stretches: tuple[CoastStretch, ...] = ()
    findings: tuple[Finding, ...] = ()
    ridelog: str = __version__

    @property
    def name(self) -> str:
        """Name of the ride."""
        return self.ride.name

    @property
    def used(self) -> tuple[CoastStretch, ...]:
        """The stretches that were fitted."""
        return tuple(stretch for stretch in self.stretches if stretch.used)

    @property
    def used_s(self) -> float:
        """How long the stretches that were fitted are, together [s]."""
        return sum(stretch.end_s - stretch.start_s for stretch in self.used)

    @property
    def used_speeds_mps(self) -> tuple[float, float] | None:
        """Lowest and highest speed at the ends of the stretches that were fitted; ``None`` without any [m/s]."""
        ends = [speed for stretch in self.used for speed in (stretch.start_speed_mps, stretch.end_speed_mps)]
        return (min(ends), max(ends)) if ends else None

    def to_dict(self) -> dict[str, Any]:
        """The answer as plain data, ready for JSON; numbers are value, low95, high95 as everywhere."""
        return with_schema(self)

    @classmethod
    def from_dict(cls, data: Mapping[str, Any]) -> "CoastDown":
        """The answer that `CoastDown.to_dict` wrote.

        Raises
        ------
        AnswerError : no such data, or data of another schema
        """
        return from_schema(cls, data)
