"""What may have come back unseen on a ride of which no sample shows a return: 0, and how far from 0 it can be.

Two things hide a return from a log that can show one. *Sampling*: pulses shorter than a step fall between the samples.
Of pulses that carry Q in all, each of a current I, the log of step h sees Q/(I h) on average; that none was seen has
the probability exp(-Q/(I h)), so that Q/(I h) is distributed exponentially with mean 1. A pulse is taken to be as
likely of any current up to the highest that the ride drew. *Resolution*: readings that stay within the last digit
around zero may all be off by up to half of it. The zero error and noise are counted apart, as with any current.
"""

import numpy as np

from ridelog.analysis.electrical.bridges import Readings
from ridelog.analysis.electrical.charge import SECONDS_PER_HOUR
from ridelog.arrays import Floats
from ridelog.lazy import dataclass
from ridelog.uncertain.seeds import stream
from ridelog.uncertain.trials import N_TRIALS

SEEN_A = 0.2  # less into the battery is not told from an unsteady zero; where regen ends, see `BrakingSettings`


@dataclass(frozen=True)
class UnseenReturn:
    """What may have come back unseen.

    Attributes
    ----------
    running : of the ride's share up to each sample, shape (n,): 0 to the whole, in hours times the weight
    trials_a : mean current into the battery that nobody saw, shape (N_TRIALS,) [A]
    """

    running: Floats
    trials_a: Floats


def return_seen(readings: Readings, current_a: Floats) -> bool:
    """Whether any sample shows a current into the battery, beyond noise and last digit.

    ``current_a`` : of the readings, less the zero error, shape (n,) [A]
    """
    least_a = max(4 * readings.rest.noise_a + readings.rest.resolution_a / 2, SEEN_A)
    return bool((current_a[~readings.standing] < -least_a).any())


def unseen_return(readings: Readings, current_a: Floats) -> UnseenReturn | None:
    """What may have come back unseen; ``None`` where a return was seen, which tells more itself.

    Parameters
    ----------
    readings : the log
    current_a : of the readings, less the zero error, shape (n,) [A]

    Returns
    -------
    Spread evenly over the time in which the bike did not stand.
    """
    if return_seen(readings, current_a):
        return None
    steps_h = np.diff(readings.time_s) / SECONDS_PER_HOUR
    moving_h = np.where(readings.counted & ~(readings.standing[1:] & readings.standing[:-1]), steps_h, 0.0)
    whole_h = float(moving_h.sum())
    if whole_h <= 0:
        return None
    rng = stream("unseen return")
    step_h = float((moving_h**2).sum()) / whole_h  # of the time, not of the samples, where steps differ
    highest_a = abs(max(float(current_a.max()), 0.0))
    pulses_ah = rng.exponential(1.0, N_TRIALS) * step_h * highest_a * rng.random(N_TRIALS)
    half_a = readings.rest.resolution_a / 2
    around_zero = (np.abs(current_a[1:]) <= half_a) & (np.abs(current_a[:-1]) <= half_a)
    below_a = np.maximum(rng.uniform(-half_a, half_a, N_TRIALS), 0.0)
    hidden_ah = pulses_ah + below_a * float(moving_h[around_zero].sum())
    weight = (readings.weight[1:] + readings.weight[:-1]) / 2
    return UnseenReturn(np.concatenate(([0.0], np.cumsum(moving_h * weight))), hidden_ah / whole_h)
