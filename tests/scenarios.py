"""One list of rides that feeds every path: the sample rides, and short simulated ones of many kinds."""

import json
import tomllib
from collections.abc import Sequence
from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
import pytest

import ridelog
from ridelog import load_ride, measure
from ridelog.answer.ride import Answer
from ridelog.recording import Clock, Recording, Ride
from ridelog.settings.bike import Bike, BikeSection, CostSection, MotorSection, PackSection, RoadSection, SensorSection
from ridelog.settings.toml_files import Section
from ridelog.timeline.ride import join_recordings
from tests.places import SAMPLES
from tests.timeline.simulated import controller_log, track_log, true_ride

SLUGS = sorted(path.parent.name for path in SAMPLES.glob("*/about.toml"))
SEEDS = range(7_300, 7_350)


@cache
def sample_answer(slug: str) -> Answer:
    """A sample ride as a stranger measures it."""
    folder = SAMPLES / slug
    about = tomllib.loads((folder / "about.toml").read_text(encoding="utf-8"))
    return ridelog.measure(ridelog.load_ride([folder / name for name in about["files"]], bike=folder / about["bike"]))


@cache
def _loaded(files: tuple[str, ...], bike: str | None, columns: str | None) -> Ride:
    return load_ride(files, bike=bike, columns=columns)


@cache
def _measured(files: tuple[str, ...], bike: str | None, columns: str | None) -> Answer:
    return measure(_loaded(files, bike, columns))


def once(patch: pytest.MonkeyPatch) -> None:
    """Let commands read and measure the sample rides once for all tests that try the words alone.

    Parameters
    ----------
    patch : that puts `ridelog.load_ride` and `ridelog.measure` back
    """

    def loaded(files: Sequence[str], *, bike: str | None = None, columns: str | None = None) -> Ride:
        given = (tuple(files), bike, columns)
        if any(name is not None and not Path(name).is_relative_to(SAMPLES) for name in (*given[0], bike, columns)):
            return load_ride(files, bike=bike, columns=columns)  # what a test writes it may write anew
        ride = _loaded(*given)
        of_ride[id(ride)] = given
        return ride

    of_ride: dict[int, tuple[tuple[str, ...], str | None, str | None]] = {}
    patch.setattr(ridelog, "load_ride", loaded)
    patch.setattr(
        ridelog, "measure", lambda ride: _measured(*of_ride[id(ride)]) if id(ride) in of_ride else measure(ride)
    )


@cache
def simulated_answer(seed: int) -> Answer:
    """A ride of some minutes by chance: with and without track, speed, voltage, heights, wall time and bike file."""
    rng = np.random.default_rng([seed, 5])
    duration_s = float(rng.uniform(240, 420))
    true = true_ride(seed, duration_s, hilly=bool(rng.random() < 0.8))
    clock: Clock = "elapsed" if rng.random() < 0.3 else "utc"
    electrical = controller_log(
        true, step_s=float(rng.choice([0.5, 1.0])), seed=seed, clock=clock, with_speed=bool(rng.random() < 0.7)
    )
    if rng.random() < 0.15:
        electrical = _without(electrical, "voltage_v")
    parts = [electrical]
    if rng.random() < 0.85:
        first_s = float(rng.choice([0.0, 0.0, 0.4])) * duration_s
        track = track_log(true, start_s=first_s, seed=seed + 1, dropouts=int(rng.choice([0, 0, 3])))
        parts.append(_without(track, "altitude_m") if rng.random() < 0.15 else track)
    if rng.random() < 0.1:
        parts = parts[1:] or parts
    return ridelog.measure(join_recordings(parts, bike_by_chance(rng)))


HELD_SEED = 7_400
HELD = ("track-stays", "positions-held", "position-frozen", "held-without-speed")


@cache
def held_answer(kind: str) -> Answer:
    """A ride whose positions stay where they are for 4 s, 10 s or for good while the wheel rolls."""
    true = true_ride(HELD_SEED, 400.0)
    log, track = controller_log(true, step_s=0.5), track_log(true)
    stay_s = {"track-stays": 4.0, "position-frozen": 1e6}.get(kind, 10.0)
    places = track.frame[["latitude_deg", "longitude_deg"]].to_numpy()
    if kind == "track-stays":  # once a minute
        stays = (track.time_s % 60 >= 20) & (track.time_s % 60 < 20 + stay_s)
        at = np.maximum.accumulate(np.where(stays, 0, np.arange(len(places))))
        track = replace(track, frame=track.frame.assign(latitude_deg=places[at, 0], longitude_deg=places[at, 1]))
        return ridelog.measure(join_recordings([log, track]))
    at = np.searchsorted(track.time_s, np.floor(log.time_s / stay_s) * stay_s, side="right") - 1
    at = np.clip(at, 0, len(places) - 1)
    merged = log.frame.assign(
        latitude_deg=places[at, 0], longitude_deg=places[at, 1], altitude_m=track.frame["altitude_m"].to_numpy()[at]
    )
    if kind == "held-without-speed":
        merged = merged.drop(columns="speed_mps")
    return ridelog.measure(join_recordings([replace(log, frame=merged)]))


def held_truth_m() -> float:
    """How far the ride of `held_answer` went [m]."""
    return float(true_ride(HELD_SEED, 400.0).distance_m[-1])


def _without(recording: Recording, channel: str) -> Recording:
    return replace(recording, frame=recording.frame.drop(columns=channel))


def bike_by_chance(rng: np.random.Generator) -> Bike:
    """A bike file of which any section may be missing."""
    said: dict[str, Section] = {
        "bike": BikeSection(name="Sandpiper", total_mass_kg=105.0, total_mass_limit_kg=4.0, wheel_circumference_m=2.1),
        "pack": PackSection(cells_in_series=13, capacity_ah=14.0, full_cell_v=4.2, charge_path="allowed"),
        "motor": MotorSection(kind=str(rng.choice(["direct-drive", "geared-locked", "geared-freewheel"]))),  # type: ignore[arg-type]
        "sensor": SensorSection(current_zero_limit_a=0.1, standby_draw_a=0.06, averaged=bool(rng.random() < 0.3)),
        "road": RoadSection(cda_m2=0.5, crr=0.008, crr_limit=0.002, motor_drag_n=1.5, wind_mps=0.5),
        "cost": CostSection(price_per_kwh=0.3, currency="EUR", regen_premium=120.0, km_per_year=3000.0),
    }
    return Bike().model_copy(update={section: value for section, value in said.items() if rng.random() < 0.5})


def through_json(answer: Answer) -> dict[str, Any]:
    """The answer's plain data after a way through the text of strict JSON."""
    data: dict[str, Any] = json.loads(json.dumps(answer.to_dict(), allow_nan=False))
    return data
