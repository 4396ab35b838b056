"""What the wall clocks of two recordings say of the lag between them, before anything is compared."""

import numpy as np

from ridelog.lazy import dataclass
from ridelog.recording import Recording
from ridelog.timeline.clock.peak import Peak, Refusal
from ridelog.timeline.clock.settings import ClockSettings

ZONE_STEP_S = 900.0  # time zones are multiples of a quarter of an hour
WIDEST_ZONES_S = 14 * 3600.0  # farther apart than this, two clocks differ by more than a zone


def of_one_device(first: Recording, second: Recording) -> bool:
    """Whether two recordings look like those of one device, whose clock does not change between them."""
    same = [
        (item.format, item.clock, item.time_zone, frozenset(str(name) for name in item.frame))
        for item in (first, second)
    ]
    return same[0] == same[1]


def apart_by_wall(reference: Recording, other: Recording) -> bool:
    """Whether no reading of the wall clocks lets the two overlap; ``False`` where one keeps no wall time."""
    lags_s = wall_lags_s(reference, other)
    return len(lags_s) > 0 and bool(np.all((lags_s > reference.duration_s) | (lags_s < -other.duration_s)))


def may_be_zones(apart_s: float, settings: ClockSettings) -> bool:
    """Whether two clocks may be so far apart because one of them shows the time of another zone than it says [s]."""
    off_step_s = abs(apart_s - ZONE_STEP_S * round(apart_s / ZONE_STEP_S))
    return apart_s <= WIDEST_ZONES_S + settings.near_zone_s and off_step_s <= settings.near_zone_s


def wall_lags_s(reference: Recording, other: Recording, *, zone_step_s: float = ZONE_STEP_S) -> np.ndarray:
    """Lags that the wall clocks allow: one where both are UTC, one for each time zone where a zone is unknown.

    Time zones are multiples of 15 minutes up to 14 hours. Two recordings of one device are of one zone.

    Parameters
    ----------
    reference, other : two recordings
    zone_step_s : step between time zones [s]

    Returns
    -------
    Increasing [s]; empty where one of the two keeps no wall time.
    """
    if reference.start is None or other.start is None:
        return np.empty(0)
    lag_s = (other.start - reference.start).total_seconds()
    if reference.clock == other.clock == "utc" or of_one_device(reference, other):
        return np.array([lag_s])
    return lag_s + np.arange(-56, 57) * zone_step_s


def clock_offset_s(reference: Recording, other: Recording, lag_s: float, drift_ppm: float | None) -> float:
    """What the other's clock shows less what the reference's shows, at the reference's first sample [s].

    Where one of the two keeps no wall time, each counts the seconds from its own first sample: the offset of a track
    that begins 12 s after the log is then -12 s.

    Parameters
    ----------
    reference, other : two recordings
    lag_s : where the other's first sample lies, from the reference's first sample [s]
    drift_ppm : how much faster the other's clock runs; none where ``None`` [1e-6]

    Returns
    -------
    Positive where the other's clock is ahead [s].
    """
    apart_s = 0.0
    if reference.start is not None and other.start is not None:
        apart_s = (other.start - reference.start).total_seconds()
    return apart_s - lag_s * (1 + 1e-6 * (drift_ppm or 0.0))


def overlap_s(reference: Recording, other: Recording, lag_s: float) -> float:
    """Time that both recordings cover.

    Parameters
    ----------
    reference, other : two recordings
    lag_s : where the other's first sample lies, from the reference's first sample [s]

    Returns
    -------
    0 where they do not overlap [s].
    """
    return max(0.0, min(reference.duration_s, lag_s + other.duration_s) - max(0.0, lag_s))


@dataclass(frozen=True)
class WallClocks:
    """The lags that the wall clocks of two recordings allow, empty where one of them keeps no wall time [s]."""

    lags_s: np.ndarray

    @property
    def known(self) -> bool:
        """Whether both recordings keep wall time."""
        return len(self.lags_s) > 0

    @property
    def both_utc(self) -> bool:
        """Whether the clocks allow one lag only."""
        return len(self.lags_s) == 1

    @property
    def middle_lag_s(self) -> float:
        """The lag if both zones are the same; 0 without wall times [s]."""
        return float(self.lags_s[len(self.lags_s) // 2]) if self.known else 0.0

    def within(self, lag_s: np.ndarray, limit_s: float) -> np.ndarray:
        """Mask of lags that lie within ``limit_s`` of one that the clocks allow."""
        mask = np.zeros(len(lag_s), dtype=bool)
        for allowed_s in self.lags_s:
            mask |= np.abs(lag_s - allowed_s) <= limit_s
        return mask

    def apart_s(self, lag_s: float) -> float:
        """How far a lag is from the nearest one that the clocks allow; 0 without wall times [s]."""
        return float(np.min(np.abs(self.lags_s - lag_s), initial=np.inf)) if self.known else 0.0

    def supports(self, lag_s: float, settings: ClockSettings) -> bool:
        """Whether two wall clocks of one zone, as set by people or a network, put the lag where it is."""
        return self.known and abs(lag_s - self.middle_lag_s) <= settings.near_s

    def contradiction(self, peak: Peak, settings: ClockSettings) -> Refusal | None:
        """Why a peak is not believed against two wall clocks; ``None`` where they allow it, or it is strong.

        Clocks of unknown zone allow whatever lies between two zones, and contradict what lies beyond all of them.
        """
        if not self.known or peak.agreement >= settings.contradicted_agreement:
            return None
        apart_s = self.apart_s(peak.lag_s)
        if apart_s <= (settings.near_s if self.both_utc else ZONE_STEP_S / 2):
            return None
        return Refusal("contradicted", peak.agreement, apart_s)
