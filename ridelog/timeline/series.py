"""The common series: everything that was recorded, on the reference's samples and clock, nothing invented."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

import numpy as np
import pandas as pd

from ridelog.arrays import default_gap_limit_s, pause_steps
from ridelog.findings import Finding
from ridelog.recording import ClockJoin, Recording
from ridelog.timeline.motion.speeds import Motion

STEPPED_CHANNELS = ("brake_ratio",)  # switches: between two samples the earlier one holds
MOTION_CHANNELS = ("speed_mps", "distance_m", "track_speed_mps")  # chosen from all sources, not copied

EPOCH = datetime.fromisoformat("1970-01-01T00:00:00+00:00")


@dataclass(frozen=True)
class Joined:
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


def interpolated(
    at_s: np.ndarray,
    time_s: np.ndarray,
    values: np.ndarray,
    *,
    pauses_s: tuple[tuple[float, float], ...] = (),
    stepped: bool = False,
    turn: float | None = None,
) -> np.ndarray:
    """Values at other times, only where the samples around are close enough to tell.

    Parameters
    ----------
    at_s : where values are wanted, shape (n,) [s]
    time_s, values : known samples, shape (m,), increasing; NaN where not known [s]
    pauses_s : spans that nothing is bridged across [s]
    stepped : the earlier sample holds until the next, instead of the straight line between them
    turn : for angles, the value at which they begin anew (360 for longitudes)

    Returns
    -------
    Shape (n,); NaN before the first and after the last sample, within steps longer than `default_gap_limit_s`
    of the known samples, and within steps that touch a pause.
    """
    known_mask = np.isfinite(values)
    known_s, known = time_s[known_mask], values[known_mask]
    if not len(known_s):
        return np.full(len(at_s), np.nan)
    if turn is not None:
        known = np.unwrap(known, period=turn)
    after = np.searchsorted(known_s, at_s, side="left")
    inside_mask = (after < len(known_s)) & (at_s >= known_s[0])
    after = np.minimum(after, len(known_s) - 1)
    on_sample_mask = inside_mask & (known_s[after] == at_s)
    before = np.maximum(after - 1, 0)
    steps_s = np.diff(known_s, prepend=known_s[0])
    barred_mask = (steps_s > default_gap_limit_s(known_s)) | np.append(False, pause_steps(known_s, pauses_s))
    bridged_mask = on_sample_mask | (inside_mask & ~barred_mask[after])
    result = np.where(on_sample_mask, known[after], known[before]) if stepped else np.interp(at_s, known_s, known)
    if turn is not None:
        result = (result + turn / 2) % turn - turn / 2
    return np.where(bridged_mask, result, np.nan)


def wall_start(reference: Recording, joined: Sequence[Joined]) -> tuple[datetime, tuple[Finding, ...]]:
    """Wall time of the reference's first sample: its own, or that of a joined recording which knows UTC.

    Parameters
    ----------
    reference : the recording that the series stands on
    joined : all recordings whose clocks are joined

    Returns
    -------
    start : 1970-01-01 where no recording knows
    findings : what is unsure of it
    """
    if reference.start is not None and reference.clock == "utc":
        return reference.start, ()
    for item in joined:
        start = item.recording.start
        if start is not None and item.recording.clock == "utc" and item.join.method != "reference":
            return start - timedelta(seconds=item.join.lag_s * (1 + 1e-6 * (item.join.drift_ppm or 0.0))), ()
    if reference.start is not None:
        return reference.start, (_zone_unknown(reference.called),)
    for item in joined:
        if item.recording.start is not None and item.join.method != "reference":
            start = item.recording.start - timedelta(seconds=item.join.lag_s)
            return start, (_zone_unknown(item.recording.called),)
    message = "No file says at what time of day the ride was; its times count from 1970-01-01 00:00."
    return EPOCH, (Finding("no-wall-time", "note", message),)


def _zone_unknown(name: str) -> Finding:
    message = f"{name} does not say in which time zone its clock runs; its times are shown as they stand."
    return Finding("time-zone-unknown", "note", message)


def combined_distance_m(
    at_s: np.ndarray, offers: Sequence[tuple[np.ndarray, np.ndarray, tuple[tuple[float, float], ...]]]
) -> np.ndarray | None:
    """Distance along the ride from the best source, its holes filled from the next ones.

    A hole is filled with the course of the next source, held to the best source at both ends.

    Parameters
    ----------
    at_s : where the distance is wanted, shape (n,) [s]
    offers : times, cumulative distances and pauses of each source, best first [s], [m], [s]

    Returns
    -------
    Shape (n,), from 0, never falling, NaN where no source knows [m]; ``None`` without any source.
    """
    result: np.ndarray | None = None
    for time_s, distance_m, pauses_s in offers:
        offer_m = interpolated(at_s, time_s, distance_m, pauses_s=pauses_s)
        if not np.isfinite(offer_m).any():
            continue
        if result is None:
            result = offer_m
            continue
        both_mask = np.isfinite(result) & np.isfinite(offer_m)
        hole_mask = np.isnan(result) & np.isfinite(offer_m)
        if both_mask.any() and hole_mask.any():
            apart_m = np.interp(at_s, at_s[both_mask], (result - offer_m)[both_mask])
            result = np.where(hole_mask, offer_m + apart_m, result)
    if result is None:
        return None
    known_mask = np.isfinite(result)
    risen_m = np.maximum.accumulate(np.where(known_mask, result, -np.inf))
    return np.where(known_mask, risen_m - result[known_mask][0], np.nan)


def common_series(
    reference: Joined, others: Sequence[Joined], start: datetime, chosen: Mapping[str, np.ndarray | None]
) -> pd.DataFrame:
    """The frame of the ride.

    Parameters
    ----------
    reference : its samples are the rows, its channels are kept as they are
    others : recordings whose clocks are joined; they give the channels that are still missing, in this order
    start : wall time of the first row
    chosen : channels that were chosen from all sources, at the rows, shape (n,); ``None`` is left out

    Returns
    -------
    Index "time", UTC, to the microsecond; columns ``elapsed_s`` and channels (see `ridelog.channels`).
    """
    time_s = reference.recording.time_s
    columns: dict[str, np.ndarray] = {"elapsed_s": time_s}
    for name in reference.recording.frame:
        if name not in MOTION_CHANNELS:
            columns[str(name)] = reference.recording.frame[name].to_numpy(dtype=float)
    for other in others:
        for name in other.recording.frame:
            if name in columns or name in MOTION_CHANNELS:
                continue
            columns[str(name)] = interpolated(
                time_s,
                other.reference_s,
                other.recording.frame[name].to_numpy(dtype=float),
                pauses_s=other.pauses_s,
                stepped=name in STEPPED_CHANNELS,
                turn=360.0 if name == "longitude_deg" else None,
            )
    if "power_w" not in columns and "voltage_v" in columns and "current_a" in columns:
        columns["power_w"] = columns["voltage_v"] * columns["current_a"]
    columns |= {name: values for name, values in chosen.items() if values is not None}
    return pd.DataFrame(columns, index=_index(start, time_s))


def _index(start: datetime, time_s: np.ndarray) -> pd.DatetimeIndex:
    """UTC times to the microsecond; whole microseconds, for fractions of seconds in floats do not add up."""
    start_us = round((start - EPOCH) / timedelta(microseconds=1))
    stamps_us = start_us + np.rint(time_s * 1e6).astype(np.int64)
    return pd.DatetimeIndex(stamps_us.astype("datetime64[us]"), name="time").tz_localize("UTC")
