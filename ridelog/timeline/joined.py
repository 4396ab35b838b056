"""A recording on the reference's clock, and its values at other times, nothing invented."""

from collections.abc import Callable

import numpy as np

from ridelog.arrays import default_gap_limit_s, pause_steps
from ridelog.lazy import dataclass
from ridelog.recording import ClockJoin, Recording
from ridelog.timeline.motion.speeds import Motion, SpeedSource


@dataclass(frozen=True)
class JoinedRecording:
    """One recording with its clock set against the reference's, and how it moved."""

    recording: Recording
    join: ClockJoin
    motion: Motion

    @property
    def reference_s(self) -> np.ndarray:
        """Times of its samples on the reference clock, shape (n,) [s]."""
        return self.join.to_reference_s(self.recording.time_s)

    @property
    def pauses_s(self) -> tuple[tuple[float, float], ...]:
        """Its pauses on the reference clock [s]."""
        if self.join.method == "reference" or not self.recording.pauses_s:
            return self.recording.pauses_s
        moved = self.join.to_reference_s(np.array(self.recording.pauses_s, dtype=float))
        return tuple((float(start), float(end)) for start, end in moved)

    def moments_s(self, source: SpeedSource) -> np.ndarray:
        """The moments that a speed stands for, on the recording's own clock, shape (n,) [s]."""
        moments_s = self.motion.moments_s
        return self.recording.time_s if moments_s is None or source == "positions" else moments_s

    def at(self, at_s: np.ndarray, values: np.ndarray) -> np.ndarray:
        """Values of its samples at times on the reference clock, as `interpolated` finds them.

        Parameters
        ----------
        at_s : shape (n,), on the reference clock [s]
        values : at the recording's samples, shape (m,)
        """
        return interpolated(at_s, self.reference_s, values, pauses_s=self.pauses_s)

    def speed_at_mps(self, at_s: np.ndarray, source: SpeedSource) -> np.ndarray:
        """One of its speeds at times on the reference clock [m/s].

        Parameters
        ----------
        at_s : shape (n,), on the reference clock [s]
        source : which speed
        """
        moments_s = self.join.to_reference_s(self.moments_s(source))
        return interpolated(at_s, moments_s, self.motion.speeds_mps[source], pauses_s=self.pauses_s)


def interpolated(
    at_s: np.ndarray,
    time_s: np.ndarray,
    values: np.ndarray,
    *,
    pauses_s: tuple[tuple[float, float], ...] = (),
    between: Callable[[np.ndarray, np.ndarray, np.ndarray], np.ndarray] = np.interp,
) -> np.ndarray:
    """Values at other times, only where the samples around are close enough to tell.

    Parameters
    ----------
    at_s : where values are wanted, shape (n,) [s]
    time_s, values : known samples, shape (m,), increasing; NaN where not known [s]
    pauses_s : spans that nothing is bridged across [s]
    between : what holds between two samples, from wanted times, times and values: the straight line, or `steps` or
        `longitudes`

    Returns
    -------
    Shape (n,); NaN before the first and after the last sample, within steps longer than `default_gap_limit_s`
    of the known samples, and within steps that touch a pause.
    """
    known_mask = np.isfinite(values)
    known_s, known = time_s[known_mask], values[known_mask]
    if not len(known_s):
        return np.full(len(at_s), np.nan)
    return np.where(_bridged(at_s, known_s, pauses_s), between(at_s, known_s, known), np.nan)


def _bridged(at_s: np.ndarray, time_s: np.ndarray, pauses_s: tuple[tuple[float, float], ...]) -> np.ndarray:
    """Mask of times at a sample, or between two that are neither a gap nor a pause apart."""
    after = np.searchsorted(time_s, at_s, side="left")
    inside_mask = (after < len(time_s)) & (at_s >= time_s[0])
    after = np.minimum(after, len(time_s) - 1)
    steps_s = np.diff(time_s, prepend=time_s[0])
    barred_mask = (steps_s > default_gap_limit_s(time_s)) | np.append(False, pause_steps(time_s, pauses_s))
    bridged_mask: np.ndarray = inside_mask & ((time_s[after] == at_s) | ~barred_mask[after])
    return bridged_mask


def steps(at_s: np.ndarray, time_s: np.ndarray, values: np.ndarray) -> np.ndarray:
    """The last sample, as a switch keeps its place until the next one.

    Parameters
    ----------
    at_s : where values are wanted, shape (n,) [s]
    time_s, values : known samples, shape (m,), increasing [s]

    Returns
    -------
    Shape (n,); before the first sample, that one.
    """
    held: np.ndarray = values[np.maximum(np.searchsorted(time_s, at_s, side="right") - 1, 0)]
    return held


def longitudes(at_s: np.ndarray, time_s: np.ndarray, values: np.ndarray) -> np.ndarray:
    """The straight line, the short way round [°].

    Parameters
    ----------
    at_s : where values are wanted, shape (n,) [s]
    time_s, values : known samples, shape (m,), increasing [s], [°]

    Returns
    -------
    Shape (n,), from -180 to 180 [°].
    """
    east_deg: np.ndarray = np.interp(at_s, time_s, np.unwrap(values, period=360.0))
    return (east_deg + 180.0) % 360.0 - 180.0
