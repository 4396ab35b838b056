"""What a wheel that spins down in the air tells of the motor's drag, which no coast-down can tell from rolling."""

import math

import numpy as np
from numpy.typing import ArrayLike

from ridelog.analysis.road.load import STANDARD_GRAVITY
from ridelog.uncertain.gum import Estimate, coverage_factor, fit_line
from ridelog.uncertain.quantity import Quantity


def spin_down_rate(time_s: ArrayLike, speed_rad_ps: ArrayLike) -> Estimate:
    """How fast a wheel slows down, the slope of a straight line through its speeds, turned [rad/s²].

    Parameters
    ----------
    time_s, speed_rad_ps : shape (n,), at least three; wheel off the ground, motor off [s], [rad/s]

    Raises
    ------
    ValueError : fewer than three points, all at one time, or not finite
    """
    slope = fit_line(time_s, speed_rad_ps).slope
    return Estimate(-slope.value, slope.u, slope.dof)


def spin_down_torque_nm(inertia_kg_m2: Estimate, rate_rad_ps2: Estimate) -> tuple[Estimate, Quantity]:
    """Drag torque of a wheel that spins down by itself, T = −J dω/dt, and its 95 % interval [N m].

    Parameters
    ----------
    inertia_kg_m2 : moment of inertia of what turns: rim, tyre, spokes and the motor's rotor
    rate_rad_ps2 : how fast it slows down, positive; see `spin_down_rate`

    Raises
    ------
    ValueError : an inertia that is not above 0

    Notes
    -----
    Bearings, hysteresis and eddy currents together, at the speed of the test; the tyre's rolling is not in it. Relative
    uncertainties combine in squares (JCGM 100:2008, 5.1.6), the degrees of freedom by Welch–Satterthwaite (G.4).
    """
    if not inertia_kg_m2.value > 0:
        raise ValueError(f"a moment of inertia is above 0, not {inertia_kg_m2.value:g} kg m²")
    torque = inertia_kg_m2.value * rate_rad_ps2.value
    parts = (
        (rate_rad_ps2.value * inertia_kg_m2.u, inertia_kg_m2.dof),
        (inertia_kg_m2.value * rate_rad_ps2.u, rate_rad_ps2.dof),
    )
    u = math.hypot(*(part for part, _ in parts))
    spread = sum(part**4 / dof for part, dof in parts)
    dof = u**4 / spread if spread > 0 else math.inf
    wide = coverage_factor(max(dof, 1.0)) * u
    return Estimate(torque, u, dof), Quantity(torque, torque - wide, torque + wide)


def drag_force_n(torque_nm: float, wheel_circumference_m: float) -> float:
    """A drag torque as the force with which it slows the bike [N]."""
    return torque_nm * 2 * math.pi / wheel_circumference_m


def drag_as_crr(force_n: float, mass_kg: float) -> float:
    """By how much a coast-down that knows nothing of a drag force finds Crr too large [1]."""
    return float(np.divide(force_n, mass_kg * STANDARD_GRAVITY))
