"""Made-up frames of many rides, with a truth: seasons, riders' habits, skewed spreads, odd rides, gaps and faults.

A world of its own, which shares no code with what judges it: the captured share of a ride is a bike's own level, times
the cold's, times a skewed spread; the recovered share follows from it and from how hilly the ride was; the current
zero is a constant with noise, the pack's resistance falls with its temperature, the wheel's scale has the noise of
positions.
"""

from dataclasses import dataclass, field
from typing import Any

import numpy as np
import pandas as pd

Columns = dict[str, Any]
Floats = np.ndarray[Any, Any]
START = pd.Timestamp("2025-03-01 08:00", tz="UTC")
ROADS_DEG = ((41.20, -8.30), (41.22, -8.31), (41.24, -8.28), (41.25, -8.33), (41.21, -8.35), (41.27, -8.30))
FAULTS = ("regen-lost", "regen-fading", "zero-drifting", "resistance-rising", "wheel-size-off")


@dataclass(frozen=True)
class Fault:
    """A planted fault: from the ride ``onset`` on, gradually or at once."""

    code: str
    onset: int
    gradual: bool = False


@dataclass
class Fleet:
    """Frames, and what was planted by bike."""

    answers: pd.DataFrame
    hills: pd.DataFrame
    findings: pd.DataFrame
    faults: dict[str, Fault] = field(default_factory=dict)


def interval(columns: Columns, name: str, value: np.ndarray, u: np.ndarray | float) -> None:
    columns[name] = value
    columns[f"{name}_low95"] = value - 1.96 * np.asarray(u)
    columns[f"{name}_high95"] = value + 1.96 * np.asarray(u)


def bike_rides(
    name: str, n: int, rng: np.random.Generator, fault: Fault | None = None, positions: bool = True
) -> tuple[pd.DataFrame, pd.DataFrame]:
    """The rows of one bike: rides, passes, and the bike's own truth."""
    day = np.sort(rng.choice(400, n, replace=False)) + rng.uniform(0, 0.4, n)
    since = _since(n, fault)
    air_c = 12 - 9 * np.cos(2 * np.pi * (day + 60 - 20) / 365) + rng.normal(0, 3, n)
    level = rng.uniform(25, 60)
    habit = _habit(n, rng, 0.1)
    spread = np.exp(rng.normal(-0.02, 0.15 if rng.random() < 0.5 else 0.08, n) + habit)
    captured = level * (1 + 0.006 * (air_c - 12)) * spread
    captured[rng.random(n) < 0.04] *= rng.uniform(0.2, 0.6)
    captured = np.minimum(captured, 95)
    hilly = rng.gamma(6, 1 / 6, n)
    if fault is not None and fault.code == "regen-fading":
        captured = captured * np.maximum(1 - (0.06 * since if fault.gradual else 0.45 * (since > 0)), 0.15)
    lost = (since > 0) & (fault is not None and fault.code == "regen-lost")
    captured = np.where(lost, 0, captured)
    recovered = captured * 0.12 * hilly
    unknown = lost | (rng.random(n) < 0.03)
    rows: Columns = {
        "key": [f"{name}-{at:03d}" for at in range(n)],
        "bike": name,
        "month": [(START + pd.Timedelta(days=each)).strftime("%Y-%m") for each in day],
        "ride_start": [(START + pd.Timedelta(days=each)).floor("s") for each in day],
        "can_show_return": ~lost,
        "log_layout": "layout-1",
        "air_temperature_c": air_c,
        "battery_temperature_c": np.nan,
        "ride_descent_m": 60 * hilly,
        "ride_moving_s": rng.uniform(1100, 1300, n),
        "energy_drawn_wh": rng.uniform(50, 90, n),
        "u_zero_pct": 0.05,
        "u_charge_gain_pct": 0.001 * recovered,
    }
    interval(rows, "ride_distance_m", rng.uniform(7000, 9000, n), 40)
    interval(rows, "energy_recovered_pct", np.where(unknown, np.nan, recovered), 0.07)
    interval(rows, "charge_recovered_pct", np.where(unknown, np.nan, recovered), 0.07)
    interval(rows, "braking_captured_pct", np.where(unknown, np.nan, captured), 0.06 * captured)
    interval(rows, "braking_available_wh", 12 * hilly, 1.0)
    interval(rows, "energy_net_wh_per_km", 9 * (1 - 0.01 * (air_c - 12)) * np.exp(rng.normal(0, 0.12, n)), 0.2)
    _pack_and_wheel(rows, air_c, since, fault, rng, positions)
    passes = _passes(rows, captured, unknown, rng) if positions else []
    return pd.DataFrame(rows), pd.DataFrame(passes)


