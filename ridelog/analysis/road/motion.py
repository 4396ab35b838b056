"""How the bike moved along the ride."""

from ridelog.arrays import Floats
from ridelog.lazy import dataclass


@dataclass(frozen=True, eq=False)
class Motion:
    """How the bike moved on the reference clock; arrays of shape (n,), NaN where not known.

    Attributes
    ----------
    time_s, speed_mps : [s], [m/s]
    height_m, grade_pct : smoothed height and its slope; all NaN where the ride has no height [m], [%]
    heading_rad : the way that the bike goes, clockwise from north; ``None`` where it is not known: the wind then blows
        along the way all the time [rad]
    height_clock_u_s : standard uncertainty of the height's clock against this one [s]
    speed_u_mps : standard uncertainty of a single speed [m/s]
    """

    time_s: Floats
    speed_mps: Floats
    height_m: Floats
    grade_pct: Floats
    heading_rad: Floats | None = None
    height_clock_u_s: float = 0.0
    speed_u_mps: float = 0.0
