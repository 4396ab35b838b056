"""Every number of many rides before and after: which values are the same, by how much bounds move.

``python tests/benchmarks/golden.py BEFORE [AFTER [RIDES]]`` compares two commits, or a commit with the present tree, on
the sample rides and on 200 made-up ones of a seed that nothing else uses. A change made for speed alone keeps values to
`SAME` of themselves; other draws of the same errors move bounds by Monte-Carlo noise, a few parts in a hundred of half
an interval; what else moves stands in the changelog with its reason.
"""

import json
import subprocess
import sys
import tempfile
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import numpy as np

HERE = Path(__file__).parents[2]
sys.path.insert(0, str(HERE))

from ridelog.fleet.folders import find_rides
from sample_rides.fleet import write_fleet
from tests.benchmarks.pairs import run
from tests.benchmarks.workloads import SAMPLES

RIDES, SEED = int(sys.argv[3]) if len(sys.argv) > 3 else 200, 715_517
SAME = 1e-6  # of a value
SHOWN = 12  # quantities that moved

ANSWERS = """
import json, sys
import ridelog
told = []
for files, bike in json.load(open(sys.argv[1])):
    try:
        told.append(ridelog.measure(ridelog.load_ride(files, bike=bike)).to_dict())
    except ridelog.RidelogError as error:
        told.append({"error": str(error)})
print(json.dumps(told))
"""


@dataclass
class Moved:
    """What became of one quantity over all rides: shares of half its interval, and one that moved most."""

    n: int = 0
    values: list[float] = field(default_factory=list)  # that are not the same [half an interval]
    bounds: list[float] = field(default_factory=list)  # all [half an interval]
    worst: str = ""


def numbers(held: Any, path: str = "") -> Iterator[tuple[str, Mapping[str, Any]]]:
    """Numbers with their interval in an answer, by their place in it."""
    if isinstance(held, dict):
        if "value" in held and isinstance(held["value"], (int, float)) and not isinstance(held["value"], bool):
            yield path, held
        else:
            for name, inner in held.items():
                yield from numbers(inner, f"{path}.{name}" if path else name)
    elif isinstance(held, list):
        for place, inner in enumerate(held):
            yield from numbers(inner, f"{path}[{place}]")


def unlike(before: Any, after: Any, path: str = "") -> Iterator[str]:
    """The lists that have another length after than before, by their place in an answer."""
    if isinstance(before, list) and isinstance(after, list) and len(before) != len(after):
        yield path
    elif isinstance(before, dict) and isinstance(after, dict):
        for name in before.keys() & after.keys():
            yield from unlike(before[name], after[name], f"{path}.{name}" if path else name)


def compared(
    before: Mapping[str, Any], after: Mapping[str, Any], moved: dict[str, Moved], lost: dict[str, int]
) -> None:
    """Add what became of the numbers of one ride; parts of another number of pieces are counted in ``lost``."""
    old, new = dict(numbers(before)), dict(numbers(after))
    for name in unlike(before, after):  # another number of pieces: which is which is not told
        lost[name] = lost.get(name, 0) + 1
        old = {path: held for path, held in old.items() if not path.startswith(f"{name}[")}
    for path, was in old.items():
        quantity = "".join(part.partition("]")[2] if "]" in part else part for part in path.split("["))
        if (now := new.get(path)) is None:
            lost[quantity] = lost.get(quantity, 0) + 1
            continue
        one = moved.setdefault(quantity, Moved())
        one.n += 1
        low, high = was.get("low95"), was.get("high95")
        half = (high - low) / 2 if low is not None and high is not None else 0.0
        off = abs(now["value"] - was["value"])
        if off > SAME * abs(was["value"]):
            one.values.append(off / half if half else np.inf)
            if one.values[-1] == max(one.values):
                one.worst = f"{was['value']:.6g} -> {now['value']:.6g}"
        if half and now.get("low95") is not None and now.get("high95") is not None:
            one.bounds += [abs(now[end] - was[end]) / half for end in ("low95", "high95")]


def rides_of(folder: Path) -> list[tuple[list[str], str]]:
    """The files of each ride and its bike file: samples, and a fleet made in a folder."""
    write_fleet(folder, n_bikes=RIDES // 10, rides_per_bike=10, seed=SEED)
    found = [
        ride
        for top in (folder, *(place.parent for place in sorted(SAMPLES.glob("*/bike.toml"))))
        for ride in find_rides([top]).rides
    ]
    return [([str(path) for path in ride.paths], str(ride.bike_file.path)) for ride in found if ride.bike_file]


def told(moved: Mapping[str, Moved], lost: Mapping[str, int], n_rides: int) -> None:
    """Print the comparison."""
    n = sum(one.n for one in moved.values())
    n_other = sum(len(one.values) for one in moved.values())
    bounds = np.array([off for one in moved.values() for off in one.bounds] or [0.0])
    shares = ", ".join(f"{np.quantile(bounds, q):.2g}" for q in (0.5, 0.95, 0.99, 1.0))
    print(f"{n_rides} rides, {n} values: {n - n_other} the same to {SAME:g}, {n_other} not")
    same = f"{len(bounds)} bounds, {(bounds == 0).mean():.1%} to the last bit"
    print(f"{same}; off by (median, 95 %, 99 %, most) {shares} of half an interval")
    for name in ("charge", "energy", "braking", "hills", "ledger"):  # without the pieces of the latter
        own = [one for quantity, one in moved.items() if quantity.startswith(f"{name}.") and ".events" not in quantity]
        own_bounds = np.array([each for one in own for each in one.bounds] or [0.0])
        n_own, n_off = sum(one.n for one in own), sum(len(one.values) for one in own)
        middle, most = np.quantile(own_bounds, (0.5, 0.95))
        print(f"  {name}: {n_off} of {n_own} values moved; bounds off by {middle:.2g} (95 %: {most:.2g})")
    for quantity, one in sorted(moved.items(), key=lambda each: -len(each[1].values))[:SHOWN]:
        if one.values:
            off = ", ".join(f"{each:.2g}" for each in (np.median(one.values), max(one.values)))
            print(f"  {quantity}: {len(one.values)} of {one.n} moved, by {off} (median, most); {one.worst}")
    for name, count in sorted(lost.items(), key=lambda each: -each[1])[:SHOWN]:
        print(f"  not compared: {name}, in {count}")


def main(before: str, after: str | None) -> None:
    """Make the rides, measure them with both, and print the comparison."""
    with tempfile.TemporaryDirectory() as folder:
        trees = [Path(folder) / "before", Path(folder) / "after" if after else HERE]
        made = list(zip(trees, (before, after), strict=True))[: 2 if after else 1]
        try:
            for tree, commit in made:
                subprocess.run(
                    ["git", "-C", str(HERE), "worktree", "add", "-q", "--detach", str(tree), str(commit)], check=True
                )
            rides = Path(folder) / "rides.json"
            rides.write_text(json.dumps(rides_of(Path(folder) / "fleet")))
            old, new = (run(tree, ANSWERS, str(rides)) for tree in trees)
        finally:
            for tree, _ in made:
                subprocess.run(["git", "-C", str(HERE), "worktree", "remove", "--force", str(tree)], check=False)
    moved: dict[str, Moved] = {}
    lost: dict[str, int] = {}
    for was, now in zip(old, new, strict=True):  # type: ignore[call-overload]
        compared(was, now, moved, lost)
    told(moved, lost, len(old))  # type: ignore[arg-type]


if __name__ == "__main__":
    main(sys.argv[1], sys.argv[2] if len(sys.argv) > 2 else None)
