"""The bench of measured truth: what imperfect loggers would have kept of trips that were measured at 10 Hz.

The truth is the straight lines between the 10 Hz samples of current and of power, split exactly where they cross zero.
Loggers read those lines at moments of their own, so that no rule of integration is favoured by the truth's own steps.
What the trip's sensor did to the current is part of the truth: the bench asks what a second, worse sensor says of it.
"""

import itertools
from collections.abc import Iterator
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
import pandas as pd

from ridelog.analysis.measure import measure
from ridelog.recording import Recording
from ridelog.settings.bike import Bike, SensorSection
from ridelog.timeline.ride import join_recordings
from ridelog.uncertain.quantity import Quantity
from sample_rides.loggers import rounded, with_dropouts
from tests.places import REFERENCE
from tests.proof.bench import QUANTITIES

SECONDS_PER_HOUR = 3600.0
SCALES = ("car", "bicycle")
STAMPS = ("v1", "v5", "v10")


@dataclass(frozen=True)
class Waveform:
    """A trip as straight lines between its samples, shape (n,); current and power are positive when drawn."""

    name: str
    time_s: np.ndarray
    current_a: np.ndarray
    voltage_v: np.ndarray
    speed_mps: np.ndarray

    @classmethod
    def of_trip(cls, path: Path, scale: str) -> "Waveform":
        """A trip of `car-10hz-*`; volts / 8 at either scale, at the bicycle's amperes / 8 and speed / 2 as well."""
        frame = pd.read_csv(path, sep=";")
        bicycle = scale == "bicycle"
        return cls(
            path.name.removeprefix("car-10hz-").removesuffix(".csv.gz"),
            frame["Time [s]"].to_numpy(dtype=float),
            -frame["Battery Current [A]"].to_numpy(dtype=float) / (8 if bicycle else 1),
            frame["Battery Voltage [V]"].to_numpy(dtype=float) / 8,
            frame["Velocity [km/h]"].to_numpy(dtype=float) / 3.6 / (2 if bicycle else 1),
        )

    def read(self, values: np.ndarray, at_s: np.ndarray) -> np.ndarray:
        """Values of one of the lines at some moments."""
        read: np.ndarray = np.interp(at_s, self.time_s, values)
        return read

    def means(self, values: np.ndarray, ends_s: np.ndarray, step_s: float) -> np.ndarray:
        """Exact means of one of the lines over the step before each moment."""
        both = np.unique(np.concatenate((self.time_s, ends_s, ends_s - step_s)))
        line = np.interp(both, self.time_s, values)
        area = np.concatenate(([0.0], np.cumsum((line[1:] + line[:-1]) / 2 * np.diff(both))))
        result: np.ndarray = (np.interp(ends_s, both, area) - np.interp(ends_s - step_s, both, area)) / step_s
        return result

    def truth(self, start_s: float, end_s: float) -> dict[str, float]:
        """The `QUANTITIES` between two moments."""
        inside = (self.time_s > start_s) & (self.time_s < end_s)
        moments = np.concatenate(([start_s], self.time_s[inside], [end_s]))
        flows = [
            split_lines(moments, self.read(flow, moments)) for flow in (self.current_a, self.current_a * self.voltage_v)
        ]
        (drawn_ah, returned_ah), (drawn_wh, returned_wh) = flows
        shares = 100 * returned_ah / drawn_ah, 100 * returned_wh / drawn_wh
        return dict(zip(QUANTITIES, (drawn_ah, returned_ah, shares[0], drawn_wh, returned_wh, shares[1]), strict=True))


def split_lines(time_s: np.ndarray, rate: np.ndarray) -> tuple[float, float]:
    """Positive and negative area under straight lines between samples, in hours, split where they cross zero."""
    before, after, step_h = rate[:-1], rate[1:], np.diff(time_s) / SECONDS_PER_HOUR
    turns = before * after < 0
    whole = (before + after) / 2 * step_h
    first = np.where(turns, before**2 / np.where(turns, before - after, 1.0) / 2 * step_h, whole)
    areas = np.concatenate((first, np.where(turns, whole - first, 0.0)))
    return float(areas[areas > 0].sum()), float(-areas[areas < 0].sum())


@dataclass(frozen=True)
class Faults:
    """What a sensor's maker states, as half-widths of rectangles, and its noise and last digit; all nothing at first.

    At the scale of a car every ampere is eight times as large.
    """

    zero_limit_a: float = 0.0
    gain_limit_pct: float = 0.0
    charge_gain_limit_pct: float = 0.0
    voltage_gain_limit_pct: float = 0.0
    noise_a: float = 0.0
    resolution_a: float = 0.0


