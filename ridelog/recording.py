"""Recording (one file of one device) and Ride (the recordings of one outing, clocks joined): plain data."""

from __future__ import annotations

from collections.abc import Container, Mapping
from dataclasses import field, replace
from datetime import datetime, timedelta
from itertools import pairwise
from typing import TYPE_CHECKING, Literal

import numpy as np

from ridelog.channels import validate
from ridelog.findings import Fact, Finding
from ridelog.lazy import dataclass
from ridelog.signs import SignBasis
from ridelog.tell.refusals import recordings as refusals

if TYPE_CHECKING:
    import pandas as pd

    from ridelog.settings.bike import Bike

Clock = Literal["utc", "local", "elapsed"]
Role = Literal["electrical", "track", "both"]

ELECTRICAL_CHANNELS = ("current_a", "power_w", "motor_current_a", "voltage_v")


@dataclass(frozen=True)
class ColumnReading:
    """How one column of a log was understood: for ``ridelog columns`` and the page.

    ``channel`` is ``None`` for a column that is not used; ``is_empty`` says that it holds no number.
    ``value_si = (value + offset) * factor * sign``.
    ``map_factor`` is what the column map says that a written 1 stands for, in the unit; ``factor`` holds it.
    ``sign_basis`` is what the sign of a battery current or power rests on, ``None`` of anything else.
    """

    header: str
    channel: str | None
    quantity: str
    unit: str | None = None
    factor: float = 1.0
    offset: float = 0.0
    sign: int = 1
    why: str = ""
    is_empty: bool = False
    map_factor: float | None = None
    sign_basis: SignBasis | None = None


@dataclass(frozen=True)
class Preview:
    """Some rows of a column.

    Attributes
    ----------
    values : the numbers as written, ``None`` where there is none
    cells : the first different cells, as written; empty for a format whose values are not texts
    """

    values: tuple[float | None, ...]
    cells: tuple[str, ...] = ()

    @property
    def known(self) -> tuple[float, ...]:
        """The numbers alone."""
        return tuple(value for value in self.values if value is not None)

    @property
    def rises(self) -> bool:
        """Whether each of many numbers is larger than the one before, as times are."""
        known = self.known
        return len(known) == len(self.values) >= 8 and all(a < b for a, b in pairwise(known))


@dataclass(frozen=True)
class Recording:
    """One file of one device, as imported, on its own clock.

    Attributes
    ----------
    name : the file as the user gave it (``archive.zip/log.csv`` inside an archive)
    sha256 : of the bytes as given (before unpacking)
    format : "gpx", "fit" or "csv"
    frame : one column a channel (see `ridelog.channels`), float64, NaN where a sample does not have it;
        index "time_s", seconds from the first sample, strictly increasing [s]
    start : wall time of the first sample, UTC; ``None`` where the clock is "elapsed"
    clock : "utc" (zone known), "local" (wall time of an unknown zone, taken as UTC for want of better)
        or "elapsed" (seconds from some start)
    pauses_s : spans in which the device says that it was stopped [s]; nothing may be bridged across them
    stated : totals that the file itself states, by channel-like name (``distance_m``, ``ascent_m`` …)
    columns : how each column was understood
    clock_s : what an elapsed clock shows at the first sample; 0 for any other [s]
    time_zone : where the user says that its clock runs, as "Europe/Lisbon"; ``None`` where nobody said
    can_show_return : ``False`` where the file says that its current has no sign, ``True`` where the user
        says that it has, ``None`` where only the values can tell
    writes_sign : some number of its current is written with a sign, -0.00 as well
    """

    name: str
    sha256: str
    format: str
    frame: pd.DataFrame
    start: datetime | None
    clock: Clock
    pauses_s: tuple[tuple[float, float], ...] = ()
    stated: Mapping[str, float] = field(default_factory=dict)
    columns: tuple[ColumnReading, ...] = ()
    can_show_return: bool | None = None
    findings: tuple[Finding, ...] = ()
    time_zone: str | None = None
    clock_s: float = 0.0
    writes_sign: bool = False

    @property
    def called(self) -> str:
        """The file's own name, without folders: for sentences."""
        return " + ".join(part.replace("\\", "/").rsplit("/", maxsplit=1)[-1] for part in self.name.split(" + "))

    @property
    def time_s(self) -> np.ndarray:
        """Sample times, shape (n,), seconds from the first sample [s]."""
        return self.frame.index.to_numpy(dtype=float)

    @property
    def duration_s(self) -> float:
        """From the first to the last sample [s]."""
        return float(self.time_s[-1] - self.time_s[0])

    @property
    def step_s(self) -> float:
        """Median step between samples [s]; 0 for a single sample."""
        return float(np.median(np.diff(self.time_s))) if len(self.frame) > 1 else 0.0

    @property
    def end(self) -> datetime | None:
        """Wall time of the last sample, UTC."""
        return None if self.start is None else self.start + timedelta(seconds=self.duration_s)

    @property
    def power_w(self) -> np.ndarray | None:
        """Battery power as logged or, failing that, voltage times current, shape (n,); ``None`` without both [W]."""
        if "power_w" in self.frame:
            return self.frame["power_w"].to_numpy(dtype=float)
        if "current_a" in self.frame and "voltage_v" in self.frame:
            return (self.frame["current_a"] * self.frame["voltage_v"]).to_numpy(dtype=float)
        return None

    @property
    def role(self) -> Role:
        """What this recording can contribute."""
        return role_of(self.frame)


