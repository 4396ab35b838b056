"""Was a charger at the pack while the bike stood? What it gave is not what braking returned."""

import numpy as np

from ridelog.arrays import Floats, Mask, lasting_runs, mask_runs, runs_mask
from ridelog.settings.bike import SensorSection


def charging_mask(
    time_s: Floats,
    current_a: Floats,
    standing: Mask,
    *,
    sensor: SensorSection | None = None,
    least_a: float = 0.5,
    shortest_s: float = 30.0,
) -> Mask:
    """Samples at which a charger fills the battery: current into it for long while the bike stands.

    Parameters
    ----------
    time_s, current_a, standing : shape (n,) [s], [A]
    sensor : a larger zero limit in the bike file raises ``least_a`` with it
    least_a : a charger gives more than this below what the stops otherwise read; zero errors are smaller [A]
    shortest_s : shorter spans are not a charger; regen ends with the wheel [s]

    Returns
    -------
    mask : shape (n,); take these samples out of what was returned
    """
    if not standing.any():
        return np.zeros(len(time_s), dtype=bool)
    levels = stop_levels_a(time_s, current_a, standing)
    level_a = min(float(levels.max()), 0.0) if len(levels) >= 2 else 0.0
    zero_a = (sensor.current_zero_limit_a if sensor else None) or 0.0
    into = standing & (current_a < level_a - max(least_a, zero_a + 0.3))
    runs = lasting_runs(time_s, into, shortest_s, 5.0)
    kept = [(first, last) for first, last in runs if standing[first : last + 1].all()]
    return runs_mask(kept, len(time_s))


def stop_levels_a(time_s: Floats, current_a: Floats, standing: Mask, *, shortest_s: float = 2.0) -> Floats:
    """Median current of each stop that lasts ``shortest_s``, shape (stops,) [A].

    Parameters
    ----------
    time_s, current_a, standing : shape (n,) [s], [A]
    shortest_s : shorter stops tell no level [s]

    Returns
    -------
    Shape (n_stops,) [A].
    """
    runs = [run for run in mask_runs(standing) if time_s[run[1]] - time_s[run[0]] >= shortest_s]
    return np.array([np.median(current_a[first : last + 1]) for first, last in runs])
