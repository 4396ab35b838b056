"""How much charge must be free in the pack at the start for everything that the ride returns to fit."""

from collections.abc import Sequence
from math import floor

import numpy as np

from ridelog.analysis.electrical.flow_model import FlowModel
from ridelog.arrays import Floats, Mask, running_integral
from ridelog.uncertain.quantity import Quantity
from ridelog.uncertain.trials import Uncertain, known_quantity


def highest_rise(time_s: Floats, current_a: Floats, counted: Mask) -> tuple[float, float]:
    """The largest rise of the state of charge above its start, and when it is reached.

    Parameters
    ----------
    time_s, current_a : shape (n,), positive out of the battery [s], [A]
    counted : shape (n - 1,), steps that are integrated

    Returns
    -------
    rise_ah, at_s : at least 0 [Ah]; the first moment of the ride where nothing is ever above the start [s]
    """
    into_as = running_integral(time_s, -current_a, counted)
    top = int(np.argmax(into_as))
    return float(into_as[top]) / 3600, float(time_s[top])


def headroom_q(charge: FlowModel, current_a: Floats, counted: Mask) -> Quantity:
    """The charge that must be free at the start [Ah], with its interval.

    The largest of net returned less net drawn up to any moment, at least 0. The moment is sought at every zero error
    that the sensor may have; zero and gains are common to the whole ride.

    Parameters
    ----------
    charge : of the electrical recording
    current_a : as logged, at the model's samples, shape (n,) [A]
    counted : shape (n - 1,), steps that are integrated

    Returns
    -------
    Charge and its 95 % interval; 0 where nothing was ever above the start [Ah].
    """
    start_s = float(charge.time_s[0])
    tops = {highest_rise(charge.time_s, current_a - zero, counted)[1] for zero in charge.zeros}
    windows = charge.windows([(start_s, top) for top in sorted(tops) if top > start_s])
    if not windows:
        return Quantity(0.0, 0.0, 0.0)
    rises = [-window.told.net for window in windows]
    highest = Uncertain(max(rise.value for rise in rises), np.stack([rise.trials for rise in rises]).max(axis=0))
    return known_quantity(highest.at_least(0.0))


def start_charge_pct(headrooms_ah: Sequence[float], capacity_ah: float) -> int:
    """The state of charge, in whole percent, at which each of some rides of one route would just have fitted.

    Parameters
    ----------
    headrooms_ah : of each ride, from `headroom_q` (its upper bound, to be sure of each) [Ah]
    capacity_ah : what the pack holds today [Ah]

    Raises
    ------
    ValueError : no ride, or a capacity that is not above 0
    """
    if not headrooms_ah or capacity_ah <= 0:
        raise ValueError("at least one ride and a capacity above 0 Ah are needed")
    return max(0, floor(100 * (1 - max(headrooms_ah) / capacity_ah) + 1e-9))
