"""A made-up ledger whose lines add up, set by hand."""

from ridelog.answer.ledger import Ledger, LedgerEntry, SpeedBand
from ridelog.findings import Fact
from ridelog.uncertain.quantity import Quantity


def q(value: float) -> Quantity:
    """A value and half a watt-hour on either side of it."""
    return Quantity(value, value - 0.5, value + 0.5)


# 70 drawn + 20 rider = 6 returned + 10 height + 0 speed + 35 air + 18 rolling + 4 drag + 7 brakes + 2 charging + 8 rest
ENTRY = LedgerEntry(
    "ride", "ride", 0.0, 1755.0, q(70), q(6), q(20), Quantity(0, 0, 0), q(10), q(35), q(18), q(4), q(66), q(16), q(6),
    q(10), q(2), q(7), q(5), q(0), q(8), 0.02,
)  # fmt: skip
BANDS = (SpeedBand(0, 10, 31.6, q(2), q(0.6), q(1.4), q(30)), SpeedBand(10, None, 20.0, q(14), None, None, None))
ASSUMED: dict[str, Fact] = {
    "generator_efficiency_low_pct": 45.0,
    "generator_efficiency_high_pct": 92.0,
    "motor_drag_from": "entered",
    "motor_drag_low_n": 1.2,
    "motor_drag_high_n": 1.8,
    "rider_power_limit_pct": None,
}
LEDGER = Ledger(ENTRY, assumed=ASSUMED)