def role_of(channels: Container[str]) -> Role:
    """What a recording that has these channels can contribute."""
    electrical = any(name in channels for name in ELECTRICAL_CHANNELS[:3])
    track = "latitude_deg" in channels or "altitude_m" in channels
    if electrical and track:
        return "both"
    return "electrical" if electrical else "track"


def frame_of(channels: Mapping[str, np.ndarray], time_s: np.ndarray) -> pd.DataFrame:
    """The frame of a recording: channels, shape (n,) each, by the seconds from its first sample, shape (n,) [s]."""
    import pandas as pd  # here, so that a look at a file is had without it

    floats = {name: np.require(values, float, "W") for name, values in channels.items()}
    return pd.DataFrame(floats, index=pd.Index(time_s, name="time_s", dtype=float), copy=False)


def checked(recording: Recording) -> Recording:
    """The recording with its frame held against the table of channels, as `checked_channels` does.

    Raises
    ------
    InputError : no sample, no channel, a time that does not increase, or an impossible column
    """
    frame = recording.frame
    given = {str(name): frame[name].to_numpy(dtype=float) for name in frame}
    channels, findings = checked_channels(given, recording.time_s, recording.name)
    changed = channels.keys() != given.keys() or any(channels[name] is not given[name] for name in given)
    if changed:
        frame = frame_of(channels, recording.time_s)
    return replace(
        recording,
        frame=frame.astype(float).rename_axis(index="time_s"),
        findings=(*recording.findings, *findings),
    )


def checked_channels(
    channels: Mapping[str, np.ndarray], time_s: np.ndarray, name: str
) -> tuple[dict[str, np.ndarray], tuple[Finding, ...]]:
    """Channels held against the table of channels; the last step of every importer.

    Parameters
    ----------
    channels : values by channel, shape (n,) each, NaN where a sample does not have it
    time_s : times of the samples, shape (n,) [s]
    name : of the file, for messages

    Returns
    -------
    Channels that hold anything, without what cannot be, and what is to be said of that.

    Raises
    ------
    InputError : no sample, no channel, a time that does not increase, or an impossible column
    """
    if not len(time_s) or not channels:
        raise refusals.no_sample(name)
    if not (np.diff(time_s) > 0).all():
        raise refusals.times_not_increasing(name)
    clean, findings = validate(channels, time_s, name)
    clean, without_fix = _without_null_positions(clean, name)
    clean = {each: values for each, values in clean.items() if not np.isnan(values).all()}
    if not clean:
        raise refusals.no_value(name)
    return clean, (*findings, *without_fix)


