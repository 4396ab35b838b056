"""What a look into a file shows without reading it as a ride: when, what for, how large."""

from collections.abc import Mapping
from datetime import datetime, timedelta

import numpy as np

from ridelog import recording
from ridelog.errors import InputError
from ridelog.lazy import dataclass
from ridelog.recording import Clock, Role


@dataclass(frozen=True)
class Peek:
    """What a look into one log shows. What it cannot show for certain is ``None``; what it shows, reading confirms.

    Attributes
    ----------
    name : of the log, as `ridelog.recording.Recording` has it
    format : "gpx", "fit" or "csv"
    n_bytes : size, unpacked [byte]
    clock : kind of the clock
    start, end : wall time of the first and of the last sample, UTC, to the second; ``None`` also for an elapsed clock
    role : what it can contribute to a ride
    n_samples : number of samples [1]
    """

    name: str
    format: str
    n_bytes: int
    clock: Clock | None = None
    start: datetime | None = None
    end: datetime | None = None
    role: Role | None = None
    n_samples: int | None = None

    @property
    def duration_s(self) -> float | None:
        """From the first to the last sample [s]."""
        return None if self.start is None or self.end is None else (self.end - self.start).total_seconds()


def end_of(start: datetime | None, duration_s: float) -> datetime | None:
    """Wall time of the last sample, seconds after the first [s]."""
    return None if start is None else start + timedelta(seconds=duration_s)


def role_of(channels: Mapping[str, np.ndarray]) -> Role:
    """What a recording of these channels can contribute; a channel without a value counts for nothing."""
    return recording.role_of({name for name, values in channels.items() if not np.isnan(values).all()})


def role_held(channels: Mapping[str, np.ndarray], time_s: np.ndarray, name: str) -> Role:
    """The same of channels held against the table of channels, as reading does: what cannot be counts for nothing.

    Parameters
    ----------
    channels : values by channel, shape (n,) each
    time_s : times of the samples, shape (n,) [s]
    name : of the file

    Returns
    -------
    That of no channel where nothing is left of what was looked at.
    """
    try:
        clean, _ = recording.checked_channels(channels, time_s, name)
    except InputError:
        return role_of({})
    return role_of(clean)
