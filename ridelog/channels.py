"""The one table of channels: name, unit, meaning and plausible range of everything a recording can hold.

The unit is part of the name. Positive current and power leave the battery.
"""

import re
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import pandas as pd

from ridelog.findings import Fact, Finding
from ridelog.tell.refusals.recordings import Impossible, impossible_values


@dataclass(frozen=True)
class Channel:
    """A quantity in one unit; values outside ``low`` to ``high`` cannot come from an electric bicycle."""

    name: str
    unit: str
    meaning: str
    low: float
    high: float


def _table(*rows: tuple[str, str, str, float, float]) -> Mapping[str, Channel]:
    return {row[0]: Channel(*row) for row in rows}


CHANNELS: Mapping[str, Channel] = _table(
    ("current_a", "A", "battery current, positive out of the battery", -400, 400),
    ("voltage_v", "V", "battery voltage at the terminals", 5, 200),
    ("power_w", "W", "battery power, positive out of the battery", -40_000, 40_000),
    ("motor_current_a", "A", "motor or phase current; never integrated as battery current", -1000, 1000),
    ("speed_mps", "m/s", "speed over ground as the device recorded it", 0, 45),
    ("track_speed_mps", "m/s", "speed of a joined track, where another speed is the ride's own", 0, 45),
    ("wheel_speed_rpm", "1/min", "turning rate of the wheel", -100, 2000),
    ("wheel_revolutions", "1", "turns of the wheel, counted up", 0, 1e9),
    ("distance_m", "m", "distance ridden as the device counted it", 0, 2e9),
    ("latitude_deg", "°", "latitude, WGS 84", -90, 90),
    ("longitude_deg", "°", "longitude, WGS 84", -180, 180),
    ("altitude_m", "m", "height above sea level as the device recorded it", -500, 9000),
    ("battery_temperature_c", "°C", "temperature of the pack or a cell", -60, 150),
    ("motor_temperature_c", "°C", "temperature of the motor", -60, 300),
    ("controller_temperature_c", "°C", "temperature of the motor controller", -60, 200),
    ("air_temperature_c", "°C", "temperature of the air, as the device felt it", -60, 70),
    ("brake_ratio", "1", "brake signal, 0 released, 1 applied", 0, 1),
    ("throttle_ratio", "1", "throttle, 0 closed, 1 full", -0.05, 1.05),
    ("cadence_rpm", "1/min", "turning rate of the pedals", -200, 300),
    ("rider_power_w", "W", "power at the pedals", -100, 3000),
    ("state_of_charge_pct", "%", "state of charge of the pack", -1, 110),
    ("drawn_counter_ah", "Ah", "the device's own count of charge out of the battery", -1, 1e6),
    ("returned_counter_ah", "Ah", "the device's own count of charge into the battery", -1, 1e6),
    ("net_counter_ah", "Ah", "the device's own count of charge out less charge in", -1e6, 1e6),
    ("drawn_counter_wh", "Wh", "the device's own count of energy out of the battery", -1, 1e8),
    ("returned_counter_wh", "Wh", "the device's own count of energy into the battery", -1, 1e8),
    ("net_counter_wh", "Wh", "the device's own count of energy out less energy in", -1e8, 1e8),
)

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
    frame: pd.DataFrame, source: str, *, largest_bad_share: float = 0.01
) -> tuple[pd.DataFrame, tuple[Finding, ...]]:
    """Hold every column against the table.

    Single impossible values are taken out (set to NaN) and counted in a finding; a column with a larger
    share of them was misunderstood, or holds something else, and is an error.

    Parameters
    ----------
    frame : one column a channel, index seconds on the recording's clock
    source : name of the file, for messages
    largest_bad_share : share of a column's values that may be impossible before it is refused [1]

    Returns
    -------
    frame : a new frame, infinities and impossible values as NaN
    findings : one for each column that lost values

    Raises
    ------
    InputError : a column holds too many impossible values
    KeyError : a column is not in the table
    """
    frame = frame.replace([np.inf, -np.inf], np.nan)
    findings: list[Finding] = []
    for name in frame.columns:
        entry = channel(str(name))
        values = frame[name]
        bad_mask = (values < entry.low) | (values > entry.high)
        n_bad, n_known = int(bad_mask.sum()), int(values.notna().sum())
        if not n_bad:
            continue
        at_s = float(frame.index.to_numpy()[bad_mask.to_numpy().argmax()])
        first = float(values[bad_mask].iloc[0])
        if n_bad > max(1, largest_bad_share * n_known):
            found = Impossible(str(name), entry.unit, first, at_s, entry.low, entry.high, n_bad, n_known)
            raise impossible_values(source, found)
        facts: dict[str, Fact] = {
            "file": source,
            "channel": str(name),
            str(name): first,
            f"lowest_{name}": entry.low,
            f"highest_{name}": entry.high,
            "unit": entry.unit,
            "n_values": n_bad,
            "first_s": at_s,
        }
        findings.append(Finding("impossible-values", "warning", facts, at_s, at_s))
        frame[name] = values.mask(bad_mask)
    return frame, tuple(findings)
