"""Campaigns from their logs to the verdict, as far as whole rides are compared: many of them, in a fifth of the time.

Campaigns of one bike are simulated together, and their rides are measured without hills, ledger, pack and store.
``python -m tests.proof.quick_campaigns FILE --campaigns 100`` appends a line for each to a file as they come, and goes
on after those that are there.
"""

import argparse
import contextlib
import json
import tempfile
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import asdict
from pathlib import Path
from types import SimpleNamespace
from typing import Any, cast

import numpy as np

import ridelog
from ridelog.analysis.braking.events import braking_record, summed
from ridelog.analysis.measure import told_scene
from ridelog.analysis.scene import scene_of
from ridelog.analysis.shared_errors import shared_errors
from ridelog.analysis.summary import distance_of, net_wh_per_km
from ridelog.compare.differences import differences
from ridelog.compare.groups import ComparedRide
from ridelog.compare.observations import Observations, Observed, put_together
from ridelog.compare.settings import CompareSettings
from ridelog.uncertain.shared import OWN
from sample_rides.campaign import CampaignPlan
from sample_rides.campaign.rides import Ridden, campaign_bikes, known_settings, ridden_together
from sample_rides.fleet.logs import readings, write_logs
from tests.proof.campaign_study import KINDS, Told

WHOLE = ("recovered_pct", "captured_pct", "net_wh_per_km")
NOTHING_TO_SETTLE = CompareSettings(worth_knowing={})
FIRST_BIKE, FIRST_SEED = 9400, 300_000  # held out: nothing was set by them
TOGETHER = 12  # campaigns of one bike


def quick_campaigns(plan: CampaignPlan, seeds: Sequence[int]) -> Iterator[list[Told]]:
    """What campaigns on one bike tell of their whole rides as ridden, and the truth.

    Parameters
    ----------
    plan : with its bike
    seeds : one a campaign

    Yields
    ------
    told : of each campaign, a row a quantity
    """
    assert plan.bike is not None
    known = known_settings(plan.bike, plan.difference_pct, speed_confounded=plan.speed_confounded, with_off=False)
    true = {str(row["quantity"]): float(row["difference"]) for row in known.differences}
    for seed, rides in zip(seeds, ridden_together(plan, seeds, known), strict=True):
        with tempfile.TemporaryDirectory() as folder:
            observed = _observed(rides, Path(folder), campaign_bikes(plan.bike)[0].toml, seed)
        yield [_told(one.told, true) for one in differences(observed, plan.settings, NOTHING_TO_SETTLE)]


def _told(found: Any, true: Mapping[str, float]) -> Told:
    inside = found.difference
    return Told(
        found.quantity, False, inside.value, inside.low95, inside.high95, found.verdict, true[found.quantity]
    )  # fmt: skip


def _observed(rides: Sequence[Ridden], folder: Path, bike_file: str, seed: int) -> list[Observations]:
    (folder / "bike.toml").write_text(bike_file, encoding="utf-8")
    rows: dict[str, list[tuple[ComparedRide, Observed]]] = {name: [] for name in WHOLE}
    for number, one in enumerate(rides):
        files = _written(one, folder / str(number), (seed, number, 3))
        measured, formats = _measured(files, folder / "bike.toml")
        sources = [SimpleNamespace(format=each, role="track") for each in formats]
        ride = SimpleNamespace(
            group=one.setting, key=str(number), start=one.outing.scenario.start, bike="one", logger=one.bike.logs,
            answer=SimpleNamespace(sources=sources),
        )  # fmt: skip
        for name, what in measured.items():
            rows[name].append((cast("ComparedRide", ride), what))
    routes = {str(number): 0 for number in range(len(rides))}
    return [put_together(name, of, routes) for name, of in rows.items()]


def _written(one: Ridden, folder: Path, seeds: tuple[int, int, int]) -> list[Path]:
    rng = np.random.default_rng(seeds)
    offset_s = 0.0 if one.bike.logs == "merged" else float(round(rng.uniform(-25, 25), 1))
    read = readings(one.ride, one.bike, one.condition, offset_s, rng)
    folder.mkdir()
    return write_logs(folder, one.bike, read, one.outing.scenario.start, one.outing.air_temperature_c)


def _measured(files: Sequence[Path], bike_file: Path) -> tuple[dict[str, Observed], list[str]]:
    """The quantities of a ride with their errors, as its answer has them, and the formats of its files."""
    ride = ridelog.load_ride(files, bike=bike_file)
    scene, events = told_scene(ride, scene_of(ride))
    whole, distance_m = summed(scene, events), distance_of(ride, scene)
    effects = shared_errors(ride, scene, distance_m, events, whole, ()).ride
    told = {
        "recovered_pct": scene.flow.total.told.energy.recovered_pct.quantity(),
        "captured_pct": braking_record(scene, events, whole).captured_pct,
        "net_wh_per_km": net_wh_per_km(scene.flow, distance_m).quantity(),
    }
    found = {}
    for name, quantity in told.items():
        assert quantity is not None
        shared = dict(effects[name])
        found[name] = Observed("", quantity.value, shared.pop(OWN), shared)
    return found, [one.format for one in ride.recordings if "altitude_m" in one.frame]


def main(arguments: Sequence[str] | None = None) -> None:
    """Count, a line a campaign."""
    parser = argparse.ArgumentParser(description="Campaigns whose whole rides are compared, beside their truth.")
    parser.add_argument("file", type=Path)
    parser.add_argument("--campaigns", type=int, default=60, help="of each kind, in all")
    asked = parser.parse_args(arguments)
    lines = asked.file.read_text(encoding="utf-8").splitlines() if asked.file.exists() else []
    done = {(line["kind"], line["seed"]) for line in map(json.loads, lines)}
    for block in range(-(-asked.campaigns // TOGETHER)):
        for at, (kind, plan) in enumerate(KINDS.items()):
            first = FIRST_SEED + 10_000 * at + TOGETHER * block
            seeds = [seed for seed in range(first, first + TOGETHER) if (kind, seed) not in done]
            with asked.file.open("a", encoding="utf-8") as out:
                for seed, told in zip(seeds, _of_bike(plan, FIRST_BIKE + block, seeds), strict=False):
                    row = {
                        "kind": kind,
                        "bike": FIRST_BIKE + block,
                        "seed": seed,
                        "told": [asdict(one) for one in told],
                    }
                    print(json.dumps(row), file=out, flush=True)


def _of_bike(plan: Mapping[str, Any], bike: int, seeds: Sequence[int]) -> Iterator[list[Told]]:
    """None where the settings of the bike cannot differ by so much."""
    if seeds:
        with contextlib.suppress(ValueError):
            yield from quick_campaigns(CampaignPlan(bike=bike, **plan), seeds)


if __name__ == "__main__":
    main()
