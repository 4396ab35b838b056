"""How the pack was treated: a frozen record."""

from ridelog.lazy import dataclass
from ridelog.uncertain.quantity import Quantity


@dataclass(frozen=True)
class Pack:
    """The pack as it was treated."""

    resistance_ohm: Quantity | None = None
    highest_cell_v: Quantity | None = None
    highest_charge_a: Quantity | None = None
    start_charge_headroom_ah: Quantity | None = None
