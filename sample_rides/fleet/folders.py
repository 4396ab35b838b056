"""Writes a made-up fleet: a folder a bike, its bike file, a folder a ride with its logs, and ``truth.json``.

What happened is known of every ride, so that an audit of the fleet can be held against it.
"""

import json
import tempfile
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import numpy as np

from sample_rides.bike_files import toml_value
from sample_rides.fleet.bikes import FleetBike, Outing, drawn_bike, ride_starts
from sample_rides.fleet.broken import BROKEN_KINDS, break_file
from sample_rides.fleet.faults import NO_FAULTS, Condition, FaultPlan, Faults, drawn_faults
from sample_rides.fleet.lockstep import QuickRide, ride_all
from sample_rides.fleet.logs import readings, write_logs
from sample_rides.fleet.truth import TRUTH_FILE, fault_truth, ride_truth

FIRST_DAY = datetime(2025, 4, 1, tzinfo=UTC)
N_DAYS = 365
# A zero that drifts is told among 25 tests from some 14 rides on: the bike that has one is ridden twice as often.
SAMPLE_RIDES = (16, 8, 8, 8, 8)
SAMPLE_FAULTS = FaultPlan(dead_regen=1, drifting_zero=1, earliest_ride=3, develops_over_rides=3)
_TOGETHER = 250  # rides simulated at once: enough to share the work, few enough to keep in memory


@dataclass(frozen=True)
class LogPlan:
    """What becomes of the logs of a fleet.

    ``hostile`` : share of rides of which one file is broken [1] · ``with_controls`` : whether every bike logs its
    cadence and its brake's switch
    """

    hostile: float = 0.0
    with_controls: bool = False


USUAL_LOGS = LogPlan()


@dataclass(frozen=True)
class _Planned:
    """One ride before it is ridden: ``folder`` is the day, marked where it is the second ride of it."""

    bike: FleetBike
    outing: Outing
    condition: Condition
    folder: str
    seeds: tuple[int, int, int]


def write_fleet(
    folder: str | Path,
    *,
    n_bikes: int = 60,
    rides_per_bike: float | Sequence[int] = 2000 / 60,
    seed: int = 1,
    faults: FaultPlan = NO_FAULTS,
    logs: LogPlan = USUAL_LOGS,
) -> dict[str, Any]:
    """Write a fleet of invented bikes and what really happened.

    Parameters
    ----------
    folder : where the fleet goes; made where it is missing
    n_bikes : how many bikes; one in four writes each kind of files, and the last one has a manifest of its rides
    rides_per_bike : rides of each bike over a year, one number for all or one each; a broken one gives some of them one
        more
    seed : the same one writes the same bytes
    faults : how many bikes have which fault
    logs : how many files are broken, and what is logged beside

    Returns
    -------
    truth : what is in ``truth.json`` too: ``faults``, one a faulty bike, and ``rides``, one a ride

    Raises
    ------
    ValueError : more faults than bikes, or more rides than a year has mornings and afternoons
    FileExistsError : there is a fleet already
    """
    place = Path(folder)
    place.mkdir(parents=True, exist_ok=True)
    rng = np.random.default_rng(seed)
    each = np.broadcast_to(np.asarray(rides_per_bike, dtype=float), n_bikes)
    counts = np.diff(np.round(np.concatenate(([0.0], np.cumsum(each))))).astype(int)
    bikes = [replace(drawn_bike(number, rng), with_controls=logs.with_controls) for number in range(n_bikes)]
    found = drawn_faults(faults, n_bikes, int(counts.min()), rng)
    starts = [ride_starts(int(n), FIRST_DAY, N_DAYS, rng) for n in counts]
    for bike in bikes:
        (place / bike.folder).mkdir()
        (place / bike.folder / "bike.toml").write_text(bike.toml, encoding="utf-8", newline="\n")
    (place / bikes[-1].folder / "logs").mkdir()
    rows = []
    for plan, ride in _ridden(_planned(bikes, starts, found, seed)):
        rows.append(_write_ride(place, plan, ride, flat=plan.bike is bikes[-1]))
        _break_some(place, rows[-1], logs.hostile, np.random.default_rng([*plan.seeds, 2]))
    rows.sort(key=lambda row: (row["bike"], row["start"]))
    _write_manifest(place / bikes[-1].folder, [row for row in rows if row["bike"] == bikes[-1].name])
    told = {
        "schema": 1,
        "seed": seed,
        "faults": [fault_truth(fault, bikes[fault.bike], starts[fault.bike]) for fault in found.faults],
        "rides": rows,
    }
    (place / TRUTH_FILE).write_text(json.dumps(told, ensure_ascii=False) + "\n", encoding="utf-8", newline="\n")
    return told


