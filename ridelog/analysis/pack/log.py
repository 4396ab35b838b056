"""What the questions about the pack look at: current, cell voltage and temperature at the electrical log's samples."""

from functools import cached_property

import numpy as np
import pandas as pd

from ridelog.analysis.electrical.flow import ElectricalFlow
from ridelog.analysis.electrical.rest import resolution
from ridelog.analysis.electrical.sensor import SensorLimits, sensor_limits
from ridelog.analysis.electrical.zero import Zero
from ridelog.arrays import Floats, Mask
from ridelog.lazy import dataclass
from ridelog.recording import Recording
from ridelog.settings.bike import Bike

# Currents into the battery below this are not told from a sensor's zero error [A].
LEAST_CHARGE_A = 0.3


@dataclass(frozen=True)
class PackLog:
    """Samples of one electrical recording whose current is known; arrays of shape (n,), NaN where not known.

    Attributes
    ----------
    current_a : less its zero error, positive out of the battery, a charger's current included [A]
    voltage_v : of the pack [V]
    cell_v : of the highest cell where cells are logged, else the mean of the cells in series [V]
    n_cells_logged : number of logged cell voltages; 0 where ``cell_v`` is the mean
    temperature_c : of the battery [°C]
    speed_mps, braking_mask, brake_ratio : how the bike moved, whether it was braked, and the logged brake signal
    counted : shape (n - 1,), steps that are no gap
    noise_a, zero_half_a : standard deviation of the current, and half-width of what is left of its zero error [A]
    """

    time_s: Floats
    current_a: Floats
    voltage_v: Floats
    cell_v: Floats
    n_cells_logged: int
    temperature_c: Floats
    speed_mps: Floats
    braking_mask: Mask
    brake_ratio: Floats
    counted: Mask
    limits: SensorLimits
    noise_a: float
    zero_half_a: float
    shows_return: bool

    @cached_property
    def step_s(self) -> float:
        """Median step [s]."""
        return float(np.median(np.diff(self.time_s)))

    @cached_property
    def charging(self) -> Mask:
        """Samples with current into the battery, beyond noise and zero error, shape (n,)."""
        least_a = max(LEAST_CHARGE_A, self.zero_half_a + 4 * self.noise_a)
        mask: Mask = (self.current_a < -least_a) & self.shows_return
        return mask

    @cached_property
    def cell_step_v(self) -> float:
        """The last digit of the highest cell's voltage [V]; 0 where none shows."""
        known = self.cell_v[np.isfinite(self.cell_v)]
        return resolution(known)

    def seconds(self, mask: Mask) -> float:
        """How long a condition holds: half of each step that is no gap for each of its two ends [s]."""
        steps_s = np.where(self.counted, np.diff(self.time_s), 0.0)
        return float((steps_s * (mask[1:].astype(float) + mask[:-1]) / 2).sum())


def pack_log(recording: Recording | None, flow: ElectricalFlow, series: pd.DataFrame, bike: Bike) -> PackLog | None:
    """What the electrical recording knows of the pack; ``None`` where it holds no current.

    Where power and voltage are logged and current is not, current is their quotient.

    Parameters
    ----------
    recording : the electrical recording
    flow : what was integrated of it, for zero error and noise
    series : the common series at the recording's samples; ``speed_mps`` and ``braking_mask`` are used
    bike : for limits of the sensor and the number of cells

    Returns
    -------
    Only samples whose current is known, the zero error taken off.
    """
    if recording is None:
        return None
    frame = recording.frame
    current, volts = _current(frame), _column(frame, "voltage_v")
    known = np.isfinite(current)
    if known.sum() < 2:
        return None
    limits = sensor_limits(bike.sensor)
    zero = flow.zero or Zero(0.0, ((-limits.zero_a, limits.zero_a),), 0.0, known=False)
    cells = [frame[name].to_numpy(dtype=float) for name in frame if str(name).startswith("cell_")]
    time_s = recording.time_s[known]
    usual_s = float(np.median(np.diff(time_s)))
    braking = series["braking_mask"].to_numpy(dtype=bool) if "braking_mask" in series else np.zeros(len(frame), bool)
    return PackLog(
        time_s=time_s,
        current_a=current[known] - zero.value_a,
        voltage_v=volts[known],
        cell_v=_highest_cell(cells, volts, bike.pack.cells_in_series)[known],
        n_cells_logged=len(cells),
        temperature_c=_filled(frame, "battery_temperature_c")[known],
        speed_mps=_column(series, "speed_mps")[known],
        braking_mask=braking[known],
        brake_ratio=_column(frame, "brake_ratio")[known],
        counted=np.diff(time_s) <= max(1.5 * usual_s, 0.5),
        limits=limits,
        noise_a=flow.rest.noise_a if flow.rest is not None else 0.0,
        zero_half_a=max(zero.high_a - zero.value_a, zero.value_a - zero.low_a) + 2 * zero.noise_a,
        shows_return=flow.shows_return,
    )


def _highest_cell(cells: list[Floats], volts: Floats, n_in_series: int | None) -> Floats:
    """The highest logged cell, else an equal share of the pack's voltage; NaN where neither is known, shape (n,)."""
    if cells:
        table = np.stack(cells)
        return np.where(np.isfinite(table).any(axis=0), np.nanmax(np.nan_to_num(table, nan=-1.0), axis=0), np.nan)
    if n_in_series is None:
        return np.full(len(volts), np.nan)
    return volts / n_in_series


def _current(frame: pd.DataFrame) -> Floats:
    if "current_a" in frame or not {"power_w", "voltage_v"} <= set(frame):
        return _column(frame, "current_a")
    return _column(frame, "power_w") / _column(frame, "voltage_v")


def _column(frame: pd.DataFrame, name: str) -> Floats:
    return frame[name].to_numpy(dtype=float) if name in frame else np.full(len(frame), np.nan)


def _filled(frame: pd.DataFrame, name: str, *, longest_s: float = 120.0) -> Floats:
    """Values between samples of a channel that is logged less often, as temperatures are; they change in minutes."""
    values, time_s = _column(frame, name), frame.index.to_numpy(dtype=float)
    known = np.flatnonzero(np.isfinite(values))
    if not len(known):
        return values
    before = known[np.maximum(np.searchsorted(known, np.arange(len(values)), side="right") - 1, 0)]
    age_s = time_s - time_s[before]
    return np.where((age_s >= 0) & (age_s <= longest_s), values[before], np.nan)
