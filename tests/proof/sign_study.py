"""How often the sign of a current is found: rides whose sign is known, read either way by loggers that hold values.

Rides are simulated by chance, and descents besides, on which more comes back than is drawn: there amounts mislead.
"""

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

import numpy as np
import pandas as pd

from ridelog.importers.delimited.read import read_log
from ridelog.timeline.ride import join_recordings
from sample_rides.loggers import Sensor, electrical_log
from sample_rides.route import Route, Stop, Stretch
from sample_rides.scenarios import random_scenario
from sample_rides.simulation import Scenario, Simulated, simulate

Outcome = Literal["right", "right, doubted", "asked", "wrong, doubted", "wrong"]


@dataclass(frozen=True)
class SignLogger:
    """What a logger writes beside the current, and for how long it holds it; ``None`` for what it does not log [s]."""

    name: str
    volts_held_s: float | None = None
    speed_held_s: float | None = None
    with_charge: bool = False
    with_heights: bool = False


LOGGERS = (
    SignLogger("amperes alone"),
    SignLogger("volts", volts_held_s=0),
    SignLogger("volts held 3 s", volts_held_s=3),
    SignLogger("volts held 10 s", volts_held_s=10),
    SignLogger("speed", speed_held_s=0),
    SignLogger("speed held 3 s", speed_held_s=3),
    SignLogger("speed held 10 s", speed_held_s=10),
    SignLogger("speed held 3 s, heights", speed_held_s=3, with_heights=True),
    SignLogger("volts and speed held 3 s", volts_held_s=3, speed_held_s=3),
    SignLogger("volts and speed held 10 s", volts_held_s=10, speed_held_s=10),
    SignLogger("state of charge", with_charge=True),
)


def random_ride(seed: int) -> Simulated:
    """A ride by chance."""
    return simulate(random_scenario(np.random.default_rng([seed, 31])))


def random_descent(seed: int) -> Simulated:
    """A ride by chance on a road that falls all the way, with a stop every few hundred metres."""
    rng = np.random.default_rng([seed, 32])
    falls = [
        Stretch(float(rng.integers(300, 900)), -float(rng.uniform(3, 8)), float(rng.uniform(-60, 60))) for _ in range(4)
    ]
    level = [Stretch(float(rng.integers(50, 300)), 0.0, 0.0) for _ in falls]
    stretches = tuple(piece for pair in zip(falls, level, strict=True) for piece in pair)
    route = Route(stretches, start_height_m=600.0)
    stops = tuple(Stop(float(at_m), wait_s=10.0) for at_m in range(400, int(route.length_m) - 200, 500))
    like = random_scenario(rng)
    return simulate(
        Scenario(
            Route(stretches, stops=stops, start_height_m=600.0),
            machine=like.machine,
            motor=like.motor,
            pack=like.pack,
            rider=like.rider,
            seed=like.seed,
        )
    )


def outcomes(sims: Iterable[Simulated], loggers: Iterable[SignLogger] = LOGGERS) -> dict[str, Counter[Outcome]]:
    """What was made of each ride's sign by each logger, read with either sign."""
    counts: dict[str, Counter[Outcome]] = {logger.name: Counter() for logger in loggers}
    for number, sim in enumerate(sims):
        rng = np.random.default_rng([number, 33])
        sensor = Sensor(
            step_s=float(rng.choice([0.2, 0.5, 1.0, 2.0])),
            averaged=bool(rng.random() < 0.4),
            current_zero_a=float(rng.uniform(-0.2, 0.2)),
            current_noise_a=float(rng.choice([0.0, 0.05, 0.2])),
            current_resolution_a=float(rng.choice([0.01, 0.1])),
            voltage_resolution_v=float(rng.choice([0.01, 0.1])),
            seed=number,
        )
        log = electrical_log(sim, sensor)
        height_m = np.round(np.interp(log["time_s"], sim.time_s, sim.height_m))
        for logger in loggers:
            columns = _columns(log, height_m, logger, rng)
            for way in (1, -1):
                counts[logger.name][_outcome(columns, log["current_a"].to_numpy(), way)] += 1
    return counts


def _columns(
    log: pd.DataFrame, height_m: np.ndarray, logger: SignLogger, rng: np.random.Generator
) -> dict[str, np.ndarray]:
    time_s = log["time_s"].to_numpy()
    columns = {"time (s)": time_s}
    for header, name, held_s, factor in (
        ("voltage (V)", "voltage_v", logger.volts_held_s, 1.0),
        ("speed (km/h)", "speed_mps", logger.speed_held_s, 3.6),
    ):
        if held_s is not None:
            columns[header] = factor * _held(log[name].to_numpy(), time_s, held_s, float(rng.uniform(0, held_s + 0.01)))
    if logger.with_charge:
        columns["SoC (%)"] = log["state_of_charge_pct"].to_numpy()
    if logger.with_heights:
        columns["altitude (m)"] = height_m
    return columns


def _held(values: np.ndarray, time_s: np.ndarray, held_s: float, phase_s: float) -> np.ndarray:
    """Values that are read anew every so often, and stand in between."""
    if not held_s:
        return values
    turn = np.floor((time_s + phase_s) / held_s)
    anew_mask = np.append(True, np.diff(turn) > 0)
    result: np.ndarray = values[np.maximum.accumulate(np.where(anew_mask, np.arange(len(values)), 0))]
    return result


def _outcome(columns: dict[str, np.ndarray], current_a: np.ndarray, way: int) -> Outcome:
    """What is made of the sign of a log whose current is turned (``way`` -1) or not."""
    table = pd.DataFrame({**columns, "current (A)": way * current_a})
    text = table.to_csv(index=False, float_format="%.6g")
    ride = join_recordings([read_log(text.encode(), "log.csv", "0" * 64).required()])
    severities = {finding.code: finding.severity for finding in ride.findings}
    if "sign-open" in severities:
        return "asked"
    is_right = float(np.nansum(ride.series["current_a"].to_numpy() * current_a)) > 0
    if severities.get("sign-assumed") == "warning":
        return "right, doubted" if is_right else "wrong, doubted"
    return "right" if is_right else "wrong"
