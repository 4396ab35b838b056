"""The common series: everything that was recorded, on the reference's samples and clock, nothing invented."""

from collections.abc import Callable, Mapping, Sequence
from datetime import datetime, timedelta

import numpy as np
import pandas as pd

from ridelog.findings import Finding
from ridelog.recording import Recording
from ridelog.timeline.joined import JoinedRecording, interpolated, longitudes, steps

STEPPED_CHANNELS = ("brake_ratio",)  # switches: between two samples the earlier one holds
PLACE_CHANNELS = ("latitude_deg", "longitude_deg", "altitude_m")  # change steadily between one fix and the next
MOTION_CHANNELS = ("speed_mps", "distance_m", "track_speed_mps")  # chosen from all sources, not copied

EPOCH = datetime.fromisoformat("1970-01-01T00:00:00+00:00")


def wall_start(reference: Recording, others: Sequence[JoinedRecording]) -> tuple[datetime, tuple[Finding, ...]]:
    """Wall time of the reference's first sample: its own, or that of a joined recording which knows UTC.

    Parameters
    ----------
    reference : the recording that the series stands on
    others : recordings whose clocks are joined to it

    Returns
    -------
    start : 1970-01-01 where no recording knows
    findings : what is unsure of it
    """
    if reference.start is not None and reference.clock == "utc":
        return reference.start, ()
    for other in others:
        if other.recording.start is not None and other.recording.clock == "utc":
            lag_s = other.join.lag_s * (1 + 1e-6 * (other.join.drift_ppm or 0.0))
            return other.recording.start - timedelta(seconds=lag_s), ()
    if reference.start is not None:
        return reference.start, (_zone_unknown(reference.called),)
    for other in others:
        if other.recording.start is not None:
            start = other.recording.start - timedelta(seconds=other.join.lag_s)
            return start, (_zone_unknown(other.recording.called),)
    return EPOCH, (Finding("no-wall-time", "note"),)


def _zone_unknown(name: str) -> Finding:
    return Finding("time-zone-unknown", "note", {"file": name})


def common_series(
    reference: Recording,
    others: Sequence[JoinedRecording],
    start: datetime,
    chosen: Mapping[str, np.ndarray],
) -> pd.DataFrame:
    """The frame of the ride.

    Parameters
    ----------
    reference : its samples are the rows, its channels are kept as they are, but for places between its fixes
    others : recordings whose clocks are joined; they give the channels that are still missing, in this order
    start : wall time of the first row
    chosen : channels that were chosen from all sources, at the rows, shape (n,)

    Returns
    -------
    Index "time", UTC, to the microsecond; columns ``elapsed_s`` and channels (see `ridelog.channels`).
    """
    time_s = reference.time_s
    index = _index(start, time_s)
    columns: dict[str, np.ndarray | pd.Series] = {
        "elapsed_s": pd.Series(reference.frame.index, index=index, copy=False)
    }
    for name in _copied(reference):
        columns[name] = _own_channel(reference, name, index)
    for other in others:
        for name in _copied(other.recording):
            if name not in columns:
                columns[name] = _channel_at(other, name, time_s)
    if "power_w" not in columns and "voltage_v" in columns and "current_a" in columns:
        columns["power_w"] = np.asarray(columns["voltage_v"]) * np.asarray(columns["current_a"])
    for name, values in chosen.items():
        columns[name] = values if values.flags.writeable else _shared(reference, name, values, index)
    return pd.DataFrame(columns, index=index, copy=False)  # a long log has them but once in memory


def _copied(recording: Recording) -> list[str]:
    """The channels that go into the series as they are."""
    return [str(name) for name in recording.frame if name not in MOTION_CHANNELS]


def _own_channel(reference: Recording, name: str, index: pd.DatetimeIndex) -> np.ndarray | pd.Series:
    """A channel of the reference; where it has fixes at some of its rows only, places in between as in any track."""
    values = reference.frame[name].to_numpy(dtype=float)
    if name not in PLACE_CHANNELS or np.isfinite(values).all():
        return _shared(reference, name, values, index)
    time_s = reference.time_s
    return interpolated(time_s, time_s, values, pauses_s=reference.pauses_s, between=_between(name))


def _shared(reference: Recording, name: str, values: np.ndarray, index: pd.DatetimeIndex) -> np.ndarray | pd.Series:
    """Values as a column of the reference, where they are: shared with it until one of the two is written to."""
    own = reference.frame.get(name)
    if own is not None and np.shares_memory(own.to_numpy(), values):
        return own.set_axis(index)
    return values.copy()


def _between(name: str) -> Callable[[np.ndarray, np.ndarray, np.ndarray], np.ndarray]:
    """What holds between two samples of a channel."""
    return steps if name in STEPPED_CHANNELS else longitudes if name == "longitude_deg" else np.interp


def _channel_at(other: JoinedRecording, name: str, time_s: np.ndarray) -> np.ndarray:
    """A channel of another recording at the reference's samples."""
    return interpolated(
        time_s,
        other.reference_s,
        other.recording.frame[name].to_numpy(dtype=float),
        pauses_s=other.pauses_s,
        between=_between(name),
    )


def _index(start: datetime, time_s: np.ndarray) -> pd.DatetimeIndex:
    """UTC times to the microsecond; whole microseconds, for fractions of seconds in floats do not add up."""
    start_us = round((start - EPOCH) / timedelta(microseconds=1))
    stamps_us = start_us + np.rint(time_s * 1e6).astype(np.int64)
    return pd.DatetimeIndex(stamps_us.astype("datetime64[us]"), name="time").tz_localize("UTC")