def _without_null_positions(
    channels: dict[str, np.ndarray], source: str, *, near_deg: float = 1e-4
) -> tuple[dict[str, np.ndarray], tuple[Finding, ...]]:
    """The channels without positions at latitude 0, longitude 0, which is what a receiver without a fix writes.

    A height of exactly 0 beside such a position is none either. ``near_deg`` is 11 m, in the open sea.
    """
    if not {"latitude_deg", "longitude_deg"} <= set(channels):
        return channels, ()
    latitude, longitude = channels["latitude_deg"], channels["longitude_deg"]
    null_mask = (np.abs(latitude) < near_deg) & (np.abs(longitude) < near_deg)
    if not null_mask.any():
        return channels, ()
    cleared = {"latitude_deg": np.where(null_mask, np.nan, latitude)}
    cleared["longitude_deg"] = np.where(null_mask, np.nan, longitude)
    if (height := channels.get("altitude_m")) is not None:
        cleared["altitude_m"] = np.where(null_mask & (height == 0), np.nan, height)
    facts: dict[str, Fact] = {
        "file": source,
        "n_positions": int(null_mask.sum()),
        "n_all": len(latitude) - int(np.isnan(latitude).sum()),
    }
    return channels | cleared, (Finding("no-fix", "note", facts),)


JoinMethod = Literal["reference", "wall clock", "speed", "power", "none"]


@dataclass(frozen=True)
class ClockJoin:
    """How the clock of one recording was set against the reference recording's clock.

    ``reference time = (time - offset) / (1 + drift)``, each clock counted from the reference's first sample. Where one
    of the two keeps no wall time, each clock counts the seconds from its own first sample instead, and
    ``offset = -lag (1 + drift)``.

    Attributes
    ----------
    lag_s : seconds on the reference clock at this recording's first sample [s]
    offset_s : what this recording's clock shows less what the reference clock shows, at the reference's first sample;
        ``None`` where nothing tells it [s]
    drift_ppm : how much faster this clock runs than the reference's [1e-6]; ``None`` where it was not found
    method : what the join rests on
    agreement : correlation reached, -1 to 1; ``None`` where nothing could be compared
    overlap_s : time that both recordings cover [s]
    trusted : whether the ride may be measured as joined
    offset_u_s, drift_u_ppm : standard uncertainties, ``None`` where not evaluated [s], [1e-6]
    """

    name: str
    lag_s: float
    offset_s: float | None
    drift_ppm: float | None
    method: JoinMethod
    agreement: float | None
    overlap_s: float
    trusted: bool
    offset_u_s: float | None = None
    drift_u_ppm: float | None = None

    def to_reference_s(self, time_s: np.ndarray) -> np.ndarray:
        """Seconds on the reference clock for ``time_s``, seconds from this recording's first sample [s]."""
        result: np.ndarray = self.lag_s + time_s / (1.0 + 1e-6 * (self.drift_ppm or 0.0))
        return result


@dataclass(frozen=True)
class Ride:
    """The recordings of one outing on one bike, with their clocks joined.

    Attributes
    ----------
    name : a name for people, from the file names
    reference : the recording whose clock and samples everything else is set against: the electrical one,
        or the track where there is none
    electrical : the recording whose current is integrated; ``None`` where no file holds any
    recordings : all, in the order given
    joins : one for each recording, in the same order
    series : the common series on the reference's samples, UTC index "time"; columns are channels, and
        ``elapsed_s`` (seconds from the first sample), ``distance_m`` (along the ride, from 0) and
        ``speed_mps`` from the best source at hand. No value is invented across a gap.
    bike : the bike file, or its empty default
    speed_source, distance_source : what they come from: "wheel", "device", "speed" or "positions"
    fix_step_s : of positions that the distance comes from: half of the way lies between fixes at most so far apart [s]
    distance_shortened_m : what bends between these took off it [m]
    wheel_circumference_m : as found from the track, where only turns of the wheel were logged [m]
    settings : thresholds with which it was put together, by question
    findings : of the recordings and of the joining
    """

    name: str
    reference: Recording
    electrical: Recording | None
    recordings: tuple[Recording, ...]
    joins: tuple[ClockJoin, ...]
    series: pd.DataFrame
    bike: Bike
    findings: tuple[Finding, ...] = ()
    speed_source: str | None = None
    distance_source: str | None = None
    fix_step_s: float = 0.0
    distance_shortened_m: float = 0.0
    wheel_circumference_m: float | None = None
    settings: Mapping[str, Mapping[str, float]] = field(default_factory=dict)
