"""A comparison's answer: frozen records, and their form as JSON."""

from collections.abc import Mapping
from dataclasses import field
from datetime import datetime
from types import MappingProxyType
from typing import Any, Literal

from ridelog import __version__
from ridelog.answer.plain import plain, record
from ridelog.answer.provenance import Settings
from ridelog.compare.statistics.agreement import Agreement
from ridelog.compare.statistics.precision import Precision
from ridelog.findings import Finding
from ridelog.fleet.task import Failure
from ridelog.lazy import dataclass
from ridelog.uncertain.quantity import Quantity

SCHEMA = 1
QUANTITIES = ("recovered_pct", "captured_pct", "net_wh_per_km")
Verdict = Literal["first-higher", "second-higher", "not-told"]
PairedBy = Literal["hill", "route", "none"]
About = Literal["braking", "ledger", "pack"]


@dataclass(frozen=True)
class GroupFigure:
    """One group over its rides.

    ``recovered_pct``, ``captured_pct``, ``net_wh_per_km`` : means over rides, whose intervals hold how much rides
    differ; ``None`` where no ride tells it · ``precision`` : by quantity, in the words of ISO 5725
    """

    name: str
    rides: int
    recovered_pct: Quantity | None
    captured_pct: Quantity | None
    net_wh_per_km: Quantity | None
    precision: Mapping[str, Precision | None] = field(default_factory=lambda: MappingProxyType({}))


@dataclass(frozen=True)
class Difference:
    """What differs between two groups, and how sure that is.

    Attributes
    ----------
    quantity : its name
    first, second : names of the groups
    paired_by : "hill": the same hills; "route": neighbours in time on the same route; "none": all rides of each group
    pairs : hills that both groups rode, or pairs of rides; 0 where not paired
    difference : second less first with its 95 % interval; no bounds where nothing shows how much rides differ
    from_measurement_u : standard uncertainty of the difference from what was measured, after what both share cancelled
    from_ride_to_ride_sd : standard deviation between rides, measurement taken out
    verdict : from the interval at ``level_pct``, which is Holm's for all differences that were asked about together
    smallest_told : half of that interval's width: what would have been told
    rides_to_settle : rides of each group still to be ridden until a difference of ``settling`` is told 80 times of 100;
        ``None`` where one was told, or where no number of rides does
    corrected : whether each ride was restated at conditions that the groups have in common
    first_rides, second_rides : that the difference rests on
    left_over : rides that tell the quantity and had no partner
    degrees_of_freedom : of Student's t; ``None`` where the measurement alone makes the interval
    p_value, p_corrected : probability of so clear a difference by chance alone, and with Holm's correction
    level_pct, verdict_low, verdict_high : the interval that the verdict follows from
    shared_u : standard uncertainty of errors that do not cancel, which no number of rides takes away
    by_chance_u : standard uncertainty of what chance does: Student's part, never less than the rides' own errors
    shared : what ``shared_u`` is made of, by cause; causes that have cancelled are left out
    """

    quantity: str
    first: str
    second: str
    paired_by: PairedBy
    pairs: int
    difference: Quantity | None
    from_measurement_u: float | None
    from_ride_to_ride_sd: float | None
    verdict: Verdict
    smallest_told: float | None
    rides_to_settle: int | None
    corrected: bool = False
    first_rides: int = 0
    second_rides: int = 0
    left_over: int = 0
    degrees_of_freedom: float | None = None
    p_value: float | None = None
    p_corrected: float | None = None
    level_pct: float | None = None
    verdict_low: float | None = None
    verdict_high: float | None = None
    shared_u: float | None = None
    settling: float | None = None
    by_chance_u: float | None = None
    shared: Mapping[str, float] = field(default_factory=lambda: MappingProxyType({}))


@dataclass(frozen=True)
class Spread:
    """Mean and standard deviation of a condition over the rides of a group; ``None`` where not known."""

    mean: float | None
    sd: float | None


@dataclass(frozen=True)
class Condition:
    """What else was so or otherwise on the rides.

    ``groups`` : by name · ``differs`` : by more than chance explains (Welch's t, Holm) · ``corrected`` : whether
    differences that are corrected take it into account
    """

    quantity: str
    groups: Mapping[str, Spread]
    differs: bool
    corrected: bool


@dataclass(frozen=True)
class HillSpread:
    """What a group captured on a hill: on how many rides, their mean and standard deviation, ``None`` of one [%]."""

    rides: int
    captured_pct: float
    captured_sd: float | None


@dataclass(frozen=True)
class HillFigure:
    """A descent that rides were compared on.

    ``number`` : in the order in which it was ridden · ``length_m``, ``height_m`` : mean over its passes, the height
    negative · ``groups`` : by name, those that rode it · ``passes`` : by key of the ride, when its first pass began [s]
    """

    number: int
    length_m: float
    height_m: float
    groups: Mapping[str, HillSpread]
    passes: Mapping[str, float] = field(default_factory=dict)


@dataclass(frozen=True)
class Over:
    """A number of single rides over those rides of a group that tell it: how many, their mean, standard deviation
    (``None`` of one), least and largest.
    """

    rides: int
    mean: float
    sd: float | None
    least: float
    most: float


@dataclass(frozen=True)
class Flow:
    """What rides had, gave and took, by group: beside a difference, not judged.

    ``about`` : "braking", "ledger" or "pack" · ``quantity`` : a field of the ride's ledger or pack, or of a kind of
    braking with the kind before it · ``groups`` : by name, those of which a ride tells it
    """

    about: About
    quantity: str
    groups: Mapping[str, Over]


@dataclass(frozen=True)
class Loggers:
    """How well two loggers agree that logged the same rides; see `Agreement`, second less first."""

    quantity: str
    first: str
    second: str
    agreement: Agreement


@dataclass(frozen=True)
class RideRow:
    """One ride of a comparison, as it was measured."""

    group: str
    name: str
    start: datetime | None
    key: str
    bike: str
    logger: str
    recovered_pct: Quantity | None
    captured_pct: Quantity | None
    net_wh_per_km: Quantity | None


@dataclass(frozen=True)
class Comparison:
    """What a comparison found."""

    groups: tuple[GroupFigure, ...]
    differences: tuple[Difference, ...]
    conditions: tuple[Condition, ...] = ()
    rides: tuple[RideRow, ...] = ()
    findings: tuple[Finding, ...] = ()
    loggers: tuple[Loggers, ...] = ()
    hills: tuple[HillFigure, ...] = ()
    flows: tuple[Flow, ...] = ()
    failed: tuple[Failure, ...] = ()
    settings: Settings = field(default_factory=lambda: MappingProxyType({}))
    ridelog: str = __version__

    def to_dict(self) -> dict[str, Any]:
        """The comparison as plain data, ready for JSON."""
        told: dict[str, Any] = plain(self)
        return {"schema": SCHEMA, "ridelog": told.pop("ridelog"), **told}

    @classmethod
    def from_dict(cls, data: Mapping[str, Any]) -> "Comparison":
        """The comparison that `Comparison.to_dict` gave.

        Raises
        ------
        AnswerError : no such data
        """
        return record(cls, data)
