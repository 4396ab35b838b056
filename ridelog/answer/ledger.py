"""Where the energy of a ride went: frozen records."""

from collections.abc import Mapping
from typing import Literal

from ridelog.findings import NO_FACTS, Fact
from ridelog.lazy import dataclass
from ridelog.uncertain.quantity import Quantity


@dataclass(frozen=True)
class LedgerEntry:
    """Where the energy of a ride, a hill or a braking event came from and went to [Wh]; ``None`` where not known.

    ``drawn + rider = returned + kinetic + potential + air + rolling + drag + conversion + friction + unplaced
    + unexplained``

    ``drawn``, ``returned`` : at the battery terminals · ``rider`` : at the pedals, where it was logged · ``kinetic``,
    ``potential`` : gained · ``drag`` : of the unpowered motor, where the bike file tells it; else it is in ``friction``
    and ``unexplained`` · ``to_wheel`` : what battery and rider brought to the wheel outside the braking events ·
    ``available`` : what was available in these events · ``caught`` : what of ``returned`` came back in them ·
    ``missed`` : available less caught, which is ``conversion`` (lost between wheel and battery), ``friction`` (of the
    brakes) and the drag meanwhile · ``catchable`` : what the friction brakes took, as it would have reached the
    battery · ``unplaced`` : net drawn where height or speed is not known · ``unexplained`` : losses of the drive and
    standby, and where the rider's work was not logged less that · ``closing`` : the work at the wheel summed up from
    forces less that from energies, by which speed and heights contradict each other
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
    caught_wh: Quantity | None
    missed_wh: Quantity | None
    conversion_wh: Quantity | None
    friction_wh: Quantity | None
    catchable_wh: Quantity | None
    unplaced_wh: Quantity | None
    unexplained_wh: Quantity | None
    closing_wh: float | None


@dataclass(frozen=True)
class SpeedBand:
    """What was available and what came back at speeds from ``low_kmh`` to ``high_kmh`` (``None``: no upper end)."""

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
    """Where the energy of a ride went: the ride, its hills, its braking events.

    ``assumed`` : what was not measured, by name · ``return_limit`` : what braking does not exceed, ``None`` where no
    limit was met
    """

    ride: LedgerEntry
    hills: tuple[LedgerEntry, ...] = ()
    events: tuple[LedgerEntry, ...] = ()
    assumed: Mapping[str, Fact] = NO_FACTS
    return_limit: ReturnLimit | None = None

    @property
    def entries(self) -> tuple[LedgerEntry, ...]:
        """All entries: the ride first, then its hills, then its braking events."""
        return (self.ride, *self.hills, *self.events)
