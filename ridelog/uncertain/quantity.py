"""A measured number as it is told: a value and the bounds of its 95 % coverage interval."""

import math

from ridelog.lazy import dataclass


@dataclass(frozen=True)
class Quantity:
    """A measured number; bounds are ``None`` where they have not been evaluated."""

    value: float
    low95: float | None = None
    high95: float | None = None


def quantity(value: float | None) -> Quantity | None:
    """A `Quantity` without bounds, or ``None`` for ``None``, NaN and infinity."""
    return Quantity(float(value)) if value is not None and math.isfinite(value) else None
