"""Coast-downs by chance: a road, a bike, a wind that nobody sees, and what a satellite logger makes of them.

The motion is integrated here in steps of 0.02 s, over distance-dependent true heights, apart from the code under test.
"""

import math
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime

import numpy as np
import pandas as pd

from ridelog.recording import Recording, Ride
from ridelog.settings.bike import Bike, BikeSection, RoadSection
from ridelog.timeline.ride import join_recordings
from sample_rides.route import degrees_at

G = 9.80665
START = datetime(2026, 5, 4, 6, 0, tzinfo=UTC)


@dataclass(frozen=True)
class Truth:
    """The bike as it is."""

    mass_kg: float = 110.0
    rotating_kg: float = 1.4475
    cda_m2: float = 0.559
    crr: float = 0.0077
    motor_drag_n: float = 0.0
    density: float = 1.225


@dataclass(frozen=True)
class Session:
    """How the runs were made and logged.

    ``wind_mps`` : north and east · ``gust_mps`` : standard deviation of each run's own head wind · ``undulation_m`` :
    of the road's height, over some 300 m
    """

    runs_each_way: int = 4
    start_mps: float = 8.3
    end_mps: float = 2.6
    road_m: float = 420.0
    grade: float = 0.0
    undulation_m: float = 0.0
    wind_mps: tuple[float, float] = (0.0, 0.0)
    gust_mps: float = 0.0
    speed_noise_mps: float = 0.1
    position_error_m: float = 1.5
    height_error_m: float = 0.4
    height_digit_m: float = 0.2
    step_s: float = 1.0
    heading_rad: float = 0.6
    with_current: bool = True
    with_position: bool = True
    with_height: bool = True


def session_ride(truth: Truth, session: Session, bike: Bike, seed: int = 1) -> Ride:
    """The ride of a session, as its logger recorded it."""
    rng = np.random.default_rng(seed)
    phase = rng.uniform(0, 2 * np.pi, 2)
    time_s, speed, place, current = _ridden(truth, session, phase, rng)
    keep = np.arange(0, len(time_s), round(session.step_s / 0.02))
    time_s, speed, place, current = time_s[keep], speed[keep], place[keep], current[keep]
    n = len(time_s)
    columns = {
        "speed_mps": np.where(speed > 0.2, np.maximum(speed + session.speed_noise_mps * rng.standard_normal(n), 0), 0)
    }
    if session.with_current:
        columns["current_a"] = np.round(current + 0.02 * rng.standard_normal(n), 2)
    if session.with_height:
        height = 40 + _height_m(place, session, phase) + session.height_error_m * _walk(rng, n, session.step_s / 300)
        digit = session.height_digit_m
        columns["altitude_m"] = np.round(height / digit) * digit if digit else height
    if session.with_position:
        errors = [session.position_error_m * _walk(rng, n, session.step_s / 90) for _ in range(2)]
        east = place * np.sin(session.heading_rad) + errors[0]
        north = place * np.cos(session.heading_rad) + errors[1]
        columns["latitude_deg"], columns["longitude_deg"] = degrees_at(east, north, 46.5, -32.0)
    frame = pd.DataFrame(columns, index=pd.Index(time_s - time_s[0], name="time_s"))
    return join_recordings([Recording("session.csv", "0" * 64, "csv", frame, START, "utc")], bike, "session")


def known_bike(**road: float) -> Bike:
    """The bike file of a rider who weighed the bike and read the weather."""
    weather = {"air_temperature_c": 15.0, "air_pressure_hpa": 1013.25, "wind_mps": 0.0}
    mass = BikeSection(total_mass_kg=110.0, total_mass_limit_kg=3.0, rotating_mass_kg=1.4475)
    return Bike(bike=mass, road=RoadSection(**(weather | road)))


def _height_m(place: np.ndarray, session: Session, phase: np.ndarray) -> np.ndarray:
    waves = np.sin(2 * np.pi * place / 310 + phase[0]) + 0.5 * np.sin(2 * np.pi * place / 170 + phase[1])
    height_m: np.ndarray = session.grade * place + session.undulation_m * waves
    return height_m


def _slope(place: float, session: Session, phase: list[float]) -> float:
    """The derivative of `_height_m`."""
    bends = 2 * math.pi / 310 * math.cos(2 * math.pi * place / 310 + phase[0])
    bends += math.pi / 170 * math.cos(2 * math.pi * place / 170 + phase[1])
    return session.grade + session.undulation_m * bends


