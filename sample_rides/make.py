"""Writes the sample rides and the sample campaign anew: ``python -m sample_rides.make``. Every run writes the same.

Each folder holds the logs, the bike file, ``about.toml`` for the page, and ``truth.json``: what really happened,
from the simulation's fine steps. Its seconds count from the first electrical sample.
"""

import argparse
import json
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from sample_rides import quillmoor
from sample_rides.bike_files import bike_file, toml_value
from sample_rides.campaign import write_sample_campaign
from sample_rides.fit_writer import write_fit
from sample_rides.loggers import Clock, Sensor, Tracker, electrical_log, track_log
from sample_rides.simulation import Scenario, Simulated, simulate
from sample_rides.truth import truth
from sample_rides.writers import Column, fit_records, iso_text, write_csv, write_gpx

HERE = Path(__file__).parent


@dataclass(frozen=True)
class Sample:
    """A sample ride: its scenario, words for the page, and what writes its logs.

    ``write`` takes the ride and the folder; it writes the logs and returns, for each track, its clock.
    """

    slug: str
    title: str
    sentence: str
    files: tuple[str, ...]
    scenario: Callable[[], Scenario]
    write: Callable[[Simulated, Path], dict[str, dict[str, float | None]]]
    bike: str
    shows_return: bool = True


def _clock(clock: Clock, first_shown_s: float, *, wall_times: bool) -> dict[str, float | None]:
    """A track's clock as the truth states it; an electrical log without wall times knows no offset."""
    return {
        "offset_s": clock.offset_s if wall_times else None,
        "drift_ppm": clock.drift_ppm,
        "first_sample_s": clock.moment_s(first_shown_s),
    }


def _gpx(ride: Simulated, path: Path, tracker: Tracker, *, name: str, wall_times: bool) -> dict[str, Any]:
    track = track_log(ride, tracker)
    write_gpx(path, track, ride.scenario.start, name=name)
    return {path.name: _clock(tracker.clock, float(track["time_s"].iloc[0]), wall_times=wall_times)}


def _write_commute(ride: Simulated, folder: Path) -> dict[str, Any]:
    stamps = iso_text(ride.scenario.start)
    columns = [
        Column("time", "time_s", text=stamps),
        Column("battery current [A]", "current_a"),
        Column("battery voltage [V]", "voltage_v"),
        Column("wheel speed [km/h]", "speed_mps", digits=1, factor=3.6),
    ]
    write_csv(folder / "controller.csv", electrical_log(ride, Sensor(step_s=0.2)), columns)
    tracker = Tracker(Clock(offset_s=3.7, drift_ppm=28.0), from_s=2.0, seed=104)
    return _gpx(ride, folder / "track.gpx", tracker, name="Harbour to school and back", wall_times=True)


def _write_errand(ride: Simulated, folder: Path) -> dict[str, Any]:
    columns = [
        Column("Zeit [s]", "time_s", digits=0),
        Column("Akkuspannung [V]", "voltage_v"),
        Column("Akkustrom [A]", "current_a"),
        Column("Geschwindigkeit [km/h]", "speed_mps", digits=1, factor=3.6),
    ]
    write_csv(folder / "akku.csv", electrical_log(ride, Sensor(step_s=1.0)), columns, delimiter=";", decimal=",")
    tracker = Tracker(Clock(offset_s=-41.0, drift_ppm=-12.0), from_s=12.0, position_error_m=1.2, seed=109)
    track = track_log(ride, tracker)
    wait = max(ride.scenario.route.stops, key=lambda stop: stop.wait_s)
    halted_s = ride.time_s[(ride.speed_mps == 0) & (abs(ride.distance_m - wait.at_m) < 3)]
    shown = tracker.clock.shows_s(halted_s[[0, -1]])
    pause = (float(round(shown[0] + 9)), float(round(shown[1] - 5)))  # the rider stops the timer, and starts it again
    write_fit(folder / "ride.fit", ride.scenario.start, fit_records(track, pauses_s=[pause]), pauses_s=[pause])
    return {"ride.fit": _clock(tracker.clock, float(track["time_s"].iloc[0]), wall_times=False)}


def _write_winter(ride: Simulated, folder: Path) -> dict[str, Any]:
    columns = [
        Column("elapsed time [s]", "time_s", digits=1),
        Column("pack voltage [V]", "voltage_v"),
        Column("pack current [A]", "current_a"),
        Column("speed [km/h]", "speed_mps", digits=1, factor=3.6),
        Column("battery temperature [°C]", "battery_temperature_c", digits=1),
    ]
    write_csv(folder / "battery.csv", electrical_log(ride, Sensor(step_s=0.2)), columns)
    tracker = Tracker(Clock(offset_s=6.4, drift_ppm=-35.0), from_s=1.0, seed=121)
    return _gpx(ride, folder / "track.gpx", tracker, name="Down from Beacon Down", wall_times=False)


