"""What regeneration is worth to the rider: frozen records."""

from collections.abc import Mapping
from typing import Literal

from ridelog.answer.braking import EventKind
from ridelog.findings import Fact
from ridelog.lazy import dataclass
from ridelog.uncertain.quantity import Quantity

Verdict = Literal["gains", "loses", "not-told"]
# why nothing is carried over from this ride to a full battery or a year: range, electricity, payback, full charges
WhyNoOutlook = Literal["too-short", "ends-lower", "ends-higher"]
# why nothing can be said of the net benefit: what the bike is, or what is not known
WhyUnknown = Literal["freewheel", "return-unknown", "energy-unknown", "distance-unknown", "drag-unknown"]


@dataclass(frozen=True)
class Benefit:
    """What regeneration gained at the battery on a ride, against the same ride with a drive that freewheels.

    ``drag_n`` : of the unpowered motor · ``unpowered_pct``, ``unbraked_pct`` : share of the distance that rolls
    unpowered, and all that is not braked; the drag counts on a share between them ·
    ``unpowered_net_wh_per_km`` : ``net_wh_per_km`` if it counted on the former alone · ``use_wh_per_km`` : drawn less
    what can be drawn again of the returned · ``break_even_n``, ``break_even_nm`` : the drag that would use up all that
    came back if it costs on all that is not braked, at the rim and as a torque · ``assumed`` : what was not
    measured, by name
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
    assumed: Mapping[str, Fact]


@dataclass(frozen=True)
class BrakingToCapture:
    """What one kind of braking had available, and the share of it that regeneration is assumed to capture."""

    kind: EventKind
    n_events: int
    available_wh: float
    captured_low_pct: float
    captured_high_pct: float


@dataclass(frozen=True)
class WouldReturn:
    """What a ride without a return would have given; ``benefit`` is ``None`` where the distance is not known."""

    kinds: tuple[BrakingToCapture, ...]
    returned_wh: Quantity
    benefit: Benefit | None


@dataclass(frozen=True)
class Worth:
    """What regeneration is worth to the rider; a part is ``None`` where something is not known.

    ``can_regenerate`` : by the motor's kind · ``why`` : there is no ``benefit`` · ranges : of the pack's capacity, as
    ridden, had nothing come back, and with a drive that freewheels · ``saved_per_year`` : in ``currency`` ·
    ``payback_years`` : of ``premium`` by electricity alone, ``None`` where it may never come, then no sooner than
    ``soonest_payback_years`` if ever · ``cycled_pct`` : returned charge of the pack's capacity · ``missing`` : keys of
    the bike file to enter · ``no_outlook`` : why this ride tells of no range and no year, all of which is then ``None``
    """

    motor_kind: str | None
    can_regenerate: bool | None
    benefit: Benefit | None
    why: WhyUnknown | None
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
    soonest_payback_years: float | None = None
    cycled_pct: Quantity | None = None
    full_charges_per_year: Quantity | None = None
    missing: tuple[str, ...] = ()
    no_outlook: WhyNoOutlook | None = None