def _since(n: int, fault: Fault | None) -> np.ndarray:
    """Rides since the onset, the first counting 1."""
    return np.zeros(n) if fault is None else np.maximum(np.arange(n) - fault.onset + 1.0, 0)


def _habit(n: int, rng: np.random.Generator, sd: float) -> np.ndarray:
    """What a rider keeps from ride to ride: an AR(1) series with a correlation of 0.2."""
    noise, kept = rng.normal(0, sd, n), np.zeros(n)
    for at in range(n):
        kept[at] = noise[at] * 0.98 + (0.2 * kept[at - 1] if at else 0)
    return kept


def _pack_and_wheel(
    rows: Columns, air_c: Floats, since: Floats, fault: Fault | None, rng: np.random.Generator, positions: bool
) -> None:
    n = len(air_c)
    code, gradual = ("", False) if fault is None else (fault.code, fault.gradual)
    zero = rng.uniform(-0.03, 0.03) + rng.normal(0, 0.008, n) + 0.0005 * (air_c - 12)
    if code == "zero-drifting":
        zero = zero + (0.02 * since if gradual else 0.12 * (since > 0))
    interval(rows, "current_zero_a", np.where(rng.random(n) < 0.1, np.nan, zero), rng.uniform(0.003, 0.01, n))
    resistance = rng.uniform(0.08, 0.2) * np.exp(-0.012 * (air_c - 12) + rng.normal(0, 0.03, n))
    if code == "resistance-rising":
        resistance = resistance * (1 + (0.03 * since if gradual else 0.4 * (since > 0)))
    interval(rows, "pack_resistance_ohm", resistance, 0.01 * resistance)
    ratio = 1 + rng.normal(0, 0.003) + rng.normal(0, 0.003, n)
    if code == "wheel-size-off":
        ratio = ratio * (1 + 0.05 * (since > 0))
    interval(rows, "wheel_scale_ratio", ratio if positions else np.full(n, np.nan), 0.003)


def _passes(rows: Columns, captured: Floats, unknown: Floats, rng: np.random.Generator) -> list[Columns]:
    passes = []
    for at, key in enumerate(rows["key"]):
        for number, road in enumerate(rng.choice(len(ROADS_DEG), rng.integers(0, 4), replace=False), start=1):
            latitude, longitude = ROADS_DEG[road]
            along = np.arange(0, 500 + 40 * road, 20.0)[rng.integers(0, 3) :]
            east = along + rng.normal(0, 3, len(along)) + rng.normal(0, 3)
            north = 60 * np.sin(along / 150) + rng.normal(0, 3, len(along))
            speed = rng.uniform(6, 10)
            share = captured[at] * (0.8 + 0.08 * road) * (1 - 0.02 * (speed - 8)) * np.exp(rng.normal(0, 0.1))
            passes.append(
                {
                    "key": key, "bike": rows["bike"], "month": rows["month"][at], "ride_start": rows["ride_start"][at],
                    "id": f"{number}-down", "number": number, "direction": "down", "start_s": 100.0 * number,
                    "end_s": 100.0 * number + len(along) * 20 / speed, "length_m": len(along) * 20.0, "height_m": 20.0,
                    "captured_pct": np.nan if unknown[at] else share, "captured_pct_low95": share * 0.88,
                    "captured_pct_high95": share * 1.12, "returned_wh": share / 10, "drawn_wh": 0.0,
                    "line_latitude_deg": latitude + north / 111_195,
                    "line_longitude_deg": longitude + east / 111_195 / np.cos(np.radians(latitude)),
                }
            )  # fmt: skip
    return passes


NO_FINDINGS = pd.DataFrame(
    {name: pd.Series(dtype=object) for name in ("key", "bike", "ride_start", "code", "severity")}
)


def fleet(
    seed: int, n_bikes: int = 60, faults: dict[int, Fault] | None = None, rides: tuple[int, int] = (6, 41)
) -> Fleet:
    """A made-up fleet; ``faults`` by the number of the bike."""
    rng = np.random.default_rng(seed)
    answers, hills, planted = [], [], {}
    for number in range(n_bikes):
        fault = (faults or {}).get(number)
        n = int(rng.integers(*rides)) if fault is None else int(rng.integers(max(rides[0], fault.onset + 12), 45))
        name = f"bike {number:02d}"
        own, passes = bike_rides(name, n, rng, fault, positions=bool(rng.random() < 0.7) or fault is not None)
        answers.append(own)
        hills.append(passes)
        if fault is not None:
            planted[name] = fault
    return Fleet(pd.concat(answers, ignore_index=True), pd.concat(hills, ignore_index=True), NO_FINDINGS, planted)
