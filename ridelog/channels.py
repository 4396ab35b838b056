"""The one table of channels: name, unit, meaning and plausible range of everything a recording can hold.

The unit is part of the name. Positive current and power leave the battery.
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from dataclasses import replace

import numpy as np

from ridelog.findings import Fact, Finding
from ridelog.lazy import dataclass
from ridelog.tell.refusals.recordings import Impossible, impossible_values


@dataclass(frozen=True)
class Channel:
    """A quantity in one unit; values outside ``low`` to ``high`` cannot come from an electric bicycle.

    ``vehicle_low`` to ``vehicle_high`` are those of a larger electric vehicle, where they are others.
    """

    name: str
    unit: str
    meaning: str
    low: float
    high: float
    vehicle_low: float | None = None
    vehicle_high: float | None = None

    def of_vehicle(self) -> Channel:
        """The same channel with the range of a larger vehicle."""
        if self.vehicle_low is None or self.vehicle_high is None:
            return self
        return replace(self, low=self.vehicle_low, high=self.vehicle_high)


def _table(*rows: Channel) -> Mapping[str, Channel]:
    return {row.name: row for row in rows}


CHANNELS: Mapping[str, Channel] = _table(
    Channel("current_a", "A", "battery current, positive out of the battery", -400, 400, -1000, 1000),
    Channel("voltage_v", "V", "battery voltage at the terminals", 5, 200, 5, 1000),
    Channel("power_w", "W", "battery power, positive out of the battery", -40_000, 40_000, -1e6, 1e6),
    Channel("motor_current_a", "A", "motor or phase current; never integrated as battery current", -1000, 1000),
    Channel("speed_mps", "m/s", "speed over ground as the device recorded it", 0, 45),
    Channel("track_speed_mps", "m/s", "speed of a joined track, where another speed is the ride's own", 0, 45),
    Channel("wheel_speed_rpm", "1/min", "turning rate of the wheel", -100, 2000),
    Channel("wheel_revolutions", "1", "turns of the wheel, counted up", 0, 1e9),
    Channel("distance_m", "m", "distance ridden as the device counted it", 0, 2e9),
    Channel("latitude_deg", "°", "latitude, WGS 84", -90, 90),
    Channel("longitude_deg", "°", "longitude, WGS 84", -180, 180),
    Channel("altitude_m", "m", "height above sea level as the device recorded it", -500, 9000),
    Channel("battery_temperature_c", "°C", "temperature of the pack or a cell", -60, 150),
    Channel("motor_temperature_c", "°C", "temperature of the motor", -60, 300),
    Channel("controller_temperature_c", "°C", "temperature of the motor controller", -60, 200),
    Channel("air_temperature_c", "°C", "temperature of the air, as the device felt it", -60, 70),
    Channel("brake_ratio", "1", "brake signal, 0 released, 1 applied", 0, 1),
    Channel("throttle_ratio", "1", "throttle, 0 closed, 1 full", -0.05, 1.05),
    Channel("cadence_rpm", "1/min", "turning rate of the pedals", -200, 300),
    Channel("rider_power_w", "W", "power at the pedals", -100, 3000),
    Channel("state_of_charge_pct", "%", "state of charge of the pack", -1, 110),
    Channel("drawn_counter_ah", "Ah", "the device's own count of charge out of the battery", -1, 1e6),
    Channel("returned_counter_ah", "Ah", "the device's own count of charge into the battery", -1, 1e6),
    Channel("net_counter_ah", "Ah", "the device's own count of charge out less charge in", -1e6, 1e6),
    Channel("drawn_counter_wh", "Wh", "the device's own count of energy out of the battery", -1, 1e8),
    Channel("returned_counter_wh", "Wh", "the device's own count of energy into the battery", -1, 1e8),
    Channel("net_counter_wh", "Wh", "the device's own count of energy out less energy in", -1e8, 1e8),
)

LARGEST_BAD_SHARE = 0.01  # of a column's values may be impossible before it is left out or refused
_FAR_V = 1e9  # no voltage is as far from the others, however it is misread [V]
_CELL = re.compile(r"cell_(\d{2,3})_v")


def channel(name: str) -> Channel:
    """The table's entry for ``name``; cell voltages (``cell_01_v`` and so on) included.

    Raises
    ------
    KeyError : for a name that the table does not hold
    """
    if match := _CELL.fullmatch(name):
        return Channel(name, "V", f"voltage of cell {int(match[1])}", 0, 6)
    return CHANNELS[name]


def validate(
    channels: Mapping[str, np.ndarray],
    time_s: np.ndarray,
    source: str,
    *,
    largest_bad_share: float = LARGEST_BAD_SHARE,
) -> tuple[dict[str, np.ndarray], tuple[Finding, ...]]:
    """Hold every channel against the table.

    Single impossible values are taken out (set to NaN) and counted in a finding. A column with a larger share of them
    was misunderstood, or holds something else: it is left out with a finding, unless the answer hangs on it: battery
    current, or battery power where there is no current, refuse the log.

    Parameters
    ----------
    channels : values by channel, shape (n,) each
    time_s : times of the samples on the recording's clock, shape (n,) [s]
    source : name of the file, for messages
    largest_bad_share : share of a column's values that may be impossible before it is left out or refused [1]

    Returns
    -------
    channels : infinities and impossible values as NaN; arrays without any are those given
    findings : one for each column that lost values, and one for a pack that no bicycle has

    Raises
    ------
    InputError : battery current or power holds too many impossible values
    KeyError : a column is not in the table
    """
    clean = dict(channels)
    vehicle = _of_vehicle(clean)
    findings = [] if vehicle is None else [Finding("no-bicycle", "note", {"file": source, **vehicle})]
    needed = "current_a" if "current_a" in clean else "power_w"
    for name, values in channels.items():
        entry = channel(name).of_vehicle() if vehicle else channel(name)
        bad_mask = (values < entry.low) | (values > entry.high)
        n_bad = int(bad_mask.sum())
        if not n_bad:
            continue
        n_known, first = len(values) - int(np.isnan(values).sum()), int(bad_mask.argmax())
        found = Impossible(
            name, entry.unit, float(values[first]), float(time_s[first]), entry.low, entry.high, n_bad, n_known
        )
        too_many = n_bad > max(1, largest_bad_share * n_known)
        if too_many and name == needed:
            raise impossible_values(source, found)
        findings.append(_impossible(source, found, left_out=too_many))
        clean[name] = np.full(len(values), np.nan) if too_many else np.where(bad_mask, np.nan, values)
    return clean, tuple(findings)


def _of_vehicle(channels: Mapping[str, np.ndarray]) -> dict[str, Fact] | None:
    """What shows that this is no bicycle's log: a pack of more volts, in a vehicle's range; amperes alone show nothing.

    A pack near a bicycle's highest voltage passes it now and then: more values than may be impossible lie beyond, and
    none is far from the others. Hundreds of amperes at a bicycle's voltage are a misread column.
    """
    entry = CHANNELS["voltage_v"]
    volts = channels.get(entry.name, np.empty(0))
    known = np.clip(volts[~np.isnan(volts)], -_FAR_V, _FAR_V)  # a step between them is a number
    if not len(known) or not known.max() > entry.high:
        return None
    middle, high, largest = (float(value) for value in np.quantile(known, [0.5, 1 - LARGEST_BAD_SHARE, 1.0]))
    if not (entry.high / 2 < middle and entry.high < high <= entry.of_vehicle().high):
        return None
    facts = {entry.name: min(largest, entry.of_vehicle().high), f"highest_{entry.name}": entry.high}
    return {"channel": entry.name, **facts, "unit": entry.unit}


def _impossible(source: str, found: Impossible, *, left_out: bool) -> Finding:
    """The finding on values that were left out, or on a channel that was."""
    first = found.first if math.isfinite(found.first) else None
    facts: dict[str, Fact] = {
        "file": source,
        "channel": found.channel,
        found.channel: first,
        f"lowest_{found.channel}": found.low,
        f"highest_{found.channel}": found.high,
        "unit": found.unit,
        "n_values": found.n_bad,
        "first_s": found.first_s,
    }
    if left_out:
        return Finding("channel-left-out", "warning", {**facts, "n_all": found.n_known})
    return Finding("impossible-values", "warning", facts, found.first_s, found.first_s)
