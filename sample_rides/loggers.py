"""What devices make of a simulated ride: an electrical log and a satellite track, with their errors and clocks.

All errors are nothing by default, except that numbers are rounded as devices round them.
"""

from dataclasses import dataclass, replace
from typing import Any

import numpy as np
import pandas as pd

from sample_rides.machine import Value
from sample_rides.route import Floats, degrees_at
from sample_rides.simulation import Simulated


@dataclass(frozen=True)
class Sensor:
    """The electrical logger.

    Attributes
    ----------
    step_s, first_s : step between samples, and moment of the first [s]
    averaged : samples are means over the step before them, not values at their moment
    current_resolution_a, voltage_resolution_v, speed_resolution_mps, temperature_resolution_c : last digit; 0 for none
    current_gain, charge_gain, current_zero_a, current_noise_a : reading = gain · true + zero + noise; currents into
        the battery are read ``charge_gain`` larger still
    voltage_gain, voltage_noise_v : the same of the voltage
    wheel_gain : of the speed; 1.02 for a circumference set 2 % too large
    speed_noise_mps : standard deviation [m/s]
    clipped : the logger does not know negative currents and writes 0
    seed : of the noise
    """

    step_s: float = 0.2
    first_s: float = 0.0
    averaged: bool = False
    current_resolution_a: float = 0.01
    voltage_resolution_v: float = 0.01
    speed_resolution_mps: float = 0.1 / 3.6
    temperature_resolution_c: float = 0.1
    current_gain: float = 1.0
    charge_gain: float = 1.0
    current_zero_a: float = 0.0
    current_noise_a: float = 0.0
    voltage_gain: float = 1.0
    voltage_noise_v: float = 0.0
    wheel_gain: float = 1.0
    speed_noise_mps: float = 0.0
    clipped: bool = False
    seed: int = 11


@dataclass(frozen=True)
class Clock:
    """A second clock: what it shows is ``electrical + offset_s + drift · seconds since the first electrical sample``.

    ``first_sample_s`` is the moment of that first sample in the simulation.
    """

    offset_s: float = 0.0
    drift_ppm: float = 0.0
    first_sample_s: float = 0.0

    def shows_s(self, time_s: Floats) -> Floats:
        """Seconds that this clock shows at moments of the simulation, 0 being the electrical clock's start [s]."""
        elapsed = np.asarray(time_s) - self.first_sample_s
        return self.offset_s + elapsed * (1 + 1e-6 * self.drift_ppm)

    def moment_s(self, shown_s: Value) -> Value:
        """Moments of the simulation at which this clock shows the given seconds [s]."""
        return self.first_sample_s + (shown_s - self.offset_s) / (1 + 1e-6 * self.drift_ppm)


@dataclass(frozen=True)
class Tracker:
    """The satellite logger with a barometer.

    Attributes
    ----------
    step_s : step between points on its own clock, which fall on whole steps [s]
    from_s, until_s : it records between these moments of the ride; ``None``: to the end [s]
    position_error_m, position_memory_s : standard deviation of the position error, east and north, and the time over
        which it forgets itself [m], [s]
    altitude_error_m, altitude_memory_s, altitude_resolution_m, altitude_zero_m : the same of the height, its last
        digit and its constant error
    speed_error_mps : standard deviation of its own speed (by Doppler shift) [m/s]
    """

    clock: Clock = Clock()
    step_s: float = 1.0
    from_s: float = 0.0
    until_s: float | None = None
    position_error_m: float = 1.0
    position_memory_s: float = 90.0
    altitude_error_m: float = 0.4
    altitude_memory_s: float = 300.0
    altitude_resolution_m: float = 0.2
    altitude_zero_m: float = 0.0
    speed_error_mps: float = 0.05
    seed: int = 12


def electrical_log(ride: Simulated, sensor: Sensor = Sensor(), **changes: Any) -> pd.DataFrame:
    """The electrical log of a ride.

    Parameters
    ----------
    ride : the simulated ride
    sensor : the logger; ``changes`` replace single attributes of it (``step_s=1.0``)

    Returns
    -------
    log : a row a sample; ``time_s`` (from the first sample), ``current_a``, ``voltage_v``, ``speed_mps``,
        ``distance_m``, ``battery_temperature_c``, ``state_of_charge_pct``
    """
    sensor = replace(sensor, **changes)
    rng = np.random.default_rng(sensor.seed)
    duration_s = len(ride.time_s) * ride.step_s
    n = int((duration_s - sensor.first_s) / sensor.step_s - 1e-9) + 1
    moments = sensor.first_s + sensor.step_s * np.arange(n, dtype=np.float64)

    def sampled(values: Floats) -> Floats:
        return _sampled(values, moments, ride.step_s, sensor.step_s if sensor.averaged else 0.0)

    gain = np.where(ride.current_a < 0, sensor.charge_gain, 1.0) * sensor.current_gain
    current = sampled(gain * ride.current_a + sensor.current_zero_a)  # the sensor errs before the logger averages
    current = current + sensor.current_noise_a * rng.standard_normal(n)
    if sensor.clipped:
        current = np.maximum(current, 0.0)
    voltage = sensor.voltage_gain * sampled(ride.voltage_v) + sensor.voltage_noise_v * rng.standard_normal(n)
    speed = sensor.wheel_gain * sampled(ride.speed_mps) + sensor.speed_noise_mps * rng.standard_normal(n)
    return pd.DataFrame(
        {
            "time_s": np.round(sensor.step_s * np.arange(n), 6),
            "current_a": rounded(current, sensor.current_resolution_a),
            "voltage_v": rounded(voltage, sensor.voltage_resolution_v),
            "speed_mps": rounded(np.maximum(speed, 0.0), sensor.speed_resolution_mps),
            "distance_m": rounded(sensor.wheel_gain * sampled(ride.distance_m), 0.01),
            "battery_temperature_c": rounded(sampled(ride.temperature_c), sensor.temperature_resolution_c),
            "state_of_charge_pct": rounded(100 * sampled(ride.soc_ratio), 1.0),
        }
    )