NO_FAULTS = Faults()


def random_faults(rng: np.random.Generator, scale: str) -> Faults:
    """A sensor by chance from the grid of the coverage study."""
    amperes = 8.0 if scale == "car" else 1.0
    return Faults(
        zero_limit_a=amperes * float(rng.choice([0.05, 0.1, 0.2])),
        gain_limit_pct=float(rng.choice([0.5, 1.0, 2.0])),
        charge_gain_limit_pct=float(rng.choice([0.1, 0.2, 0.5])),
        voltage_gain_limit_pct=0.5,
        noise_a=amperes * float(rng.choice([0.0, 0.05, 0.1, 0.2])),
        resolution_a=amperes * float(rng.choice([0.0, 0.01, 0.05, 0.1])),
    )


@dataclass(frozen=True)
class Logger:
    """How a logger keeps what its sensor shows.

    Attributes
    ----------
    kind : its name in the table
    step_s : between rows [s]
    averaged : rows are means over the step before them
    stamps_s : moments of the rows instead of even steps, from 0, shape (n,)
    held_current_s, held_volts_s : so long a value stands before it is read anew [s]
    lost_ratio : share of the rows that are lost, in bursts of 2 s on average
    """

    kind: str
    step_s: float
    averaged: bool = False
    stamps_s: tuple[float, ...] | None = None
    held_current_s: float = 0.0
    held_volts_s: float = 0.0
    lost_ratio: float = 0.0


def regular_loggers() -> list[Logger]:
    """Every logger that needs no stamps of others."""
    every = {2: 0.2, 4: 0.4, 10: 1.0, 20: 2.0, 50: 5.0}
    return [
        *(Logger(f"every {n}th" if n > 2 else "every 2nd", step_s) for n, step_s in every.items()),
        *(Logger(f"means of {step_s:g} s", step_s, averaged=True) for step_s in (1.0, 2.0, 5.0)),
        Logger("0.2 s, volts held 3 s", 0.2, held_volts_s=3.0),
        Logger("0.2 s, amperes held 1 s", 0.2, held_current_s=1.0),
        Logger("0.2 s, 5 % lost", 0.2, lost_ratio=0.05),
        Logger("1 s, 5 % lost", 1.0, lost_ratio=0.05),
        Logger("means of 1 s, 5 % lost", 1.0, averaged=True, lost_ratio=0.05),
    ]


def stamped_loggers() -> list[Logger]:
    """Loggers that write at the stamps of real logs; at one log's, as it shows itself, values are held as well."""
    stamps = {name: irregular_stamps(name) for name in STAMPS}
    usual = {name: float(np.median(np.diff(at_s))) for name, at_s in stamps.items()}
    plain = [Logger(f"stamps of {name}", usual[name], stamps_s=tuple(at_s)) for name, at_s in stamps.items()]
    return [*plain, replace(plain[0], kind=f"{plain[0].kind}, held 1 s", held_current_s=1.0, held_volts_s=3.0)]


def irregular_stamps(name: str) -> np.ndarray:
    """The stamps of an irregular log, from 0 [s]."""
    stamps_s: np.ndarray = pd.read_csv(REFERENCE / "stamps" / f"{name}.csv")["time_s"].to_numpy(dtype=float)
    return stamps_s


def logged(trip: Waveform, logger: Logger, faults: Faults, rng: np.random.Generator) -> tuple[pd.DataFrame, float]:
    """Rows of a logger that begins by chance, and the moment of its first one [s]; all as its sensor reads it."""
    begin_s = float(rng.uniform(0, logger.step_s)) + (logger.step_s if logger.averaged else 0.0)
    at_s = _moments_s(trip, logger, begin_s, int(rng.integers(len(logger.stamps_s))) if logger.stamps_s else 0)
    off = rng.uniform(-1, 1, 4)
    sensor_a = np.where(trip.current_a < 0, 1 + faults.charge_gain_limit_pct / 100 * off[2], 1.0) * trip.current_a
    sensor_a = (1 + faults.gain_limit_pct / 100 * off[1]) * sensor_a + faults.zero_limit_a * off[0]
    sensor_v = (1 + faults.voltage_gain_limit_pct / 100 * off[3]) * trip.voltage_v
    channels = {}
    for name, values, held_s in (
        ("current_a", sensor_a, logger.held_current_s),
        ("voltage_v", sensor_v, logger.held_volts_s),
        ("speed_mps", trip.speed_mps, 0.0),
    ):
        read_s = _held_s(at_s, held_s, float(rng.uniform(0, held_s)) if held_s else 0.0)
        channels[name] = trip.means(values, at_s, logger.step_s) if logger.averaged else trip.read(values, read_s)
    noise_a = faults.noise_a * rng.standard_normal(len(at_s))
    channels["current_a"] = rounded(channels["current_a"] + noise_a, faults.resolution_a)
    frame = pd.DataFrame({"time_s": np.round(at_s - at_s[0], 6), **channels})
    return with_dropouts(frame, logger.lost_ratio, rng), float(at_s[0])