def _write_no_return(ride: Simulated, folder: Path) -> dict[str, Any]:
    stamps = iso_text(ride.scenario.start)
    columns = [
        Column("timestamp", "time_s", text=stamps),
        Column("battery voltage (V)", "voltage_v"),
        Column("battery current (A)", "current_a"),
        Column("wheel speed (km/h)", "speed_mps", digits=1, factor=3.6),
    ]
    write_csv(folder / "log.csv", electrical_log(ride, Sensor(step_s=0.5, clipped=True)), columns)
    tracker = Tracker(Clock(offset_s=-2.2, drift_ppm=22.0), from_s=3.0, seed=133)
    return _gpx(ride, folder / "track.gpx", tracker, name="To the allotments", wall_times=True)


SAMPLES = (
    Sample(
        "commute",
        "Harbour to school and back",
        "Marit teaches up at Quillmoor school: three hills there, the same ones back, braked by the motor.",
        ("controller.csv", "track.gpx"),
        quillmoor.commute,
        _write_commute,
        bike_file("Gannet", quillmoor.commute(), max_charge_a=7.0, air_c=15.0),
    ),
    Sample(
        "errand",
        "Errands with the cargo bike",
        "Jonas fetches rope and paint round the harbour: level streets, a dozen stops, and one sample a second.",
        ("akku.csv", "ride.fit"),
        quillmoor.errand,
        _write_errand,
        bike_file(
            "Packmule", quillmoor.errand(), max_charge_a=10.0, air_c=15.0, total_mass_limit_kg=8.0,
            km_per_year=1800, regen_premium=180.0,
        ),
    ),
    Sample(
        "winter",
        "Winter morning, full pack, downhill",
        "Eilis left the hut on Beacon Down with a full, frozen pack: see what its cells took until charging broke off.",
        ("battery.csv", "track.gpx"),
        quillmoor.winter,
        _write_winter,
        bike_file(
            "Snow bunting", quillmoor.winter(), max_charge_a=5.0, air_c=-4.0, charge_path="unknown",
        ),
    ),
    Sample(
        "no-return",
        "A log that cannot show it",
        "Tove's logger writes no current below zero, so it cannot show what came back: no answer, but no wrong one.",
        ("log.csv", "track.gpx"),
        quillmoor.no_return,
        _write_no_return,
        bike_file("Turnstone", quillmoor.no_return(), max_charge_a=7.5, air_c=15.0),
        shows_return=False,
    ),
)  # fmt: skip


def write_sample(sample: Sample, folder: Path, order: int) -> None:
    """Simulate a sample ride and write its folder."""
    folder.mkdir(parents=True, exist_ok=True)
    ride = simulate(sample.scenario())
    clocks = sample.write(ride, folder)
    told = {"title": sample.title, "sentence": sample.sentence, "files": list(sample.files), "bike": "bike.toml"}
    about = "\n".join(f"{key} = {toml_value(value)}" for key, value in {**told, "order": order}.items())
    known = {"log_shows_return": sample.shows_return, "clocks": clocks, **truth(ride).to_dict()}
    for name, text in (
        ("about.toml", about + "\n"),
        ("bike.toml", sample.bike),
        ("truth.json", json.dumps(_short(known), indent=1) + "\n"),
    ):
        (folder / name).write_text(text, encoding="utf-8", newline="\n")


def _short(value: Any) -> Any:
    """Plain data with numbers to six decimals: far finer than anything they are compared with."""
    if isinstance(value, dict):
        return {key: _short(item) for key, item in value.items()}
    if isinstance(value, (list, tuple)):
        return [_short(item) for item in value]
    return round(value, 6) + 0.0 if isinstance(value, float) else value


def main(arguments: list[str] | None = None) -> None:
    """Write all sample folders below ``--folder`` (beside this file, by default)."""
    parser = argparse.ArgumentParser(prog="python -m sample_rides.make", description="Writes the sample rides anew.")
    parser.add_argument("--folder", type=Path, default=HERE)
    folder = parser.parse_args(arguments).folder
    for order, sample in enumerate(SAMPLES, start=1):
        write_sample(sample, folder / sample.slug, order)
        print(f"{folder / sample.slug}")
    write_sample_campaign(folder / "campaign")
    print(f"{folder / 'campaign'}")


if __name__ == "__main__":
    main()
