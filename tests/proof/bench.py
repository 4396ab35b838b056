"""The proof bench: rides, sensors, logger faults and clocks by chance, with the truth kept beside every log.

One simulated ride serves several logs. Truths are exact sums over the simulation's steps of 0.02 s, over the span
that the log covers.
"""

from dataclasses import dataclass
from datetime import UTC, datetime, timedelta

import numpy as np
import pandas as pd

from ridelog.recording import Clock, Recording
from ridelog.settings.bike import Bike, SensorSection
from sample_rides.loggers import Clock as TrackClock
from sample_rides.loggers import Sensor, Tracker, electrical_log, rounded, track_log, with_dropouts
from sample_rides.scenarios import random_scenario
from sample_rides.simulation import Scenario, Simulated, simulate

START = datetime(2026, 5, 4, 7, 12, tzinfo=UTC)
QUANTITIES = ("drawn_ah", "returned_ah", "recovered_ah_pct", "drawn_wh", "returned_wh", "recovered_wh_pct")


class TrueRide:
    """A simulated ride and its running integrals, shape (4, n + 1): drawn Ah, returned Ah, drawn Wh, returned Wh."""

    def __init__(self, seed: int, *, short: bool = False, scenario: Scenario | None = None) -> None:
        rng = np.random.default_rng([seed, 1])
        hills, back = (1, False) if short else (None, None)
        self.seed = seed
        self.sim: Simulated = simulate(scenario or random_scenario(rng, n_hills=hills, there_and_back=back))
        hours = self.sim.step_s / 3600
        parts = [np.maximum(sign * flow, 0) for flow in (self.sim.current_a, self.sim.power_w) for sign in (1, -1)]
        self._running = np.stack([np.concatenate(([0.0], np.cumsum(part * hours))) for part in parts])
        self._edges_s = self.sim.step_s * np.arange(len(self.sim.time_s) + 1)

    @property
    def duration_s(self) -> float:
        """The whole simulation [s]."""
        return float(self._edges_s[-1])

    @property
    def standby_a(self) -> float:
        """What controller and display draw all the time [A]."""
        return self.sim.scenario.pack.standby_a

    def flows(self, start_s: float, end_s: float) -> np.ndarray:
        """Drawn Ah, returned Ah, drawn Wh, returned Wh between two moments of the simulation."""
        bounds = [np.interp([start_s, end_s], self._edges_s, row) for row in self._running]
        return np.array([end - start for start, end in bounds])

    def truth(self, start_s: float, end_s: float) -> dict[str, float]:
        """The `QUANTITIES` between two moments of the simulation."""
        drawn_ah, returned_ah, drawn_wh, returned_wh = self.flows(start_s, end_s).tolist()
        shares = 100 * returned_ah / drawn_ah, 100 * returned_wh / drawn_wh
        return dict(zip(QUANTITIES, (drawn_ah, returned_ah, shares[0], drawn_wh, returned_wh, shares[1]), strict=True))


@dataclass(frozen=True)
class Case:
    """An electrical logger: what its maker states, and how it logs."""

    step_s: float = 0.2
    averaged: bool = False
    zero_limit_a: float = 0.1
    gain_limit_pct: float = 1.0
    charge_gain_limit_pct: float = 0.2
    voltage_gain_limit_pct: float = 0.5
    standby_known: bool = True
    noise_a: float = 0.05
    resolution_a: float = 0.01
    lost_ratio: float = 0.0

    def bike(self, ride: TrueRide) -> Bike:
        """The bike file that its owner would write."""
        return Bike(
            sensor=SensorSection(
                current_zero_limit_a=self.zero_limit_a,
                current_gain_limit_pct=self.gain_limit_pct,
                charge_gain_limit_pct=self.charge_gain_limit_pct,
                voltage_gain_limit_pct=self.voltage_gain_limit_pct,
                standby_draw_a=ride.standby_a if self.standby_known else None,
                averaged=self.averaged,
            )
        )


def random_case(rng: np.random.Generator) -> Case:
    """A logger by chance from the grid of the coverage study."""
    return Case(
        step_s=float(rng.choice([0.1, 0.2, 0.5, 1.0])),
        averaged=bool(rng.random() < 0.4),
        zero_limit_a=float(rng.choice([0.05, 0.1, 0.2])),
        gain_limit_pct=float(rng.choice([0.5, 1.0, 2.0])),
        charge_gain_limit_pct=float(rng.choice([0.1, 0.2, 0.5])),
        standby_known=bool(rng.random() < 0.5),
        noise_a=float(rng.choice([0.0, 0.05, 0.1, 0.2])),
        resolution_a=float(rng.choice([0.0, 0.01, 0.05, 0.1])),
        lost_ratio=float(rng.choice([0.0, 0.02, 0.05])),
    )


@dataclass(frozen=True)
class Log:
    """An electrical log and the moments of the simulation that it covers [s]."""

    frame: pd.DataFrame
    first_s: float
    last_s: float