def _moments_s(trip: Waveform, logger: Logger, begin_s: float, place: int) -> np.ndarray:
    """The moments of the rows; stamps of others begin at one of them and go round."""
    last_s = float(trip.time_s[-1])
    if logger.stamps_s is None:
        return begin_s + logger.step_s * np.arange(int((last_s - begin_s) / logger.step_s - 1e-9) + 1)
    steps_s = np.roll(np.diff(np.array(logger.stamps_s)), -place)
    times = int(last_s / steps_s.sum()) + 1
    moments: np.ndarray = begin_s + np.concatenate(([0.0], np.cumsum(np.tile(steps_s, times))))
    return moments[moments <= last_s]


def _held_s(at_s: np.ndarray, held_s: float, phase_s: float) -> np.ndarray:
    """When the value of each row was read: anew at the first row after each ``held_s``."""
    if not held_s:
        return at_s
    first = np.searchsorted(at_s, held_s * np.floor((at_s - at_s[0] + phase_s) / held_s) + at_s[0] - phase_s - 1e-9)
    result: np.ndarray = at_s[first]
    return result


@dataclass(frozen=True)
class Said:
    """One number as told, its bounds and the truth; bounds are ``None`` where no interval was told."""

    trip: str
    scale: str
    kind: str
    faulty: bool
    name: str
    value: float | None
    low: float | None
    high: float | None
    truth: float

    @property
    def covered(self) -> bool:
        """Whether the interval holds the truth; a number without one holds nothing."""
        return self.low is not None and self.high is not None and self.low <= self.truth <= self.high

    @property
    def width_pct(self) -> float:
        """Of the interval, relative to the truth [%]."""
        return 100 * (self.high - self.low) / self.truth if self.low is not None and self.high is not None else np.nan

    @property
    def error_pct(self) -> float:
        """Of the value, relative to the truth [%]."""
        return 100 * (self.value / self.truth - 1) if self.value is not None else np.nan


def told(trip: Waveform, scale: str, logger: Logger, faults: Faults, rng: np.random.Generator) -> list[Said]:
    """The totals of one logger's log beside the truth of the span that it covers."""
    frame, first_s = logged(trip, logger, faults, rng)
    bike = Bike(
        sensor=SensorSection(
            current_zero_limit_a=faults.zero_limit_a,
            current_gain_limit_pct=faults.gain_limit_pct,
            charge_gain_limit_pct=faults.charge_gain_limit_pct,
            voltage_gain_limit_pct=faults.voltage_gain_limit_pct,
            averaged=logger.averaged,
        )
    )
    recording = Recording("log.csv", "log", "csv", frame.set_index("time_s"), None, "elapsed")
    answer = measure(join_recordings([recording], bike))
    true = trip.truth(first_s, first_s + float(frame["time_s"].iloc[-1]))
    charge, energy = answer.charge, answer.energy
    said = [charge.drawn_ah, charge.returned_ah, charge.recovered_pct]
    said += [energy.drawn_wh, energy.returned_wh, energy.recovered_pct]
    who = (trip.name, scale, logger.kind, faults != NO_FAULTS)
    return [_said(who, name, one, true[name]) for name, one in zip(QUANTITIES, said, strict=True)]


def _said(who: tuple[str, str, str, bool], name: str, one: Quantity | None, true: float) -> Said:
    value, low, high = (None, None, None) if one is None else (one.value, one.low95, one.high95)
    return Said(*who, name, value, low, high, true)


def tell_trip(path: Path, loggers: list[Logger], *, n_each: int, seed: int = 0) -> list[Said]:
    """A trip through every logger at both scales: ``n_each`` times without faults of the sensor and as often with."""
    return list(_told_of_trip(path, loggers, n_each, seed))


def _told_of_trip(path: Path, loggers: list[Logger], n_each: int, seed: int) -> Iterator[Said]:
    for (number, scale), (index, logger) in itertools.product(enumerate(SCALES), enumerate(loggers)):
        trip = Waveform.of_trip(path, scale)
        for draw in range(2 * n_each):
            rng = np.random.default_rng([seed, number, index, draw, *path.name.encode()])
            yield from told(trip, scale, logger, random_faults(rng, scale) if draw % 2 else NO_FAULTS, rng)
