"""The answer to a ride: frozen records of numbers, and their form as JSON.

Every measured number is a `Quantity`: a value and the bounds of its 95 % coverage interval.
"""

from collections.abc import Mapping
from dataclasses import field
from datetime import datetime
from types import MappingProxyType
from typing import Any

import pandas as pd

from ridelog import __version__
from ridelog.answer.braking import Braking
from ridelog.answer.hills import Hill, HillPair
from ridelog.answer.ledger import Ledger, SpeedBand
from ridelog.answer.pack import Pack
from ridelog.answer.plain import from_schema, with_schema
from ridelog.answer.provenance import BikeUsed, Settings
from ridelog.answer.shared_errors import SharedErrors
from ridelog.answer.worth import Worth
from ridelog.findings import Finding
from ridelog.lazy import dataclass
from ridelog.recording import Role
from ridelog.uncertain.budget import Budget
from ridelog.uncertain.quantity import Quantity


@dataclass(frozen=True)
class RideSummary:
    """What was ridden.

    ``ends_lower_m`` : by how much the last known height is below the first · ``height_covered_pct`` : share of the
    moving time in which the height is known; ``None`` where it never is · ``time_zone`` : where the ride was, as
    "Europe/Lisbon"; ``None`` where nobody said
    """

    name: str
    start: datetime | None
    duration_s: float
    moving_s: float | None
    distance_m: Quantity | None
    ascent_m: Quantity | None
    descent_m: Quantity | None
    ends_lower_m: Quantity | None = None
    height_covered_pct: float | None = None
    time_zone: str | None = None


@dataclass(frozen=True)
class ColumnUse:
    """How one column of a log was understood: ``value = (written + offset) * factor * sign``.

    ``quantity`` : what it holds, ``None`` where that is not known · ``channel`` : what it became (see
    `ridelog.channels`), in the unit of its name; ``None`` for a column that is not used, which has no ``factor``,
    ``sign`` and ``offset`` · ``why`` : it was understood so
    """

    column: str
    quantity: str | None
    unit: str | None
    factor: float | None
    sign: int | None
    why: str
    channel: str | None = None
    offset: float | None = None


@dataclass(frozen=True)
class Source:
    """One recording: what it is and how its clock was joined.

        ``clock_offset_s`` is what this recording's clock shows less what the electrical log's shows, at the electrical
    log's first sample. Where one of the two keeps no wall time, each counts the seconds from its own first sample: a
    track that begins 12 s after the log has an offset of -12 s. ``clock_drift_ppm`` is how much faster this clock runs.
    Both are ``None`` where the clocks were not joined; the drift also where the ride is too short to tell it.
    ``columns`` is how the columns of a log were understood.
    """

    path: str
    sha256: str
    format: str
    role: Role
    start: datetime | None
    end: datetime | None
    samples: int
    step_s: float
    covered_pct: float
    clock_offset_s: Quantity | None
    clock_drift_ppm: Quantity | None
    columns: tuple[ColumnUse, ...] = ()


@dataclass(frozen=True)
class Charge:
    """Ampere-hours at the battery terminals."""

    drawn_ah: Quantity | None
    returned_ah: Quantity | None
    recovered_pct: Quantity | None


@dataclass(frozen=True)
class Energy:
    """Watt-hours at the battery terminals, and what they mean on the road.

    ``descents_share_of_returned_pct`` : of all that came back, what came back on the hills that were ridden down
    """

    drawn_wh: Quantity | None
    returned_wh: Quantity | None
    recovered_pct: Quantity | None
    net_wh_per_km: Quantity | None
    distance_gained_m: Quantity | None
    descents_share_of_returned_pct: Quantity | None = None


def _no_settings() -> Settings:
    return MappingProxyType({})


@dataclass(frozen=True, kw_only=True)
class Answer:
    """Everything that was measured of a ride.

    Attributes
    ----------
    ridelog : the version that measured it
    settings : every threshold used, by question
    bike : the bike's values as used, and where each is from
    ride, sources, charge, energy, braking, hills, hill_pairs, pack : what was measured
    findings : what to know before believing or using a number, gravest first
    ledger : where the energy went; ``None`` without height, speed or battery energy
    speed_bands : braking by speed; empty where there is no ledger
    budget : where the uncertainty of a result comes from, a budget each; empty where there is no recovered share
    worth : what regeneration is worth; ``None`` where no current is known
    shared_errors : by how much the errors that it shares with other rides move its numbers
    series : the ride's common series with what the analysis added (see `ridelog.analysis.measure.measure`). It is no
        part of the JSON and does not count when answers are compared; an answer that was read back has an empty one.
    """

    ridelog: str = __version__
    settings: Settings = field(default_factory=_no_settings)
    bike: BikeUsed = field(default_factory=BikeUsed)
    ride: RideSummary
    sources: tuple[Source, ...]
    charge: Charge
    energy: Energy
    braking: Braking
    hills: tuple[Hill, ...]
    hill_pairs: tuple[HillPair, ...]
    pack: Pack
    findings: tuple[Finding, ...]
    ledger: Ledger | None = None
    speed_bands: tuple[SpeedBand, ...] = ()
    budget: tuple[Budget, ...] = ()
    worth: Worth | None = None
    shared_errors: SharedErrors = field(default_factory=SharedErrors)
    series: pd.DataFrame = field(default_factory=pd.DataFrame, compare=False, repr=False)

    def to_dict(self) -> dict[str, Any]:
        """The answer as plain data, ready for JSON."""
        return with_schema(self)

    @classmethod
    def from_dict(cls, data: Mapping[str, Any]) -> "Answer":
        """The answer that `Answer.to_dict` wrote, but for its series.

        Raises
        ------
        AnswerError : no such data, or data of another schema
        """
        return from_schema(cls, data)
