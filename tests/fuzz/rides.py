"""Odd rides that can be: a bike that never brakes, a sensor that sticks, heights of pure noise."""

from collections.abc import Callable

import numpy as np

Channels = dict[str, np.ndarray]
Odd = Callable[[np.random.Generator, Channels], None]
COLUMNS = {
    "time_s": "time [s]",
    "current_a": "battery current [A]",
    "voltage_v": "battery voltage [V]",
    "speed_kmh": "speed [km/h]",
    "altitude_m": "altitude [m]",
    "soc_pct": "state of charge [%]",
    "temperature_c": "battery temperature [°C]",
    "latitude_deg": "latitude [deg]",
    "longitude_deg": "longitude [deg]",
    "cell_v": "cell 1 voltage [V]",
    "distance_m": "distance [m]",
}


def plain_ride(rng: np.random.Generator) -> Channels:
    """A ride of some minutes over hills, its current following from its road and its speed."""
    n = int(rng.choice([2, 3, 8, 40, 120, 600, 1500], p=[0.03, 0.03, 0.06, 0.13, 0.25, 0.35, 0.15]))
    step_s = float(rng.choice([0.2, 1.0, 1.0, 1.0, 2.0, 6.0]))
    time_s = np.arange(n) * step_s
    speed = np.clip(6 + 5 * np.sin(time_s / rng.uniform(15, 60)) + rng.normal(0, 0.05, n), 0, None)
    way_m = np.cumsum(speed) * step_s
    height = 80 + rng.uniform(0, 40) * np.sin(way_m / rng.uniform(150, 700)) + rng.normal(0, 0.1, n)
    slope = np.gradient(height, way_m + 0.01 * time_s) if n > 2 else np.zeros(n)
    force = 100 * (np.gradient(speed, step_s) if n > 1 else 0) + 1000 * np.clip(slope, -0.2, 0.2) + 8 + 0.35 * speed**2
    power = np.where(force > 0, force * speed / 0.8, 0.5 * force * speed)
    current = np.clip(power / 48, -20, 30) + 0.06
    voltage = 50 - 0.1 * current - time_s / 5000
    bearing = rng.uniform(0, 6)
    return {
        "time_s": time_s,
        "current_a": current,
        "voltage_v": voltage,
        "speed_kmh": 3.6 * speed,
        "altitude_m": height,
        "soc_pct": 80 - time_s / 300,
        "temperature_c": 15 + time_s / 900,
        "distance_m": way_m,
        "cell_v": voltage / 13,
        "latitude_deg": 46.5 + np.cos(bearing) * way_m / 111_195,
        "longitude_deg": -32 + np.sin(bearing) * way_m / 76_500,
    }


def _stuck(rng: np.random.Generator, ride: Channels) -> None:
    name = str(rng.choice(list(ride)[1:]))
    at = int(rng.integers(len(ride["time_s"])))
    ride[name][at:] = ride[name][at]


def _noise(rng: np.random.Generator, ride: Channels) -> None:
    name = str(rng.choice(list(ride)[1:]))
    ride[name] += rng.choice([0.5, 5, 100, 1e4]) * rng.uniform(-1, 1, len(ride[name]))


def _rough_heights(rng: np.random.Generator, ride: Channels) -> None:
    ride["altitude_m"] += rng.choice([1, 20, 100, 500]) * rng.uniform(-1, 1, len(ride["altitude_m"]))


def _coarse(rng: np.random.Generator, ride: Channels) -> None:
    name, unit = str(rng.choice(list(ride)[1:])), float(rng.choice([0.5, 1, 10, 100]))
    ride[name] = np.round(ride[name] / unit) * unit


def _gap(rng: np.random.Generator, ride: Channels) -> None:
    at = int(rng.integers(len(ride["time_s"])))
    ride["time_s"][at:] += rng.choice([3, 40, 900, 7200, 82_800, 86_400 * 30])
    if rng.random() < 0.5:
        ride["distance_m"][at:] += rng.choice([50, 5000, 2e5, 1e7])


def _spike(rng: np.random.Generator, ride: Channels) -> None:
    name, at = str(rng.choice(list(ride)[1:])), int(rng.integers(len(ride["time_s"])))
    ride[name][at] *= rng.choice([-1, 3, 10, 1000])


def _blanks(rng: np.random.Generator, ride: Channels) -> None:
    name = str(rng.choice(list(ride)[1:]))
    ride[name][rng.random(len(ride[name])) < rng.choice([0.02, 0.3, 0.8, 1.0])] = np.nan


def _constant(rng: np.random.Generator, ride: Channels) -> None:
    ride[str(rng.choice(list(ride)[1:]))][:] = rng.choice([0, 0, 1, 5, 48, -3])


def _one_way(rng: np.random.Generator, ride: Channels) -> None:
    ride["current_a"] = rng.choice([1, -1]) * np.abs(ride["current_a"])


def _no_regen(_rng: np.random.Generator, ride: Channels) -> None:
    ride["current_a"] = np.clip(ride["current_a"], 0, None)


def _turned(_rng: np.random.Generator, ride: Channels) -> None:
    ride["current_a"] *= -1


def _standing(rng: np.random.Generator, ride: Channels) -> None:
    at = int(rng.integers(len(ride["time_s"])))
    for name in ("speed_kmh",):
        ride[name][at:] = 0
    for name in ("distance_m", "altitude_m", "latitude_deg", "longitude_deg"):
        ride[name][at:] = ride[name][at]


def _charging(rng: np.random.Generator, ride: Channels) -> None:
    at = int(rng.integers(len(ride["time_s"])))
    ride["current_a"][at:] = -2
    ride["speed_kmh"][at:] = 0


def _scaled(rng: np.random.Generator, ride: Channels) -> None:
    ride[str(rng.choice(list(ride)[1:]))] *= rng.choice([0.001, 0.1, 10, 1000])


def _held(rng: np.random.Generator, ride: Channels) -> None:
    name, every = str(rng.choice(list(ride)[1:])), int(rng.choice([2, 5, 30]))
    ride[name] = ride[name][np.arange(len(ride[name])) // every * every]


ODDITIES: tuple[Odd, ...] = (
    _stuck,
    _noise,
    _rough_heights,
    _coarse,
    _gap,
    _spike,
    _blanks,
    _constant,
    _one_way,
    _no_regen,
    _turned,
    _standing,
    _charging,
    _scaled,
    _held,
)


def ride_by_chance(rng: np.random.Generator) -> bytes:
    """The bytes of a log of an odd ride: some of its channels, and up to three oddities."""
    ride = plain_ride(rng)
    for odd in rng.choice(len(ODDITIES), size=int(rng.integers(0, 4)), replace=False):
        ODDITIES[int(odd)](rng, ride)
    names = [
        "time_s",
        *(name for name in list(ride)[1:] if rng.random() < (0.9 if name in ("current_a", "speed_kmh") else 0.6)),
    ]
    decimals = [2, *(int(rng.choice([1, 2, 3, 6])) + 5 * name.endswith("_deg") for name in names[1:])]
    rows = zip(*(ride[name] for name in names), strict=True)
    lines = [
        ",".join("" if value != value else f"{value:.{places}f}" for value, places in zip(row, decimals, strict=True))
        for row in rows
    ]
    return ("\n".join([",".join(COLUMNS[name] for name in names), *lines]) + "\n").encode()
