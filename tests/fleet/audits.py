"""A made-up audit: three bikes, of which one lost its regen and one has too few rides; one file that is broken."""

from datetime import UTC, datetime

from ridelog.findings import Facts
from ridelog.fleet.history.remarks import StandsOut
from ridelog.fleet.record import Audit, BikeAudit, HillAudit
from ridelog.fleet.task import Failure
from ridelog.uncertain.quantity import Quantity

LOST = StandsOut(
    "regen-lost",
    "danger",
    datetime(2026, 3, 14, 7, 12, tzinfo=UTC),
    Facts({"quantity": "captured", "now_pct": 0.4, "usual_pct": 38.0, "n_before": 21, "n_after": 9, "p_value": 1e-6}),
)
FEW = StandsOut("not-enough-rides", "note", None, Facts({"n_rides": 2, "n_known": 2, "n_needed": 3}))


def made_up() -> Audit:
    """The audit."""
    first, last = datetime(2026, 1, 2, 7, tzinfo=UTC), datetime(2026, 6, 30, 16, tzinfo=UTC)
    share, captured, use = Quantity(6.71, 6.02, 7.4), Quantity(36.0, 31.2, 40.9), Quantity(8.2, 7.9, 8.5)
    months = {"2026-01": Quantity(6.1, 5.0, 7.2), "2026-02": None, "2026-03": Quantity(7.0, 6.4, 7.7)}
    bikes = (
        BikeAudit("Avocet", 30, first, last, 251_300.0, 2061.0, 138.2, share, captured, use, 1.13, months, {}),
        BikeAudit("Dunlin <b>", 30, first, last, 249_800.0, 2190.0, 92.0, share, captured, use, 3.2, {}, {}, (LOST,)),
        BikeAudit("Ruff", 2, None, None, 16_000.0, 130.0, 8.0, None, None, None, None, {}, {}, (FEW,)),
    )
    hills = (
        HillAudit("3f2a91c0-down", "Hill 1, down", "down", 61, 2, Quantity(31.0, 29.0, 33.1), captured),
        HillAudit("3f2a91c0-up", "Hill 1, up", "up", 58, 2, None, None),
    )
    failed = (Failure("bikes/avocet/2026-05-01/track.gpx", "holds no point", "is it the right file?"),)
    return Audit(2, 60, failed, bikes, hills)