def random_log(ride: TrueRide, case: Case, rng: np.random.Generator) -> Log:
    """The log of one ride by one sensor whose errors lie anywhere within the stated limits."""
    phase_s = ride.sim.step_s * int(rng.integers(0, round(case.step_s / ride.sim.step_s)))
    first_s = phase_s + (case.step_s if case.averaged else 0.0)  # the first mean is whole
    off = rng.uniform(-1, 1, 4)
    sensor = Sensor(
        step_s=case.step_s,
        first_s=first_s,
        averaged=case.averaged,
        current_resolution_a=case.resolution_a,
        current_zero_a=case.zero_limit_a * off[0],
        current_gain=1 + case.gain_limit_pct / 100 * off[1],
        charge_gain=1 + case.charge_gain_limit_pct / 100 * off[2],
        voltage_gain=1 + case.voltage_gain_limit_pct / 100 * off[3],
        current_noise_a=case.noise_a,
        seed=int(rng.integers(2**31)),
    )
    frame = electrical_log(ride.sim, sensor)
    last_s = first_s + float(frame["time_s"].iloc[-1])
    return Log(with_dropouts(frame, case.lost_ratio, rng), first_s, last_s)


def electrical_recording(log: Log, *, clock: Clock = "utc") -> Recording:
    """The log as an importer would hand it on, with the wheel's speed; its clock starts at `START`."""
    return _recording("controller.csv", log.frame, ("current_a", "voltage_v", "speed_mps"), START, clock)


@dataclass(frozen=True)
class TrackCase:
    """A satellite track: its clock against the electrical one, when it runs, and how good it is."""

    offset_s: float
    drift_ppm: float
    from_s: float
    until_s: float
    position_error_m: float
    altitude_error_m: float
    altitude_resolution_m: float
    lost_ratio: float
    with_speed: bool
    electrical_clock: Clock
    altitude_memory_s: float = 300.0

    def true_offset_s(self, first_s: float) -> float:
        """What the track's clock shows less what the electrical log's shows, at the latter's first sample [s].

        Where the log keeps no wall time each counts from its own first sample; the track's is at ``first_s`` on the
        log's seconds.
        """
        return self.offset_s if self.electrical_clock == "utc" else -first_s * (1 + 1e-6 * self.drift_ppm)


def random_track_case(rng: np.random.Generator, duration_s: float) -> TrackCase:
    """A track by chance: clocks a few seconds, two minutes or whole hours apart; half of them run only in part."""
    far = rng.random()
    offset_s = rng.uniform(-5, 5) if far < 0.5 else rng.uniform(-120, 120)
    if far > 0.75:
        offset_s = 3600.0 * int(rng.integers(-11, 13)) + rng.uniform(-5, 5)
    partly = rng.random() < 0.5
    return TrackCase(
        offset_s=float(offset_s),
        drift_ppm=float(rng.uniform(-60, 60)),
        from_s=float(rng.uniform(0, 0.25 * duration_s)) if partly else 0.0,
        until_s=float(rng.uniform(0.75, 1.0) * duration_s) if partly else duration_s,
        position_error_m=float(rng.uniform(0.5, 3.0)),
        altitude_error_m=float(rng.uniform(0.2, 1.5)),
        altitude_resolution_m=float(rng.choice([0.1, 0.2, 1.0])),
        lost_ratio=float(rng.choice([0.0, 0.02, 0.05])),
        with_speed=bool(rng.random() < 0.5),
        electrical_clock="utc" if far > 0.75 or rng.random() < 0.7 else "elapsed",
    )


def random_track(ride: TrueRide, case: TrackCase, log: Log, rng: np.random.Generator) -> tuple[Recording, np.ndarray]:
    """The track of a ride, and the true moments of its points on the electrical log's seconds, shape (n,) [s]."""
    tracker = Tracker(
        clock=TrackClock(case.offset_s, case.drift_ppm, log.first_s),
        from_s=case.from_s,
        until_s=case.until_s,
        position_error_m=case.position_error_m,
        altitude_error_m=case.altitude_error_m,
        altitude_memory_s=case.altitude_memory_s,
        altitude_resolution_m=case.altitude_resolution_m,
        altitude_zero_m=float(rng.uniform(-10, 10)),
        seed=int(rng.integers(2**31)),
    )
    track = with_dropouts(track_log(ride.sim, tracker), case.lost_ratio, rng, mean_s=15.0)
    track = track.assign(
        latitude_deg=rounded(track["latitude_deg"].to_numpy(), 1e-6),
        longitude_deg=rounded(track["longitude_deg"].to_numpy(), 1e-6),
    )
    names = ("latitude_deg", "longitude_deg", "altitude_m", *(("speed_mps",) if case.with_speed else ()))
    return _recording("track.gpx", track, names, START, "utc"), track["moment_s"].to_numpy() - log.first_s


def _recording(name: str, frame: pd.DataFrame, channels: tuple[str, ...], zero: datetime, clock: Clock) -> Recording:
    """A recording of some channels; ``time_s`` of the frame counts from ``zero`` on the recording's own clock."""
    first_s = float(frame["time_s"].iloc[0])
    index = pd.Index(frame["time_s"].to_numpy() - first_s, name="time_s")
    columns = pd.DataFrame({channel: frame[channel].to_numpy() for channel in channels}, index=index)
    start = zero + timedelta(seconds=first_s) if clock != "elapsed" else None
    return Recording(name, f"bytes of {name}", name.rsplit(".", 1)[-1], columns, start, clock)
