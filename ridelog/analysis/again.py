"""What an analysis added to a series, worked out again from one that was kept without it, as stores keep them."""

import numpy as np
import pandas as pd

from ridelog.analysis.braking.force import regen_at
from ridelog.analysis.road.plane import plane_of
from ridelog.analysis.road.profile import height_profile
from ridelog.arrays import Floats, Mask, column
from ridelog.constants import NOMINAL_PACK_V


def with_drawn(series: pd.DataFrame) -> pd.DataFrame:
    """A series with what is drawn of it.

    Parameters
    ----------
    series : of an answer, as a store keeps it

    Returns
    -------
    The same with ``smooth_altitude_m``, ``regen_mask``, ``east_m`` and ``north_m``, as `ridelog.measure` adds them, as
    far as the series tells them; what it has already stays.
    """
    plane = plane_of(series)
    distance_m = column(series, "distance_m")
    profile = height_profile(distance_m, column(series, "altitude_m"))
    found: dict[str, Floats | Mask] = {"regen_mask": _regen(series, column(series, "elapsed_s"))}
    if profile is not None:
        found["smooth_altitude_m"] = profile.height_at(distance_m)
    if plane is not None:
        found |= {"east_m": plane.east_m, "north_m": plane.north_m}
    return series.assign(**{name: values for name, values in found.items() if name not in series})


def _regen(series: pd.DataFrame, time_s: Floats) -> Mask:
    """Where current flows into the battery; by the power at a nominal voltage where no current is known."""
    current_a = column(series, "current_a")
    if not np.isfinite(current_a).any():
        current_a = column(series, "power_w") / NOMINAL_PACK_V
    known = np.isfinite(current_a)
    return regen_at(time_s, time_s[known], current_a[known])
