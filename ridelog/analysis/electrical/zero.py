"""The zero error of the current sensor: what the reading at rest, its limit and the standby draw say of it together.

The reading at rest is the zero error plus what the standing bike draws, and electronics only draw. What is not known
is carried and not corrected; statements that contradict each other are all held within the interval.
"""

import numpy as np

from ridelog.analysis.electrical.rest import IDLE_DRIFT_A, Rest
from ridelog.arrays import Floats
from ridelog.lazy import dataclass

LARGEST_STANDBY_A = 0.4  # controller, display and lights of a standing bike draw less (common practice, no source)
# A limit that nobody stated gives way where the reading at rest is more than such a draw explains; beyond this it is a
# load all the same (common practice, no source).
LARGEST_UNSTATED_ZERO_A = 0.5
INSIDE_SHARE = 0.1  # of the range: so far from its ends does a value lie that would be outside, to be in its interval


@dataclass(frozen=True)
class Zero:
    """The zero error of the current sensor [A].

    ``value_a`` is taken off the readings. The error lies in one of the rectangles ``ranges_a``, each as likely as the
    others, blurred by a normal distribution of the standard deviation ``noise_a``. ``known`` says that a standby draw
    tells it.
    """

    value_a: float
    ranges_a: tuple[tuple[float, float], ...]
    noise_a: float
    known: bool

    @property
    def low_a(self) -> float:
        """The lowest end [A]."""
        return min(low for low, _ in self.ranges_a)

    @property
    def high_a(self) -> float:
        """The highest end [A]."""
        return max(high for _, high in self.ranges_a)

    def spread_over(self, uniform: Floats) -> Floats:
        """Zero errors from numbers spread evenly over 0 to 1, shape (n,) [A]."""
        ranges = np.array(self.ranges_a)
        place = np.clip(uniform, 0.0, 1.0) * len(ranges)
        which = np.minimum(place.astype(int), len(ranges) - 1)
        spread: Floats = ranges[which, 0] + (ranges[which, 1] - ranges[which, 0]) * (place - which)
        return spread

    def between(self, n: int) -> Floats:
        """Zero errors at which to work out what follows from them, ``n`` a range and the value, in order [A]."""
        reach_a = 4 * self.noise_a
        spans = [np.linspace(low - reach_a, high + reach_a, n) for low, high in self.ranges_a]
        zeros: Floats = np.unique(np.concatenate([*spans, [self.value_a]]))
        return zeros


def current_zero(rest: Rest, *, limit_a: float, limit_stated: bool, standby_a: float | None, gain: float) -> Zero:
    """The zero error from the reading at rest.

    With the standby draw s known it is the reading r less s, uncertain by the noise of that mean and, where the noise
    does not blur the log's own steps, by half a step. Where ``r - s`` lies beyond the limit, one of the two is wrong
    and nothing tells which: each is taken to be as likely as the other.

    Without, it is carried: from minus the limit to r, since electronics only draw, and to the limit at most. A limit
    that nobody stated gives way as far as the reading is above `LARGEST_STANDBY_A`, up to `LARGEST_UNSTATED_ZERO_A`.

    Parameters
    ----------
    rest : what the log shows at rest
    limit_a : half-width of the zero error [A]
    limit_stated : the limit is the user's own
    standby_a : what the standing bike draws, if known [A]
    gain : half-width of the relative gain error [1]

    Returns
    -------
    zero : the value lies within its ranges, or between them
    """
    reading_a = rest.mean_a if rest.mean_a is not None else rest.standing_a
    if reading_a is None:
        return Zero(0.0, ((-limit_a, limit_a),), 0.0, known=False)
    open_a = 0.0 if rest.noise_a > 0.5 * rest.resolution_a else rest.resolution_a / 2
    open_a += 0.0 if rest.standing else IDLE_DRIFT_A
    carried = carried_range(reading_a, open_a, limit_a, limit_stated=limit_stated)
    if rest.mean_a is None:  # a load that changes while the bike stands says nothing finer
        return Zero(_inside(0.0, *carried), (carried,), 0.0, known=False)
    noise_a = rest.noise_a / float(np.sqrt(rest.n))
    if standby_a is None:
        return Zero(_inside(0.0, *carried), (carried,), noise_a, known=False)
    found, half_a = reading_a - standby_a, open_a + gain * standby_a
    stated = (found - half_a, found + half_a)
    beyond_a = abs(found) - limit_a - half_a - 4 * noise_a
    if beyond_a <= 0:
        return Zero(found, (stated,), noise_a, known=True)
    other = _reached(stated, 2 * beyond_a, carried)
    believed_a = max(limit_a - beyond_a / 2, 0.0)  # the farther beyond the limit, the less of it is taken off
    value = _inside(min(max(found, -believed_a), believed_a), *other)
    return Zero(value, (stated, other), noise_a, known=False)


def carried_range(reading_a: float, open_a: float, limit_a: float, *, limit_stated: bool) -> tuple[float, float]:
    """Where the zero error lies if the standby draw is not known.

    Parameters
    ----------
    reading_a, open_a : at rest, and what it leaves open besides noise: half the log's smallest step where no noise
        blurs it, and how steady is steady where nothing shows that the bike stands [A]
    limit_a : half-width of the zero error [A]
    limit_stated : the limit is the user's own

    Returns
    -------
    low, high [A]
    """
    low, high = -limit_a, min(limit_a, reading_a + open_a)
    if not limit_stated:  # a reading below zero is the sensor's, for electronics only draw
        room_a = max(LARGEST_UNSTATED_ZERO_A - limit_a, 0.0)
        return low + min(reading_a, 0.0), high + min(max(reading_a - LARGEST_STANDBY_A, 0.0), room_a)
    beyond_a = -limit_a - reading_a
    return (reading_a - beyond_a, min(-limit_a + beyond_a, 0.0)) if beyond_a > 0 else (low, high)


def _reached(stated: tuple[float, float], reach_a: float, carried: tuple[float, float]) -> tuple[float, float]:
    """The part of what the reading alone allows that is no farther than this from what the standby draw says."""
    low, high = max(carried[0], stated[0] - reach_a), min(carried[1], stated[1] + reach_a)
    return (low, high) if low <= high else carried


def _inside(value: float, low: float, high: float) -> float:
    """The value, or where it lies outside the range a place as far inside, `INSIDE_SHARE` of the range at most."""
    most = INSIDE_SHARE * (high - low)
    if value > high:
        return high - min(value - high, most)
    return low + min(low - value, most) if value < low else value
