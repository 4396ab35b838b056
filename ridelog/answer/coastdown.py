"""The answer of a coast-down: frozen records, and their form as JSON. Numbers are as in `ridelog.answer.ride`."""

from dataclasses import asdict, dataclass
from typing import Any

from ridelog.answer.ride import SCHEMA
from ridelog.findings import Finding
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
    """A quantity with its standard uncertainty, for what goes into a bike file."""

    quantity: Quantity
    u: float


@dataclass(frozen=True)
class CoastDown:
    """What coasting tells of drag.

    Attributes
    ----------
    name : of the ride
    stretches : all that were found, in riding order
    cda_m2 : drag area; ``None`` where nothing could be fitted, as the next three [m²]
    constant_n : A, what slows the bike at any speed: rolling and motor together [N]
    crr_with_drag : A/(m g), the Crr that a bike without motor drag would have [1]
    correlation : of CdA and A
    crr : rolling alone, where the motor's drag is known or there is none [1]
    motor_drag_n : the motor's drag, where Crr is known [N]
    drag_known_n : what ``crr`` was taken less of [N]
    settled : CdA and Crr are known better than without a measurement
    speed_noise_mps : spread of the speeds about the fit [m/s]
    findings : gravest first
    """

    name: str
    stretches: tuple[CoastStretch, ...]
    cda_m2: Measured | None = None
    constant_n: Measured | None = None
    crr_with_drag: Measured | None = None
    correlation: float | None = None
    crr: Measured | None = None
    motor_drag_n: Measured | None = None
    drag_known_n: float | None = None
    settled: bool = False
    speed_noise_mps: float | None = None
    findings: tuple[Finding, ...] = ()

    @property
    def used(self) -> tuple[CoastStretch, ...]:
        """The stretches that were fitted."""
        return tuple(stretch for stretch in self.stretches if stretch.used)

    def to_dict(self) -> dict[str, Any]:
        """The answer as plain data, ready for JSON; numbers are value, low95, high95 as everywhere."""

        def q(measured: Measured | None) -> dict[str, Any] | None:
            return None if measured is None else asdict(measured.quantity)

        return {
            "schema": SCHEMA,
            "ride": {"name": self.name},
            "cda_m2": q(self.cda_m2),
            "constant_n": q(self.constant_n),
            "crr_with_drag": q(self.crr_with_drag),
            "crr": q(self.crr),
            "motor_drag_n": q(self.motor_drag_n),
            "correlation": self.correlation,
            "settled": self.settled,
            "speed_noise_mps": self.speed_noise_mps,
            "stretches": [asdict(stretch) for stretch in self.stretches],
            "findings": [asdict(finding) for finding in self.findings],
        }