def track_log(ride: Simulated, tracker: Tracker = Tracker(), **changes: Any) -> pd.DataFrame:
    """The track of a ride.

    Parameters
    ----------
    ride : the simulated ride
    tracker : the logger; ``changes`` replace single attributes of it

    Returns
    -------
    track : a row a point; ``time_s`` (what its clock shows, 0 being the electrical clock's start), ``latitude_deg``,
        ``longitude_deg``, ``altitude_m``, ``speed_mps``, ``distance_m``, and ``moment_s`` (the true moment)
    """
    tracker = replace(tracker, **changes)
    rng = np.random.default_rng(tracker.seed)
    last_s = float(ride.time_s[-1])
    until_s = last_s if tracker.until_s is None else min(tracker.until_s, last_s)
    first, last = (tracker.clock.shows_s(np.array([s]))[0] / tracker.step_s for s in (tracker.from_s, until_s))
    shown = tracker.step_s * np.arange(np.ceil(first), np.floor(last) + 1)
    moments = tracker.clock.moment_s(shown)
    n = len(moments)
    distance = np.interp(moments, ride.time_s, ride.distance_m)
    east, north = ride.road.plan_m(distance)
    memory = tracker.step_s / tracker.position_memory_s
    east, north = (axis + tracker.position_error_m * _correlated(rng, n, memory) for axis in (east, north))
    route = ride.scenario.route
    latitude, longitude = degrees_at(east, north, route.start_latitude_deg, route.start_longitude_deg)
    slow = tracker.altitude_error_m * _correlated(rng, n, tracker.step_s / tracker.altitude_memory_s)
    altitude = ride.road.height_m(distance) + slow + tracker.altitude_zero_m
    speed = np.interp(moments, ride.time_s, ride.speed_mps)
    noisy = speed + tracker.speed_error_mps * rng.standard_normal(n)
    return pd.DataFrame(
        {
            "time_s": shown,
            "latitude_deg": latitude,
            "longitude_deg": longitude,
            "altitude_m": rounded(altitude, tracker.altitude_resolution_m),
            "speed_mps": np.where(speed > 0.3, np.maximum(noisy, 0.0), 0.0),
            "distance_m": distance,
            "moment_s": moments,
        }
    )


def with_dropouts(
    log: pd.DataFrame, lost_ratio: float, rng: np.random.Generator, *, mean_s: float = 2.0
) -> pd.DataFrame:
    """The log without bursts of samples, exponentially long, until ``lost_ratio`` of them are lost.

    The first and the last sample stay, so that the log covers the same span.
    """
    n = len(log)
    step_s = float(np.median(np.diff(log["time_s"])))
    kept = np.ones(n, dtype=bool)
    while n > 3 and (~kept).sum() < lost_ratio * (n - 2):
        burst = max(1, round(rng.exponential(mean_s) / step_s))
        first = int(rng.integers(1, n - 1))
        kept[first : min(first + burst, n - 1)] = False
    return log[kept].reset_index(drop=True)


def rounded(values: Floats, resolution: float) -> Floats:
    """Values on the grid of a device's last digit; 0 leaves them as they are."""
    if resolution <= 0:
        return values
    return np.round(np.round(values / resolution) * resolution, 9) + 0.0  # + 0.0 turns -0.0 into 0.0


def _sampled(values: Floats, moments: Floats, fine_s: float, mean_s: float) -> Floats:
    """The value of the step that holds each moment, or the mean over ``mean_s`` before it."""
    if not mean_s:
        held: Floats = values[np.clip(np.floor(moments / fine_s + 1e-6).astype(int), 0, len(values) - 1)]
        return held
    edges = fine_s * np.arange(len(values) + 1)
    total = np.concatenate(([0.0], np.cumsum(values) * fine_s))
    begin, end = np.maximum(moments - mean_s, 0.0), np.clip(moments, fine_s, edges[-1])
    means: Floats = (np.interp(end, edges, total) - np.interp(begin, edges, total)) / (end - begin)
    return means


def _correlated(rng: np.random.Generator, n: int, share: float) -> Floats:
    """A first-order random sequence of unit standard deviation that forgets ``share`` of itself a step."""
    keep = float(np.exp(-share))
    noise = rng.standard_normal(n)
    result = np.empty(n)
    state = noise[0] if n else 0.0
    for index in range(n):
        state = keep * state + np.sqrt(1 - keep * keep) * noise[index] if index else noise[0]
        result[index] = state
    return result
