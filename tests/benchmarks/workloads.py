"""Files of long rides for the benchmarks, made once and kept in the temporary folder."""

import tempfile
from dataclasses import replace
from pathlib import Path

import numpy as np

from sample_rides.fit_writer import write_fit
from sample_rides.loggers import Clock, Sensor, Tracker, electrical_log, track_log
from sample_rides.scenarios import random_scenario
from sample_rides.simulation import Simulated, simulate
from sample_rides.writers import Column, fit_records, iso_text, write_csv, write_gpx

SAMPLES = Path(__file__).parents[2] / "sample_rides"
KEPT = Path(tempfile.gettempdir()) / "ridelog-benchmarks"
BIKE = "\n".join(
    (
        "[bike]", "total_mass_kg = 110.0", "total_mass_limit_kg = 3.0", "[motor]", 'kind = "direct-drive"',
        "[sensor]", "current_zero_limit_a = 0.1", "current_gain_limit_pct = 1.0", "",
    )
)  # fmt: skip


def long_ride(seed: int = 5, n_hills: int = 26) -> Simulated:
    """Some three hours over twice as many hills as are told, there and back."""
    scenario = random_scenario(np.random.default_rng(seed), n_hills=n_hills, there_and_back=True)
    return simulate(replace(scenario, pack=replace(scenario.pack, capacity_ah=60.0)), longest_s=6 * 3600.0)


def _csv(ride: Simulated, path: Path, step_s: float) -> None:
    columns = [
        Column("time", "time_s", text=iso_text(ride.scenario.start, digits=2)),
        Column("battery current [A]", "current_a"),
        Column("battery voltage [V]", "voltage_v"),
        Column("wheel speed [km/h]", "speed_mps", digits=1, factor=3.6),
    ]
    write_csv(path, electrical_log(ride, Sensor(step_s=step_s)), columns)


def workloads() -> dict[str, tuple[Path, ...]]:
    """The files of each workload, by its name."""
    names = ("fit.csv", "ride.fit", "10hz.csv", "100hz.csv", "track.gpx", "bike.toml")
    fit_csv, fit, hz10, hz100, gpx, bike = (KEPT / name for name in names)
    if not bike.exists():
        KEPT.mkdir(exist_ok=True)
        ride = long_ride()
        track = track_log(ride, Tracker(Clock(offset_s=3.7, drift_ppm=28.0), from_s=2.0))
        write_fit(fit, ride.scenario.start, fit_records(track))
        write_gpx(gpx, track, ride.scenario.start)
        for path, step_s in ((fit_csv, 1.0), (hz10, 0.1), (hz100, 0.01)):
            _csv(ride, path, step_s)
        bike.write_text(BIKE)

    def sample(name: str) -> tuple[Path, ...]:
        return tuple(
            sorted(path for path in (SAMPLES / name).iterdir() if path.name not in ("about.toml", "truth.json"))
        )

    return {
        "commute": sample("commute"),
        "errand": sample("errand"),
        "3 h FIT": (fit_csv, fit, bike),
        "3 h, 10 Hz": (hz10, gpx, bike),
        "3 h, 100 Hz": (hz100, gpx, bike),
        "3 h, 100 Hz, alone": (hz100, bike),
    }
