"""Rides whose owner states mass, drag area and rolling within limits, as logged, and their true energies by line.

What the studies of the ledger and of what was captured have in common.
"""

from dataclasses import dataclass

import numpy as np

from ridelog.recording import Recording
from ridelog.settings.bike import BikeSection, RoadSection
from sample_rides.machine import GRAVITY_MPS2, Machine
from sample_rides.simulation import Simulated
from tests.proof.bench import (
    Case,
    Log,
    TrackCase,
    TrueRide,
    electrical_recording,
    random_case,
    random_log,
    random_track,
)

LIMITS = {
    "total_mass_kg": 3.0,
    "cda_m2": 0.08,
    "crr": 0.0015,
}  # half-widths that an owner who measured them would state


@dataclass(frozen=True)
class Logged:
    """A ride as one logger and one track recorded it."""

    case: Case
    log: Log
    electrical: Recording
    track: Recording


def logged(ride: TrueRide, rng: np.random.Generator, *, rough: bool = False) -> Logged:
    """One ride with one logger and one track of the whole of it by chance.

    Parameters
    ----------
    ride : to be logged
    rng : the source of chance
    rough : heights by satellites alone, which err by metres, slowly or quickly, instead of a good barometer's

    Returns
    -------
    Logger, log and both recordings.
    """
    case = random_case(rng)
    log = random_log(ride, case, rng)
    track_case = TrackCase(
        offset_s=float(rng.uniform(-20, 20)), drift_ppm=float(rng.uniform(-40, 40)), from_s=0.0,
        until_s=ride.duration_s, position_error_m=float(rng.uniform(0.5, 3.0)),
        altitude_error_m=float(rng.uniform(1.5, 4.0) if rough else rng.uniform(0.2, 1.5)),
        altitude_resolution_m=float(rng.choice([0.1, 0.2, 1.0])),
        altitude_memory_s=float(rng.uniform(60, 600)) if rough else 300.0,
        lost_ratio=0.0, with_speed=bool(rng.random() < 0.5), electrical_clock="utc",
    )  # fmt: skip
    track, _ = random_track(ride, track_case, log, rng)
    return Logged(case, log, electrical_recording(log), track)


def stated_mass(machine: Machine, off: float) -> BikeSection:
    """The mass that an owner states who is off by this share of his limit."""
    return BikeSection(
        total_mass_kg=machine.mass_kg + LIMITS["total_mass_kg"] * off, total_mass_limit_kg=LIMITS["total_mass_kg"]
    )


def stated_road(machine: Machine, cda_off: float, crr_off: float) -> RoadSection:
    """Drag area and rolling of an owner who is off by these shares of his limits."""
    return RoadSection(
        cda_m2=machine.cda_m2 + LIMITS["cda_m2"] * cda_off,
        cda_limit_m2=LIMITS["cda_m2"],
        crr=machine.crr + LIMITS["crr"] * crr_off,
        crr_limit=LIMITS["crr"],
    )


@dataclass(frozen=True)
class TrueLedger:
    """Running sums of the simulation at the edges of its steps, by line [Wh]."""

    edges_s: np.ndarray
    running: dict[str, np.ndarray]

    def between(self, start_s: float, end_s: float) -> dict[str, float]:
        """Every line between two moments of the simulation."""
        return {
            name: float(np.diff(np.interp([start_s, end_s], self.edges_s, r))[0]) for name, r in self.running.items()
        }


def true_ledger(ride: Simulated) -> TrueLedger:
    """The energy of a ride by where it came from and went, from the fine steps."""
    machine, step = ride.scenario.machine, ride.step_s
    after_m = np.append(ride.distance_m[1:], ride.distance_m[-1])
    after_mps = np.append(ride.speed_mps[1:], ride.speed_mps[-1])
    after_h = np.append(ride.height_m[1:], ride.height_m[-1])
    rolled_m, middle_mps = after_m - ride.distance_m, (ride.speed_mps + after_mps) / 2
    sine = ride.road.sine((ride.distance_m + after_m) / 2)
    joules = {
        "drawn_wh": np.maximum(ride.power_w, 0) * step,
        "returned_wh": np.maximum(-ride.power_w, 0) * step,
        "rider_wh": ride.rider_n * rolled_m,
        "kinetic_wh": machine.effective_mass_kg * (after_mps**2 - ride.speed_mps**2) / 2,
        "potential_wh": machine.mass_kg * GRAVITY_MPS2 * (after_h - ride.height_m),
        "air_wh": ride.air_n(middle_mps) * rolled_m,
        "rolling_wh": machine.rolling_n(sine) * rolled_m,
        "drag_wh": machine.motor_drag_n * rolled_m,
        "motor_brake_wh": np.maximum(-ride.motor_n, 0) * rolled_m,
        "friction_wh": ride.friction_n * rolled_m,
    }  # fmt: skip
    running = {name: np.concatenate(([0.0], np.cumsum(part))) / 3600 for name, part in joules.items()}
    return TrueLedger(step * np.arange(len(ride.time_s) + 1), running)


def offered_wh(true: dict[str, float]) -> float:
    """What braking had available at the wheel, of the lines of `TrueLedger.between` [Wh]."""
    return -sum(true[name] for name in ("kinetic_wh", "potential_wh", "air_wh", "rolling_wh"))


def wide_span(event_s: tuple[float, float], frame_s: np.ndarray, step_s: float) -> tuple[float, float]:
    """From the sample before an event to the one after it, which is what events count; not across a gap."""
    first_s, last_s = event_s
    before = frame_s[max(int(np.searchsorted(frame_s, first_s - 1e-6)) - 1, 0)]
    after = frame_s[min(int(np.searchsorted(frame_s, last_s + 1e-6)), len(frame_s) - 1)]
    start_s = before if first_s - before < 1.5 * step_s else first_s
    return float(start_s), float(after if after - last_s < 1.5 * step_s else last_s)
