"""An audit's answer: frozen records, and their form as JSON."""

from collections.abc import Mapping
from datetime import datetime
from typing import Any

from ridelog import __version__
from ridelog.answer.plain import plain, record
from ridelog.findings import SEVERITIES, Severity
from ridelog.fleet.history.one_way import OneWay
from ridelog.fleet.history.remarks import StandsOut
from ridelog.fleet.task import Failure
from ridelog.lazy import dataclass
from ridelog.tell.fleet.standing_out import remark
from ridelog.uncertain.quantity import Quantity

SCHEMA = 1


@dataclass(frozen=True)
class RidePoint:
    """One ride of a bike in its history; ``start`` is ``None`` where it states no time."""

    key: str
    name: str
    start: datetime | None
    recovered_pct: Quantity | None
    captured_pct: Quantity | None


@dataclass(frozen=True)
class BikeAudit:
    """One bike over its rides.

    Attributes
    ----------
    bike : its name
    rides : how many were measured
    first, last : when the first and the last of them began, UTC; ``None`` where no ride states a time
    distance_m, drawn_wh, returned_wh : sums over the rides of which they are known
    recovered_pct, captured_pct, net_wh_per_km : the bike's own figure: the mean of its rides, whose interval holds what
        was measured and how much rides differ; ``None`` where there are too few to tell
    ride_to_ride_sd : by how much the recovered share of its rides differs beyond what the sensor errs [%]
    by_month, by_air_c : recovered share by month and by band of air temperature, as "10..20" [°C]
    by_direction : recovered and captured shares of each road that was ridden both ways, there and back
    stands_out : what wants looking at, gravest first
    history : ride by ride, by their start; 0 % where other rides of the bike tell that nothing came back
    """

    bike: str
    rides: int
    first: datetime | None
    last: datetime | None
    distance_m: float
    drawn_wh: float
    returned_wh: float
    recovered_pct: Quantity | None
    captured_pct: Quantity | None
    net_wh_per_km: Quantity | None
    ride_to_ride_sd: float | None
    by_month: Mapping[str, Quantity | None]
    by_air_c: Mapping[str, Quantity | None]
    stands_out: tuple[StandsOut, ...] = ()
    history: tuple[RidePoint, ...] = ()
    by_direction: tuple[OneWay, ...] = ()

    @property
    def gravest(self) -> Severity | None:
        """How grave the gravest is that stands out; ``None`` where nothing does but that there are few rides."""
        severe = [one.severity for one in self.stands_out if one.code != "not-enough-rides"]
        return min(severe, key=SEVERITIES.index, default=None)


@dataclass(frozen=True)
class HillOfBike:
    """One bike on one hill, in one direction; ``captured_pct`` is ``None`` under three rides."""

    bike: str
    passes: int
    captured_pct: Quantity | None


@dataclass(frozen=True)
class HillAudit:
    """One hill, in one direction, over all rides that passed it; ``by_bike`` : each bike on it."""

    id: str
    name: str
    direction: str
    passes: int
    bikes: int
    recovered_pct: Quantity | None
    captured_pct: Quantity | None
    by_bike: tuple[HillOfBike, ...] = ()


@dataclass(frozen=True)
class Audit:
    """What an audit found.

    Attributes
    ----------
    measured, unchanged : how many rides were measured now, and how many had been before
    failed : what could not be measured, and why
    bikes, hills : those that stand out first, and those that were passed most often
    ridelog : the version
    """

    measured: int
    unchanged: int
    failed: tuple[Failure, ...]
    bikes: tuple[BikeAudit, ...]
    hills: tuple[HillAudit, ...]
    ridelog: str = __version__

    @property
    def grave(self) -> bool:
        """Whether something grave stands out, or a ride failed."""
        return bool(self.failed) or any(one.severity == "danger" for bike in self.bikes for one in bike.stands_out)

    def to_dict(self) -> dict[str, Any]:
        """The audit as plain data, ready for JSON."""
        told = self.kept()
        for bike, plain_bike in zip(self.bikes, told["bikes"], strict=True):
            for one, plain_one in zip(bike.stands_out, plain_bike["stands_out"], strict=True):
                evidence = plain_one.pop("evidence")
                plain_one |= {"message": remark(one.code, one.evidence), "evidence": evidence}
        return {"schema": SCHEMA, "ridelog": told.pop("ridelog"), **told}

    def kept(self) -> dict[str, Any]:
        """As `Audit.read` reads it back: without the sentences, which facts make."""
        told: dict[str, Any] = plain(self)
        return told

    @classmethod
    def read(cls, data: Mapping[str, Any]) -> "Audit":
        """The audit that `Audit.kept` gave.

        Raises
        ------
        AnswerError : no such data
        """
        return record(cls, data)
