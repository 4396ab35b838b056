"""The answer to a ride: frozen records of numbers, and their form as JSON.

Every measured number is a `Quantity`: a value and the bounds of its 95 % coverage interval.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass, fields, is_dataclass
from datetime import UTC, datetime
from typing import Any, Literal

import pandas as pd

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
    """One recording: what it is and how its clock was joined."""

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


@dataclass(frozen=True)
class Pack:
    """The pack as it was treated."""

    resistance_ohm: Quantity | None = None
    highest_cell_v: Quantity | None = None
    highest_charge_a: Quantity | None = None
    start_charge_headroom_ah: Quantity | None = None


Verdict = Literal["gains", "loses", "cannot be told"]


@dataclass(frozen=True)
class Benefit:
    """What regeneration gained at the battery on a ride, against the same ride with a drive that freewheels.

    ``drag_n`` : of the unpowered motor · ``unpowered_pct``, ``unbraked_pct`` : share of the distance that rolls
    unpowered, and all that is not braked; the drag counts on a share between them ·
    ``unpowered_net_wh_per_km`` : ``net_wh_per_km`` did it so on the former alone · ``use_wh_per_km`` : drawn less what
    can be drawn again of the returned · ``break_even_n``, ``break_even_nm`` : the drag that would eat all that came
    back if it costs on all that is not braked, at the rim and as a torque · ``assumed`` : what was not measured
    """

    returned_wh_per_km: Quantity
    drag_n: Quantity
    unpowered_pct: float
    unbraked_pct: float
    drag_wh_per_km: Quantity
    net_wh_per_km: Quantity
    unpowered_net_wh_per_km: Quantity
    use_wh_per_km: Quantity
    freewheeling_wh_per_km: Quantity
    break_even_n: Quantity | None
    break_even_nm: Quantity | None
    distance_gained_m: Quantity | None
    verdict: Verdict
    assumed: tuple[str, ...]


@dataclass(frozen=True)
class Offer:
    """What one kind of braking offered on a ride, and the share of it that regeneration is taken to capture."""

    kind: EventKind
    n_events: int
    available_wh: float
    captured_low_pct: float
    captured_high_pct: float


@dataclass(frozen=True)
class WouldReturn:
    """What a ride without a return would have given; ``benefit`` is ``None`` where the distance is not known."""

    offers: tuple[Offer, ...]
    returned_wh: Quantity
    benefit: Benefit | None


@dataclass(frozen=True)
class Worth:
    """What regeneration is worth to the rider; a part is ``None`` where something is not known.

    ``can_regenerate`` : by the motor's kind · ``why`` : there is no ``benefit`` · ranges : of the pack's capacity, as
    ridden, had nothing come back, and with a drive that freewheels · ``saved_per_year`` : in ``currency`` ·
    ``payback_years`` : of ``premium`` by electricity alone, ``None`` where it may never come · ``cycled_pct`` :
    returned charge of the pack's capacity · ``missing`` : keys of the bike file to enter, with what for
    """

    motor_kind: str | None
    can_regenerate: bool | None
    benefit: Benefit | None
    why: str | None
    would: WouldReturn | None
    range_km: Quantity | None = None
    range_without_km: Quantity | None = None
    range_freewheeling_km: Quantity | None = None
    km_per_year: float | None = None
    kwh_per_year: Quantity | None = None
    saved_per_year: Quantity | None = None
    currency: str | None = None
    premium: float | None = None
    payback_years: Quantity | None = None
    cycled_pct: Quantity | None = None
    full_charges_per_year: Quantity | None = None
    missing: tuple[str, ...] = ()


@dataclass(frozen=True)
class LedgerEntry:
    """Where the energy of a ride, a hill or a braking event came from and went to [Wh]; ``None`` where not known.

    ``drawn + rider = returned + kinetic + potential + air + rolling + drag + conversion + friction + rest``

    ``drawn``, ``returned`` : at the battery terminals · ``rider`` : at the pedals, where it was logged · ``kinetic``,
    ``potential`` : gained · ``drag`` : of the unpowered motor, where the bike file tells it; else it is in ``friction``
    and ``rest`` · ``to_wheel`` : what battery and rider brought to the wheel outside the braking events ·
    ``available`` : what these events offered · ``missed`` : available less what of it was returned, which is
    ``conversion`` (lost between wheel and battery), ``friction`` (of the brakes) and the drag meanwhile ·
    ``catchable`` : what the friction brakes took, as it would have reached the battery · ``rest`` : unexplained; drive
    losses and standby, and where the rider's work was not logged less that · ``closing`` : the work at the wheel summed
    up from forces less that from energies, by which speed and heights contradict each other
    """

    kind: Literal["ride", "hill", "event"]
    name: str
    start_s: float
    end_s: float
    drawn_wh: Quantity | None
    returned_wh: Quantity | None
    rider_wh: Quantity | None
    kinetic_wh: Quantity | None
    potential_wh: Quantity | None
    air_wh: Quantity | None
    rolling_wh: Quantity | None
    drag_wh: Quantity | None
    to_wheel_wh: Quantity | None
    available_wh: Quantity | None
    missed_wh: Quantity | None
    conversion_wh: Quantity | None
    friction_wh: Quantity | None
    catchable_wh: Quantity | None
    rest_wh: Quantity | None
    closing_wh: float | None


@dataclass(frozen=True)
class SpeedBand:
    """What braking offered and what came back at speeds from ``low_kmh`` to ``high_kmh`` (``None``: no upper end)."""

    low_kmh: float
    high_kmh: float | None
    time_s: float
    available_wh: Quantity | None
    returned_wh: Quantity | None
    missed_wh: Quantity | None
    captured_pct: Quantity | None


@dataclass(frozen=True)
class ReturnLimit:
    """A current into the battery that braking does not exceed.

    ``above_mps`` : the speed from which it is reached, ``None`` where not known · ``n_events`` : runs of regen that
    stay at it · ``time_s`` : how long in all
    """

    current_a: Quantity
    above_mps: float | None
    n_events: int
    time_s: float


@dataclass(frozen=True)
class Ledger:
    """Where the energy of a ride went: the ride first, then its hills, then its braking events."""

    entries: tuple[LedgerEntry, ...]
    bands: tuple[SpeedBand, ...]
    limit: ReturnLimit | None
    assumed: tuple[str, ...]

    @property
    def ride(self) -> LedgerEntry:
        """The whole ride."""
        return self.entries[0]


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
        plain = {
            field.name: _plain(getattr(self, field.name))
            for field in fields(self)
            if field.name not in ("series", "budget", "worth", "ledger")
        }
        return {"schema": SCHEMA, **plain}


def _plain(value: Any) -> Any:
    if is_dataclass(value):
        return {field.name: _plain(getattr(value, field.name)) for field in fields(value)}
    if isinstance(value, datetime):
        return value.astimezone(UTC).isoformat().replace("+00:00", "Z")
    if isinstance(value, (tuple, list)):
        return [_plain(item) for item in value]
    if isinstance(value, Mapping):
        return {str(key): _plain(item) for key, item in value.items()}
    if isinstance(value, float):
        return float(value) if math.isfinite(value) else None  # numpy's floats too, as Python's own
    return value
