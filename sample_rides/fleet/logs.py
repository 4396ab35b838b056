"""What the devices of the fleet write of a ride, with their errors and clocks, a whole column at a time."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path

import numpy as np

from sample_rides.fit_writer import write_fit
from sample_rides.fleet.bikes import FleetBike
from sample_rides.fleet.faults import Condition
from sample_rides.fleet.lockstep import QuickRide
from sample_rides.loggers import rounded
from sample_rides.route import Floats, degrees_at

_POSITION_ERROR_M, _POSITION_MEMORY_S = 1.0, 90.0
_ALTITUDE_ERROR_M, _ALTITUDE_MEMORY_S, _ALTITUDE_STEP_M = 0.4, 300.0, 0.2
_CADENCE_RPM, _PEDALLED_N = 70.0, 0.5
_CURRENT_STEP_A, _VOLTAGE_STEP_V = 0.01, 0.01
_Column = tuple[str, str, Sequence[object]]  # name with its unit, %-format, values


@dataclass(frozen=True)
class Readings:
    """What a bike's devices read on one ride, arrays of shape (n,) on the electrical logger's seconds.

    ``track_s`` is what the tracker's clock shows at its points, counted from the start of the electrical log.
    """

    current_a: Floats
    voltage_v: Floats
    speed_mps: Floats
    battery_c: Floats
    cadence_rpm: Floats
    braking: Floats
    track_s: Floats
    latitude_deg: Floats
    longitude_deg: Floats
    altitude_m: Floats
    track_speed_mps: Floats
    track_distance_m: Floats


def wandering(shape: tuple[int, ...], memory_steps: float, rng: np.random.Generator) -> Floats:
    """First-order random sequences of unit standard deviation along the first axis that forget in ``memory_steps``."""
    keep = math.exp(-1 / memory_steps)
    values: Floats = rng.standard_normal(shape)
    values[1:] *= math.sqrt(1 - keep * keep)
    for index in range(1, len(values)):
        values[index] += keep * values[index - 1]
    return values


def readings(
    ride: QuickRide, bike: FleetBike, condition: Condition, offset_s: float, rng: np.random.Generator
) -> Readings:
    """What the devices read.

    Parameters
    ----------
    ride : what happened
    bike, condition : whose logger it is, and what faults have made of it
    offset_s : what the tracker's clock shows more than the electrical one [s]
    rng : the source of noise

    Returns
    -------
    readings : rounded as the devices round; a merged log has one clock, its ``offset_s`` is 0
    """
    n, errors = len(ride.speed_mps), bike.errors
    gain = np.where(ride.current_a < 0, errors.charge_gain, 1.0) * errors.current_gain
    noise_a, noise_v = errors.current_noise_a, errors.voltage_noise_v
    current = gain * ride.current_a + errors.current_zero_a + condition.zero_drift_a + noise_a * rng.standard_normal(n)
    voltage = errors.voltage_gain * ride.voltage_v + noise_v * rng.standard_normal(n)
    shown = np.arange(math.ceil(offset_s), math.floor(offset_s + n - 1) + 1, dtype=float)
    distance, speed = _between(ride, shown - offset_s)
    east, north = ride.road.plan_m(distance)
    errors_m = _POSITION_ERROR_M * wandering((len(shown), 2), _POSITION_MEMORY_S, rng)
    route = ride.scenario.route
    latitude, longitude = degrees_at(
        east + errors_m[:, 0], north + errors_m[:, 1], route.start_latitude_deg, route.start_longitude_deg
    )
    slow_m = _ALTITUDE_ERROR_M * wandering((len(shown),), _ALTITUDE_MEMORY_S, rng)
    doppler = np.maximum(speed + 0.05 * rng.standard_normal(len(shown)), 0.0)
    return Readings(
        current_a=rounded(current, _CURRENT_STEP_A),
        voltage_v=rounded(voltage, _VOLTAGE_STEP_V),
        speed_mps=errors.wheel_gain * condition.wheel_gain_ratio * ride.speed_mps,
        battery_c=ride.temperature_c,
        cadence_rpm=np.where(ride.rider_n > _PEDALLED_N, _CADENCE_RPM, 0.0),
        braking=ride.braking,
        track_s=shown,
        latitude_deg=latitude,
        longitude_deg=longitude,
        altitude_m=rounded(ride.road.height_m(distance) + slow_m, _ALTITUDE_STEP_M),
        track_speed_mps=np.where(speed > 0.3, doppler, 0.0),
        track_distance_m=distance,
    )


def _between(ride: QuickRide, moments_s: Floats) -> tuple[Floats, Floats]:
    """Distance (cubic through distances and speeds of both neighbours) and speed (straight) at moments of the ride."""
    index = np.clip(moments_s.astype(int), 0, len(ride.speed_mps) - 2)
    share = moments_s - index
    before, after = ride.distance_m[index], ride.distance_m[index + 1]
    first, last = ride.speed_mps[index], ride.speed_mps[index + 1]
    rest = 1 - share
    distance = (
        before * rest * rest * (1 + 2 * share)
        + after * share * share * (3 - 2 * share)
        + share * rest * (first * rest - last * share)
    )
    return distance, first * rest + last * share


def write_logs(
    folder: Path, bike: FleetBike, read: Readings, start: datetime, air_c: float, *, prefix: str = ""
) -> list[Path]:
    """Write a ride's files, as its bike writes them.

    Parameters
    ----------
    folder : where they go, which exists
    bike : whose devices write
    read : what they read
    start : wall time of the first electrical sample
    air_c : temperature of the air, for those who log it [°C]
    prefix : what their names begin with

    Returns
    -------
    files : the electrical log first
    """
    air = [air_c] if bike.with_air_temperature else []
    beside = [("air temperature [°C]", "%.1f", [value] * len(read.current_a)) for value in air]
    if bike.with_controls:
        beside += [("cadence [rpm]", "%.0f", read.cadence_rpm.tolist()), ("brake", "%d", read.braking.tolist())]
    if bike.logs == "merged":
        merged = folder / f"{prefix}ride.csv"
        _write_merged(merged, read, start, beside)
        return [merged]
    electrical = folder / f"{prefix}controller.csv"
    track = folder / f"{prefix}{'ride.fit' if bike.logs == 'elapsed-and-fit' else 'track.gpx'}"
    match bike.logs:
        case "wall-time-and-gpx":
            _write_wall_time(electrical, read, start, beside)
            _write_gpx(track, read, start)
        case "elapsed-and-gpx":
            _write_elapsed(electrical, read, beside)
            _write_gpx(track, read, start)
        case "elapsed-and-fit":
            _write_german(electrical, read, beside[len(air) :])
            _write_fit(track, read, start, air)
    return [electrical, track]


def stamps(start: datetime, seconds: Floats) -> list[str]:
    """ISO 8601 texts in UTC of whole seconds from ``start``."""
    first = np.datetime64(start.replace(tzinfo=None), "s")
    return [f"{text}Z" for text in np.datetime_as_string(first + seconds.astype("timedelta64[s]")).tolist()]


def _table(path: Path, header: str, row: str, columns: Sequence[Sequence[object]], beside: Sequence[_Column]) -> None:
    """Write a text table; ``row`` is the %-format of one row, ``beside`` are more columns."""
    mark = ";" if ";" in header else ","
    header = mark.join([header, *(name for name, _, _ in beside)])
    row = mark.join([row, *(form for _, form, _ in beside)])
    lines = [header, *map(row.__mod__, zip(*columns, *(values for _, _, values in beside), strict=True)), ""]
    path.write_text("\n".join(lines), encoding="utf-8", newline="\n")


def _kmh(speed_mps: Floats) -> list[float]:
    kmh: list[float] = (3.6 * speed_mps).tolist()
    return kmh


def _write_wall_time(path: Path, read: Readings, start: datetime, beside: Sequence[_Column]) -> None:
    n = len(read.current_a)
    header = "time,battery current [A],battery voltage [V],wheel speed [km/h],battery temperature [°C]"
    columns = [
        stamps(start, np.arange(float(n))), read.current_a.tolist(), read.voltage_v.tolist(), _kmh(read.speed_mps),
        read.battery_c.tolist(),
    ]  # fmt: skip
    _table(path, header, "%s,%.2f,%.2f,%.1f,%.1f", columns, beside)


def _write_merged(path: Path, read: Readings, start: datetime, beside: Sequence[_Column]) -> None:
    n = len(read.current_a)
    header = (
        "timestamp,battery voltage (V),battery current (A),wheel speed (km/h),battery temperature (°C),"
        "latitude (deg),longitude (deg),altitude (m)"
    )
    columns = [
        stamps(start, np.arange(float(n))), read.voltage_v.tolist(), read.current_a.tolist(), _kmh(read.speed_mps),
        read.battery_c.tolist(), read.latitude_deg.tolist(), read.longitude_deg.tolist(), read.altitude_m.tolist(),
    ]  # fmt: skip
    beside = [(name.replace("[", "(").replace("]", ")"), form, values) for name, form, values in beside]
    _table(path, header, "%s,%.2f,%.2f,%.1f,%.1f,%.6f,%.6f,%.1f", columns, beside)


def _write_elapsed(path: Path, read: Readings, beside: Sequence[_Column]) -> None:
    n = len(read.current_a)
    header = "elapsed time [s];pack voltage [V];pack current [A];speed [km/h];battery temperature [°C]"
    columns = [
        range(n), read.voltage_v.tolist(), read.current_a.tolist(), _kmh(read.speed_mps), read.battery_c.tolist(),
    ]  # fmt: skip
    _table(path, header, "%d;%.2f;%.2f;%.1f;%.1f", columns, beside)


def _write_german(path: Path, read: Readings, beside: Sequence[_Column]) -> None:
    names = ("Zeit [s]", "Akkuspannung [V]", "Akkustrom [A]", "Geschwindigkeit [km/h]", "Akkutemperatur [°C]")
    german = {"cadence [rpm]": "Trittfrequenz [rpm]", "brake": "Bremse"}
    header = ";".join([*names, *(german[name] for name, _, _ in beside)])
    columns = [
        range(len(read.current_a)), read.voltage_v.tolist(), read.current_a.tolist(), _kmh(read.speed_mps),
        read.battery_c.tolist(), *(values for _, _, values in beside),
    ]  # fmt: skip
    row = ";".join(["%d;%.2f;%.2f;%.1f;%.1f", *(form for _, form, _ in beside)])
    lines = [header, *(text.replace(".", ",") for text in map(row.__mod__, zip(*columns, strict=True)))]
    path.write_text("\n".join(lines) + "\n", encoding="utf-8", newline="\n")


def _write_gpx(path: Path, read: Readings, start: datetime) -> None:
    head = (
        '<?xml version="1.0" encoding="UTF-8"?>\n'
        '<gpx version="1.1" creator="sample_rides" xmlns="http://www.topografix.com/GPX/1/1">\n<trk><trkseg>'
    )
    row = '<trkpt lat="%.6f" lon="%.6f"><ele>%.1f</ele><time>%s</time></trkpt>'
    columns = [
        read.latitude_deg.tolist(), read.longitude_deg.tolist(), read.altitude_m.tolist(), stamps(start, read.track_s),
    ]  # fmt: skip
    points = map(row.__mod__, zip(*columns, strict=True))
    path.write_text("\n".join([head, *points, "</trkseg></trk></gpx>", ""]), encoding="utf-8", newline="\n")


def _write_fit(path: Path, read: Readings, start: datetime, air: list[float]) -> None:
    names = ("time_s", "latitude_deg", "longitude_deg", "altitude_m", "speed_mps", "distance_m", "air_temperature_c")
    columns = [
        (read.track_s - read.track_s[0]).tolist(), read.latitude_deg.tolist(), read.longitude_deg.tolist(),
        read.altitude_m.tolist(), read.track_speed_mps.tolist(), read.track_distance_m.tolist(),
        *([value] * len(read.track_s) for value in air),
    ]  # fmt: skip
    records = [dict(zip(names, row, strict=False)) for row in zip(*columns, strict=True)]
    write_fit(path, start + timedelta(seconds=float(read.track_s[0])), records)
