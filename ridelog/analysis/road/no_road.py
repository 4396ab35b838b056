"""Where the recorded heights are no road's: there the error is sure to be large, however small it is elsewhere.

A receiver that lost the sky, or was carried indoors, writes heights that leap by tens of metres within a few metres of
way. How large the error is there shows in the leap; it is forgotten as the slow error is.
"""

import numpy as np

from ridelog.analysis.road.profile import Profile
from ridelog.arrays import Floats, mask_runs


def leaping_m2(
    profile: Profile, passed_s: Floats, *, memory_s: float = 300.0, no_road_pct: float = 40.0, steep_pct: float = 20.0
) -> Floats:
    """Variance of the error that leaps of the height tell of, at each point of the profile.

    Parameters
    ----------
    profile : the smoothed heights; smoothing makes a leap of 13 m a grade of 40 %
    passed_s : when each point of it was passed, shape (m,) [s]
    memory_s : over which the error forgets itself, before and after a leap [s]
    no_road_pct : steeper is no road but a false height; the steepest streets have some 35 % [%]
    steep_pct : how far a leap reaches: the steep stretch that holds such a grade; few roads are steeper [%]

    Returns
    -------
    0 everywhere, for heights that a road has, shape (m,) [m²].
    """
    variance_m2 = np.zeros(len(passed_s))
    for first, last in mask_runs(np.abs(profile.grade_pct) > steep_pct):
        if np.abs(profile.grade_pct[first : last + 1]).max() <= no_road_pct:
            continue
        leap_m = float(np.ptp(profile.height_m[first : last + 1]))
        apart_s = np.maximum(np.maximum(passed_s[first] - passed_s, passed_s - passed_s[last]), 0.0)
        variance_m2 += leap_m**2 * np.exp(-apart_s / memory_s)
    return variance_m2
