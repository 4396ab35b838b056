"""Writes a made-up campaign: a folder a setting, its bike file, a folder a ride with its logs, and ``truth.json``.

Each setting's folder has the bike file of its own, so that it is a whole bike wherever it is taken alone; it is the
same bike in all of them.
"""

import gzip
import json
import math
import shutil
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np

from sample_rides.bike_files import toml_value
from sample_rides.campaign.plan import OTHER, CampaignPlan
from sample_rides.campaign.rides import QUANTITIES, Ridden, campaign_bikes, figures, known_settings, loggers, ridden
from sample_rides.fleet.logs import readings, write_logs
from sample_rides.fleet.truth import TRUTH_FILE, ride_truth

SAMPLE_SEED, SAMPLE_PLAN = 6, CampaignPlan(difference_pct=3.0)
_USUAL = CampaignPlan()


def write_campaign(folder: str | Path, plan: CampaignPlan = _USUAL, *, seed: int = 1) -> dict[str, Any]:
    """Write a campaign and what really happened.

    Parameters
    ----------
    folder : where it goes; made where it is missing
    plan : what it is to be
    seed : the same one writes the same bytes

    Returns
    -------
    truth : what is in ``truth.json`` too: ``regen_ratios`` of the settings, ``differences`` as they would be over many
        days, and ``rides`` in the order in which they were ridden

    Raises
    ------
    ValueError : the bike's settings cannot differ by so much
    FileExistsError : there is a campaign already
    """
    place = Path(folder)
    bike_seed = seed if plan.bike is None else plan.bike
    known = known_settings(
        bike_seed, plan.difference_pct, speed_confounded=plan.speed_confounded, with_off=plan.with_off
    )
    bike, _ = campaign_bikes(bike_seed)
    for name in (
        f"{setting}{end}" for setting in plan.settings for end in (("", OTHER) if plan.side_by_side else ("",))
    ):
        (place / name).mkdir(parents=True)
        (place / name / "bike.toml").write_text(bike.toml, encoding="utf-8", newline="\n")
    rides = ridden(plan, seed, known)
    if plan.side_by_side:
        other = loggers(plan, seed)[1]
        for number, one in enumerate(rides):
            _write_logs(place, replace(one, bike=other), f"{one.setting}{OTHER}", (seed, number, 4))
    told = {
        "schema": 1,
        "seed": seed,
        "regen_ratios": known.regen_ratios,
        "differences": known.differences,
        "rides": [_write_ride(place, one, seed, number) for number, one in enumerate(rides)],
    }
    text = json.dumps(_short(told), ensure_ascii=False, indent=1) + "\n"
    (place / TRUTH_FILE).write_text(text, encoding="utf-8", newline="\n")
    return told


def write_sample_campaign(folder: str | Path) -> dict[str, Any]:
    """Write the campaign of the sample rides, anew where it is there: six rides under weak regen, six under strong."""
    for setting in SAMPLE_PLAN.settings:
        shutil.rmtree(Path(folder) / setting, ignore_errors=True)
    told = write_campaign(folder, SAMPLE_PLAN, seed=SAMPLE_SEED)
    for setting in SAMPLE_PLAN.settings:
        _write_manifest(Path(folder) / setting, [one["files"] for one in told["rides"] if one["setting"] == setting])
    return told


def _write_manifest(place: Path, rides: Sequence[Sequence[str]]) -> None:
    """Put all rides of a setting into a group of its name, by which they are told apart among others."""
    parts = [
        f"[[ride]]\nfiles = {toml_value([Path(name).relative_to(place.name).as_posix() for name in files])}\n"
        f"group = {toml_value(place.name)}\n"
        for files in rides
    ]
    (place / "rides.toml").write_text("\n".join(parts), encoding="utf-8", newline="\n")


def _write_ride(place: Path, one: Ridden, seed: int, number: int) -> dict[str, Any]:
    """Write the files of one ride; its row of the truth."""
    folder, files, offset_s = _write_logs(place, one, one.setting, (seed, number, 3))
    return {
        "setting": one.setting,
        "folder": folder,
        "files": files,
        "clock_offset_s": offset_s,
        **{
            name: None if math.isnan(value) else value
            for name, value in zip(QUANTITIES, figures(one.ride), strict=True)
        },
        "mass_kg": one.outing.scenario.machine.mass_kg,
        "wind_mps": one.outing.scenario.machine.wind_mps,
        "start_soc": one.outing.scenario.pack.start_soc,
        **ride_truth(one.ride, one.bike, one.outing, one.condition),
    }


def _write_logs(place: Path, one: Ridden, group: str, seeds: tuple[int, int, int]) -> tuple[str, list[str], float]:
    """Write the files of a ride, packed: their folder, their names, and by how much the clocks differ [s]."""
    rng = np.random.default_rng(seeds)
    offset_s = 0.0 if one.bike.logs == "merged" else float(round(rng.uniform(-25, 25), 1))
    start = one.outing.scenario.start
    folder = place / group / f"{start:%Y-%m-%d}"
    folder.mkdir()
    read = readings(one.ride, one.bike, one.condition, offset_s, rng)
    files = []
    for path in write_logs(folder, one.bike, read, start, one.outing.air_temperature_c):
        packed = path.with_name(f"{path.name}.gz")
        packed.write_bytes(gzip.compress(path.read_bytes(), mtime=0))
        path.unlink()
        files.append(packed.relative_to(place).as_posix())
    return folder.relative_to(place).as_posix(), files, offset_s


def _short(value: Any) -> Any:
    """Plain data with numbers to six decimals: far finer than anything they are compared with."""
    if isinstance(value, dict):
        return {key: _short(item) for key, item in value.items()}
    if isinstance(value, (list, tuple)):
        return [_short(item) for item in value]
    return round(value, 6) + 0.0 if isinstance(value, float) else value
