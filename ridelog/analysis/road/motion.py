"""How the bike moved along the ride."""

from dataclasses import dataclass

from ridelog.arrays import Floats


@dataclass(frozen=True)
class Motion:
    """How the bike moved on the reference clock; arrays of shape (n,), NaN where not known.

    ``height_m`` and ``grade_pct`` are all NaN where the ride has no height.
    """

    time_s: Floats
    speed_mps: Floats
    height_m: Floats
    grade_pct: Floats
