"""An own small simulation of a ride, so that every clock offset in these tests is known before anything is joined."""

from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from functools import lru_cache

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from ridelog.recording import Clock, Recording

Floats = NDArray[np.float64]

FINE_S = 0.05
START = datetime(2026, 5, 1, 8, 0, tzinfo=UTC)


@dataclass(frozen=True)
class Truth:
    """The true ride on a grid of 0.05 s."""

    time_s: Floats
    speed_mps: Floats
    distance_m: Floats
    latitude_deg: Floats
    longitude_deg: Floats
    altitude_m: Floats
    power_w: Floats


@lru_cache(maxsize=12)
def true_ride(seed: int, duration_s: float = 1800.0, *, hilly: bool = True) -> Truth:
    """Stop-and-go in an invented town: cruising speeds, stops and a wavering rider, on a winding, hilly way."""
    rng = np.random.default_rng(seed)
    n = int(duration_s / FINE_S)
    target_mps = np.empty(n)
    at = 0
    while at < n:
        length = int(rng.uniform(15, 90) / FINE_S)
        stop = rng.random() < 0.3
        target_mps[at : at + (length // 3 if stop else length)] = 0.0 if stop else rng.uniform(3, 8)
        at += length // 3 if stop else length
    noise = rng.normal(size=n) * 0.25 * np.sqrt(2 * FINE_S / 4.0)
    speeds, waver = [0.0], 0.0
    for target, pushed in zip(target_mps[1:].tolist(), noise[1:].tolist(), strict=True):
        waver += -waver * FINE_S / 4.0 + pushed
        want = (target + (waver if target else 0.0) - speeds[-1]) / 1.5
        speeds.append(max(0.0, speeds[-1] + FINE_S * min(max(want, -1.8), 0.9)))
    speed_mps = np.array(speeds)
    distance_m = np.concatenate(([0.0], np.cumsum((speed_mps[1:] + speed_mps[:-1]) / 2 * FINE_S)))
    heading = 0.8 * np.sin(distance_m / 310) + 0.5 * np.sin(distance_m / 97 + 1)
    step_m = np.diff(distance_m, prepend=0.0)
    north_m, east_m = np.cumsum(step_m * np.cos(heading)), np.cumsum(step_m * np.sin(heading))
    # metres per degree at 46.5° N from the radii of curvature of WGS 84 (closed form)
    bend = 1 - 0.00669437999014 * np.sin(np.radians(46.5)) ** 2
    per_lat = np.pi / 180 * 6378137.0 * (1 - 0.00669437999014) / bend**1.5
    per_lon = np.pi / 180 * 6378137.0 * np.cos(np.radians(46.5)) / np.sqrt(bend)
    altitude_m = 50 + (18 * np.sin(distance_m / 260) + 6 * np.sin(distance_m / 90) if hilly else 0 * distance_m)
    force_n = 110 * np.gradient(speed_mps, FINE_S) + 8.3 + 0.34 * speed_mps**2
    wheel_w = force_n * speed_mps + 110 * 9.80665 * np.gradient(altitude_m, FINE_S)
    rider_w = 60 * (1 + 0.3 * np.sin(np.arange(n) * FINE_S / 40)) * (wheel_w > 0)
    power_w = np.clip((wheel_w - rider_w) / 0.8 * (wheel_w > 0) + 0.5 * wheel_w * (wheel_w < 0), -300, 750)
    return Truth(
        np.arange(n, dtype=np.float64) * FINE_S, speed_mps, distance_m, 46.5 + north_m / per_lat,
        -32 + east_m / per_lon, altitude_m, power_w,
    )  # fmt: skip


def recording(
    name: str, time_s: Floats, *, start: datetime | None = START, clock: Clock = "utc", **columns: Floats
) -> Recording:
    """A recording of given channels, first sample at 0 s."""
    frame = pd.DataFrame(columns, index=pd.Index(time_s - time_s[0], name="time_s"))
    sha256 = f"{name} {start} {len(frame)} {frame.iloc[0].tolist()}"  # stands for the bytes
    return Recording(name, sha256, name.rsplit(".", 1)[-1], frame, start if clock != "elapsed" else None, clock)


def _times(truth: Truth, start_s: float, end_s: float | None, step_s: float, drift_ppm: float) -> Floats:
    """True times of samples that the device's own clock spaces by ``step_s``."""
    last_s = truth.time_s[-1] if end_s is None else end_s
    return np.arange(start_s, last_s, step_s / (1 + 1e-6 * drift_ppm))


def _taken(truth: Truth, values: Floats, at_s: Floats) -> Floats:
    taken: Floats = np.interp(at_s, truth.time_s, values)
    return taken


def controller_log(  # noqa: PLR0913 - each keyword is one thing about the logger that a test chooses
    truth: Truth, *, start_s: float = 0.0, end_s: float | None = None, step_s: float = 0.2, seed: int = 1,
    clock: Clock = "utc", clock_error_s: float = 0.0, with_speed: bool = True,
) -> Recording:  # fmt: skip
    """Current, voltage and (unless told otherwise) speed to 0.1 km/h."""
    rng = np.random.default_rng(seed)
    at_s = _times(truth, start_s, end_s, step_s, 0.0)
    power_w = _taken(truth, truth.power_w, at_s) + rng.normal(0, 5, len(at_s))
    columns = {"current_a": np.round(power_w / 48.0, 2), "voltage_v": np.full(len(at_s), 48.0)}
    if with_speed:
        columns["speed_mps"] = np.round((_taken(truth, truth.speed_mps, at_s)) * 36) / 36
    start = START + timedelta(seconds=start_s + clock_error_s)
    own_s = np.arange(len(at_s), dtype=np.float64) * step_s
    return recording("controller.csv", own_s, start=start, clock=clock, **columns)


def track_log(  # noqa: PLR0913 - each keyword is one thing about the logger that a test chooses
    truth: Truth, *, start_s: float = 0.0, end_s: float | None = None, step_s: float = 1.0, seed: int = 2,
    clock: Clock = "utc", clock_error_s: float = 0.0, drift_ppm: float = 0.0, noise_m: float = 0.1,
    dropouts: int = 0,
) -> Recording:  # fmt: skip
    """Positions to 1e-7 degrees and heights; fixes wander slowly by 2 m and quickly by ``noise_m``."""
    rng = np.random.default_rng(seed)
    at_s = _times(truth, start_s, end_s, step_s, drift_ppm)
    n = len(at_s)
    wander = [_slow(rng, n, 120 / step_s) * 2 + rng.normal(0, noise_m, n) for _ in range(2)]
    columns = {
        "latitude_deg": np.round(_taken(truth, truth.latitude_deg, at_s) + wander[0] / 111_200, 7),
        "longitude_deg": np.round(_taken(truth, truth.longitude_deg, at_s) + wander[1] / 76_700, 7),
        "altitude_m": np.round(_taken(truth, truth.altitude_m, at_s) + _slow(rng, n, 60 / step_s), 1),
    }
    keep = np.ones(n, dtype=bool)
    for first in rng.integers(0, n, dropouts):
        keep[first : first + int(rng.uniform(5, 60) / step_s)] = False
    own_s = (np.arange(n, dtype=np.float64) * step_s)[keep]
    start = START + timedelta(seconds=start_s + clock_error_s + float(own_s[0]))
    columns = {name: values[keep] for name, values in columns.items()}
    return recording("track.gpx", own_s, start=start, clock=clock, **columns)


def _slow(rng: np.random.Generator, n: int, length: float) -> Floats:
    """Unit noise that forgets over ``length`` samples."""
    result, keep = np.empty(n), np.exp(-1 / length)
    value = rng.normal()
    for k, push in enumerate(rng.normal(size=n) * np.sqrt(1 - keep**2)):
        value = keep * value + push
        result[k] = value
    return result
