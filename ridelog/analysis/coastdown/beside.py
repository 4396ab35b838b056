"""What the coasting of one ride tells of its drag, however little that is, for a mean over many rides."""

import numpy as np

from ridelog.analysis.coastdown.record import coasts_fitted
from ridelog.arrays import Floats
from ridelog.lazy import dataclass
from ridelog.recording import Ride


@dataclass(frozen=True)
class Coasted:
    """Constant drag A and CdA as the coasting of one ride has them, by the bike file's mass and the ride's air.

    Attributes
    ----------
    lasted_s : of the stretches in the fit [s]
    drag_n, cda_m2 : best values; one ride alone can have them below 0
    covariance : of the two, shape (2, 2), without the errors of mass and air
    alike : the part of it that rides on the same roads share, which no number of them takes away, shape (2, 2)
    """

    lasted_s: float
    drag_n: float
    cda_m2: float
    covariance: Floats
    alike: Floats


def coasted(ride: Ride) -> Coasted | None:
    """What the coasting of a ride tells of its drag.

    Parameters
    ----------
    ride : from `ridelog.load_ride`

    Returns
    -------
    coasted : ``None`` without coasting, without heights, and where pedals or brake are not logged: soft pedalling and a
        dragging brake look like drag that is smaller or larger, on every ride alike, and would not average out
    """
    series = ride.series
    pedals = any(name in series and series[name].notna().any() for name in ("cadence_rpm", "rider_power_w"))
    if not pedals or "brake_ratio" not in series or not series["brake_ratio"].notna().any():
        return None
    coasts = coasts_fitted(ride)
    fit, scene = coasts.fit, coasts.scene
    if fit is None or scene.noise is None or not scene.signals.motor_seen:
        return None
    time_s, load = scene.signals.time_s, scene.whole.load
    units = np.array([load.effective_mass_kg, 2 * load.effective_mass_kg / load.density])
    both = np.outer(units, units)
    return Coasted(
        sum(float(time_s[coasts.runs[at][1]] - time_s[coasts.runs[at][0]]) for at in coasts.kept),
        float(units[0] * fit.drag),
        float(units[1] * fit.drag_area),
        both * fit.covariance,
        both * fit.alike,
    )
