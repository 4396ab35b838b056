"""Every threshold that judges many rides, with its unit, its default and the reason for it."""

from ridelog.lazy import dataclass


@dataclass(frozen=True)
class HistorySettings:
    """Thresholds over rides.

    Attributes
    ----------
    false_alarm_rate : probability that a set of bikes without any fault shows one at all; a 95 % level over all bikes
        and tests together
    fewest_rides : below, a spread between rides cannot be told from chance
    fewest_before : rides of a bike's usual behaviour before a change can be dated
    fewest_after : rides of the new behaviour; one odd ride is no change
    lost_share : of what a bike usually recovers, what is "nothing"; regen that is taken back by a full pack or by the
        cold leaves more over a whole ride
    fading_share : relative fall of what is captured that is worth telling
    zero_drift_a : move of the current zero worth telling, half of the zero error of a usual sensor [A]
    resistance_rise : relative rise of the pack's resistance worth telling
    wheel_tolerance : relative error of speed that positions may feign by cutting corners and by their noise
    fewest_peers : other bikes on the same hill; below, their spread is not known
    below_points : less captured than others worth telling [percentage points]
    """

    false_alarm_rate: float = 0.05
    fewest_rides: int = 3
    fewest_before: int = 4
    fewest_after: int = 2
    lost_share: float = 0.1
    fading_share: float = 0.15
    zero_drift_a: float = 0.05
    resistance_rise: float = 0.15
    wheel_tolerance: float = 0.015
    fewest_peers: int = 3
    below_points: float = 5.0


DEFAULTS = HistorySettings()