@dataclass(frozen=True)
class _Road:
    """What slows the bike at a moment of a session."""

    truth: Truth
    session: Session
    phase: list[float]

    def rate_mps2(self, speed: float, wind: float, place: float, way: int) -> float:
        """Acceleration of the bike as it rolls, ``way`` being 1 there and -1 back."""
        truth, slope = self.truth, way * _slope(place, self.session, self.phase)
        air = speed + wind
        cosine: float = (1 - slope**2) ** 0.5
        force = truth.crr * truth.mass_kg * G * cosine + truth.motor_drag_n + truth.mass_kg * G * slope
        force += 0.5 * truth.density * truth.cda_m2 * air * abs(air)
        return -force / (truth.mass_kg + truth.rotating_kg)


def _ridden(truth: Truth, session: Session, phase: np.ndarray, rng: np.random.Generator) -> Iterator[np.ndarray]:
    """Fine steps of the whole session: stand, drive up to speed, coast, brake, turn, and back."""
    step, road = 0.02, _Road(truth, session, phase.tolist())
    rows = []
    time_s, place, way = 0.0, 0.0, 1
    for _ in range(2 * session.runs_each_way):
        north, east = session.wind_mps
        wind = -way * (north * math.cos(session.heading_rad) + east * math.sin(session.heading_rad))
        wind += session.gust_mps * float(rng.standard_normal())
        speed = 0.0
        for _ in range(round(rng.uniform(12, 20) / step)):
            rows.append((time_s, 0.0, place, 0.06))
            time_s += step
        top = session.start_mps + float(rng.uniform(-0.5, 0.5))
        state, begun = "drive", place
        while state != "done":
            if state == "drive":
                rate, amps = 0.9, 8.0
                state = "coast" if speed >= top else state
            elif state == "coast":
                rate, amps = road.rate_mps2(speed, wind, place, way), 0.06
                if speed < session.end_mps or abs(place - begun) > session.road_m:
                    state = "brake"
            else:
                rate, amps = -1.5, 0.06
            rows.append((time_s, speed, place, amps))
            middle = speed + step / 2 * rate
            if state == "coast":
                rate = road.rate_mps2(middle, wind, place + way * step / 2 * speed, way)
            after = max(speed + step * rate, 0.0)
            place += way * step * (speed + after) / 2
            speed, time_s = after, time_s + step
            if state == "brake" and speed == 0.0:
                state = "done"
        way = -way
    return (np.array(column) for column in zip(*rows, strict=True))


def _walk(rng: np.random.Generator, n: int, share: float) -> np.ndarray:
    """A first-order random sequence of unit standard deviation that forgets ``share`` of itself a step."""
    from scipy.signal import lfilter

    keep = float(np.exp(-share))
    noise = rng.standard_normal(n) * np.sqrt(1 - keep * keep)
    noise[0] = rng.standard_normal()
    result: np.ndarray = lfilter([1.0], [1.0, -keep], noise)
    return result


def chance(seed: int) -> tuple[Truth, Session, Bike]:
    """A bike, a session and what its rider believes of both: mass and air within their limits, a wind of 0.5 m/s."""
    rng = np.random.default_rng([seed, 9])
    mass_kg = float(rng.uniform(85, 150))
    warm, pressure = rng.uniform(-3, 3) + 15.0, rng.uniform(-5, 5) + 1013.25
    truth = Truth(
        mass_kg=mass_kg,
        rotating_kg=float(rng.uniform(1.0, 3.0)),
        cda_m2=float(rng.uniform(0.4, 0.8)),
        crr=float(rng.uniform(0.005, 0.012)),
        density=100 * pressure / (287.05287 * (warm + 273.15)),
    )
    session = Session(
        runs_each_way=int(rng.integers(2, 6)),
        start_mps=float(rng.uniform(7.5, 9.5)),
        end_mps=float(rng.uniform(2.0, 3.0)),
        grade=float(rng.uniform(-0.003, 0.003)),
        undulation_m=float(rng.uniform(0.0, 0.4)),
        wind_mps=(float(0.5 * rng.standard_normal()), float(0.5 * rng.standard_normal())),
        gust_mps=0.2,
        height_error_m=float(rng.uniform(0.2, 0.8)),
        height_digit_m=float(rng.choice([0.0, 0.1, 0.2])),
        heading_rad=float(rng.uniform(0, 2 * np.pi)),
    )
    believed = BikeSection(
        total_mass_kg=mass_kg + float(rng.uniform(-3, 3)),
        total_mass_limit_kg=3.0,
        rotating_mass_kg=truth.rotating_kg / (1 + 0.3 * float(rng.uniform(-1, 1))),
    )
    return (
        truth,
        session,
        Bike(bike=believed, road=RoadSection(air_temperature_c=15.0, air_pressure_hpa=1013.25, wind_mps=0.0)),
    )
