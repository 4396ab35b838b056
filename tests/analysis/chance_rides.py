"""Rides by chance with the errors of usual devices, for tests of intervals: as logged, and as they truly were."""

from dataclasses import dataclass
from datetime import timedelta
from functools import cache

import numpy as np
import pandas as pd

from ridelog.analysis.road.height_noise import HeightNoise, Track, height_noise
from ridelog.analysis.road.motion import Motion
from ridelog.analysis.road.profile import Profile, height_profile
from ridelog.recording import ClockJoin, Recording, checked
from ridelog.settings.bike import Bike
from ridelog.timeline.ride import join_recordings
from sample_rides.loggers import Clock, electrical_log, track_log
from sample_rides.machine import Machine
from sample_rides.route import degrees_at
from sample_rides.scenarios import random_scenario
from sample_rides.simulation import Simulated, simulate
from sample_rides.truth import Truth, TruthSettings, truth

SEEDS = range(200, 216)
SLICE = SEEDS[:8]  # what every run of the tests can afford; all of them in `make proof`


@dataclass(frozen=True)
class ChanceRide:
    """A ride as logged and joined, and the truth of it."""

    ride: Simulated
    true: Truth
    machine: Machine
    join: ClockJoin
    offset_s: float
    track: Track
    profile: Profile
    noise: HeightNoise
    motion: Motion


@cache
def chance_ride(seed: int, step_s: float) -> ChanceRide:
    """Electrical log with speed at ``step_s``; 1 Hz track, height off by 0.4 m that wanders over 300 s, clock off."""
    ride = _simulated(seed)
    rng = np.random.default_rng([seed, round(10 * step_s)])
    offset_s = float(rng.uniform(-30, 30))
    log = electrical_log(ride, step_s=step_s, seed=seed)[["time_s", "current_a", "voltage_v", "speed_mps"]].copy()
    clock = Clock(offset_s=offset_s, drift_ppm=float(rng.uniform(-50, 50)))
    track = track_log(ride, clock=clock, seed=5000 + seed)
    track = track[["time_s", "latitude_deg", "longitude_deg", "altitude_m"]].copy()
    joined = join_recordings([_recording("log.csv", log, ride), _recording("track.gpx", track, ride)], Bike())
    series = joined.series
    time_s, distance_m, altitude_m, speed_mps, latitude, longitude = (
        series[name].to_numpy(dtype=float)
        for name in ("elapsed_s", "distance_m", "altitude_m", "speed_mps", "latitude_deg", "longitude_deg")
    )
    route = ride.scenario.route
    home = (route.start_latitude_deg, route.start_longitude_deg)
    north_deg, east_deg = degrees_at(np.array([0.0, 1000.0]), np.array([1000.0, 0.0]), *home)
    east_m = (longitude - home[1]) / (east_deg[1] - home[1]) * 1000
    north_m = (latitude - home[0]) / (north_deg[0] - home[0]) * 1000
    profile = height_profile(distance_m, altitude_m)
    assert profile is not None
    passed = Track(time_s, distance_m, altitude_m, speed_mps, east_m, north_m)
    motion = Motion(time_s, speed_mps, profile.height_at(distance_m), profile.grade_at(distance_m))
    return ChanceRide(
        ride,
        truth(ride, TruthSettings(brake_n=3.0)),
        ride.scenario.machine,
        joined.joins[1],
        offset_s,
        passed,
        profile,
        height_noise(profile, passed),
        motion,
    )


@cache
def _simulated(seed: int) -> Simulated:
    return simulate(random_scenario(np.random.default_rng(seed)))


def _recording(name: str, log: pd.DataFrame, ride: Simulated) -> Recording:
    time_s = log.pop("time_s").to_numpy()
    log.index = pd.Index(time_s - time_s[0], name="time_s")
    begin = ride.scenario.start + timedelta(seconds=float(time_s[0]))
    return checked(Recording(name, name.ljust(64, "0"), name[-3:], log, begin, "utc"))


def coverage_and_width(found: list[tuple[float, float, float]], true: list[float]) -> tuple[float, float]:
    """Share of the intervals (value, low, high) that hold the truth, and their median half-width."""
    low, high = np.array(found)[:, 1], np.array(found)[:, 2]
    held = (low <= np.array(true)) & (np.array(true) <= high)
    return float(held.mean()), float(np.median((high - low) / 2))
