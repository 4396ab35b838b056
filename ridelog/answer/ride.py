"""The answer to a ride: frozen records of numbers, and their form as JSON.

Every measured number is a `Quantity`: a value and the bounds of its 95 % coverage interval.
"""

from dataclasses import dataclass, fields
from datetime import datetime
from typing import Any

import pandas as pd

from ridelog.answer.braking import Braking
from ridelog.answer.hills import Hill, HillPair
from ridelog.answer.ledger import Ledger
from ridelog.answer.pack import Pack
from ridelog.answer.plain import plain
from ridelog.answer.worth import Worth
from ridelog.findings import Finding
from ridelog.recording import Role
from ridelog.uncertain.budget import Budget
from ridelog.uncertain.quantity import Quantity

SCHEMA = 1


@dataclass(frozen=True)
class RideSummary:
    """What was ridden."""

    name: str
    start: datetime | None
    duration_s: float
    moving_s: float | None
    distance_m: Quantity | None
    ascent_m: Quantity | None
    descent_m: Quantity | None


@dataclass(frozen=True)
class Source:
    """One recording: what it is and how its clock was joined.

    ``clock_offset_s`` is what this recording's clock shows less what the electrical log's shows, at the electrical log's
    first sample. Where one of the two keeps no wall time, each counts the seconds from its own first sample: a track
    that begins 12 s after the log has an offset of -12 s. ``clock_drift_ppm`` is how much faster this clock runs. Both
    are ``None`` where the clocks were not joined; the drift also where the ride is too short to tell it.
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


@dataclass(frozen=True)
class Charge:
    """Ampere-hours at the battery terminals."""

    drawn_ah: Quantity | None
    returned_ah: Quantity | None
    recovered_pct: Quantity | None


@dataclass(frozen=True)
class Energy:
    """Watt-hours at the battery terminals, and what they mean on the road."""

    drawn_wh: Quantity | None
    returned_wh: Quantity | None
    recovered_pct: Quantity | None
    net_wh_per_km: Quantity | None
    distance_gained_m: Quantity | None


@dataclass(frozen=True)
class Answer:
    """Everything that was measured of a ride.

    ``series`` is the ride's common series with what the analysis added (see
    `ridelog.analysis.measure.measure`), ``budget`` where the uncertainty of the recovered share comes from (``None``
    where there is no share), ``worth`` what regeneration is worth (``None`` where no current is known), ``ledger``
    where the energy went (``None`` without height or speed); none of them is part of `to_dict`.
    """

    ride: RideSummary
    sources: tuple[Source, ...]
    charge: Charge
    energy: Energy
    braking: Braking
    hills: tuple[Hill, ...]
    hill_pairs: tuple[HillPair, ...]
    pack: Pack
    findings: tuple[Finding, ...]
    series: pd.DataFrame
    budget: Budget | None = None
    worth: Worth | None = None
    ledger: Ledger | None = None

    def to_dict(self) -> dict[str, Any]:
        """The answer as plain data, ready for JSON."""
        data = {
            field.name: plain(getattr(self, field.name))
            for field in fields(self)
            if field.name not in ("series", "budget", "worth", "ledger")
        }
        return {"schema": SCHEMA, **data}