def write_sample_fleet(folder: str | Path) -> dict[str, Any]:
    """Write the small fleet of the sample rides, unless it is there: five bikes, 48 rides, two bikes going wrong.

    It is made beside ``folder`` and renamed, so that it is there whole or not at all, whoever else writes it meanwhile.

    Returns
    -------
    truth : as of `write_fleet`
    """
    place = Path(folder)
    if not (place / TRUTH_FILE).is_file():
        place.parent.mkdir(parents=True, exist_ok=True)
        with tempfile.TemporaryDirectory(prefix=f".{place.name}-", dir=place.parent) as beside:
            made = Path(beside) / "fleet"
            write_fleet(made, n_bikes=5, rides_per_bike=SAMPLE_RIDES, seed=7, faults=SAMPLE_FAULTS)
            try:
                made.rename(place)
            except OSError:
                if not (place / TRUTH_FILE).is_file():  # else somebody was faster
                    raise
    known: dict[str, Any] = json.loads((place / TRUTH_FILE).read_text(encoding="utf-8"))
    return known


def _planned(
    bikes: Sequence[FleetBike], starts: Sequence[Sequence[datetime]], found: Faults, seed: int
) -> list[_Planned]:
    """Every ride, each from its own source of chance."""
    planned = []
    for number, (bike, moments) in enumerate(zip(bikes, starts, strict=True)):
        days: set[str] = set()
        for index, start in enumerate(moments):
            condition = found.condition(number, index)
            outing = bike.outing(start, condition, np.random.default_rng([seed, number, index, 0]))
            day = f"{start:%Y-%m-%d}"
            folder = f"{day}-2" if day in days else day
            planned.append(_Planned(bike, outing, condition, folder, (seed, number, index)))
            days.add(day)
    return planned


def _ridden(planned: Sequence[_Planned]) -> Iterator[tuple[_Planned, QuickRide]]:
    """All rides, simulated by batches of like length, so that none waits long for the others."""

    def about_s(plan: _Planned) -> float:
        scenario = plan.outing.scenario
        return scenario.route.length_m / scenario.rider.cruise_mps + sum(stop.wait_s for stop in scenario.route.stops)

    order = sorted(planned, key=about_s)
    for first in range(0, len(order), _TOGETHER):
        batch = order[first : first + _TOGETHER]
        rides = ride_all([plan.outing.scenario for plan in batch], [plan.outing.way.road for plan in batch])
        yield from zip(batch, rides, strict=True)


def _write_ride(place: Path, plan: _Planned, ride: QuickRide, *, flat: bool) -> dict[str, Any]:
    """Write the files of one ride, where ``flat`` into one folder for all of the bike; its row of the truth."""
    bike, rng = plan.bike, np.random.default_rng([*plan.seeds, 1])
    offset_s = 0.0 if bike.logs == "merged" else float(round(rng.uniform(-25, 25), 1))
    folder = place / bike.folder / ("logs" if flat else plan.folder)
    folder.mkdir(exist_ok=flat)
    read = readings(ride, bike, plan.condition, offset_s, rng)
    start, air_c = plan.outing.scenario.start, plan.outing.air_temperature_c
    files = write_logs(folder, bike, read, start, air_c, prefix=f"{plan.folder}-" if flat else "")
    return {
        "bike": bike.name,
        "folder": folder.relative_to(place).as_posix(),
        "files": [path.relative_to(place).as_posix() for path in files],
        "broken": None,
        "clock_offset_s": offset_s,
        **ride_truth(ride, bike, plan.outing, plan.condition),
    }


def _break_some(place: Path, row: dict[str, Any], share: float, rng: np.random.Generator) -> None:
    """Break one file of a ride in so many, and say so in its row."""
    if rng.random() < share:
        name = row["files"][int(rng.integers(len(row["files"])))]
        kind = BROKEN_KINDS[int(rng.integers(len(BROKEN_KINDS)))]
        break_file(place / name, kind, rng)
        row["broken"] = {"file": name, "kind": kind}


def _write_manifest(bike_folder: Path, rows: Sequence[dict[str, Any]]) -> None:
    """Say which files are one ride, where their folder does not; the tyres are the group."""
    parts = [
        "\n".join(
            [
                "[[ride]]",
                f"files = {toml_value([f'logs/{Path(name).name}' for name in row['files']])}",
                f"name = {toml_value(row['way'])}",
                f"group = {toml_value(row['tyres'])}",
            ]
        )
        for row in rows
    ]
    (bike_folder / "rides.toml").write_text("\n\n".join(parts) + "\n", encoding="utf-8", newline="\n")
