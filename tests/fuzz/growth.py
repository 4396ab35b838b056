"""How memory and time grow with each dimension of what is given: ``python -m tests.fuzz.growth [DIMENSION…]``.

Each dimension is taken once, 10 and 100 times as large, each in a process of its own, all the way to an answer, its
tables and its page. An exponent of 1 is in proportion, of 2 quadratic; the larger of the last two steps counts, with
what an input of next to nothing takes left out of it, as it would hide the growth of a small one.
"""

import argparse
import math
import subprocess
import sys
from collections.abc import Callable
from dataclasses import dataclass
from itertools import pairwise
from time import process_time

from tests.fuzz import around, sizes
from tests.fuzz.case import Case

TIMES = (1, 10, 100)

DIMENSIONS: dict[str, Callable[[int], Case]] = {
    "points of a GPX track": sizes.points,
    "rows": sizes.rows,
    "braking events": sizes.events,
    "hills": sizes.hills,
    "laps of a FIT file": sizes.laps,
    "definitions of a FIT file": sizes.definitions,
    "files": sizes.files,
    "columns of cells": sizes.columns,
    "columns of nothing known": sizes.strange_columns,
    "gaps": sizes.gaps,
    "cells that are no numbers": sizes.lone_cells,
    "columns of a map": sizes.map_columns,
    "header lines": sizes.header_lines,
    "keys of a bike file": sizes.bike_keys,
    "members of an archive": sizes.zip_members,
    "requests to the page": sizes.requests,
    **around.DIMENSIONS,
}


def taken(case: Case) -> str:
    """Take it all the way; what was said where it was refused."""
    from ridelog.errors import RidelogError
    from tests.fuzz import checks

    if case.kind == "requests":
        for _ in range(case.seed):
            checks.taken(Case(0, "visit", visit={"path": "/"}))
        return ""
    try:
        if case.kind.endswith(".toml"):
            around.read_settings(case)
        else:
            checks.taken(case)
    except RidelogError as error:
        return error.message
    return ""


@dataclass(frozen=True)
class Cost:
    """What one input took."""

    n_bytes: int
    seconds: float
    memory_bytes: int
    said: str


def cost(name: str, times: int) -> Cost:
    """What one input takes, in this process."""
    from tests.fuzz import checks

    case = DIMENSIONS[name](times)
    checks.warm()
    checks._forget_peak()
    before, began_s = checks._peak_bytes(), process_time()
    said = taken(case)
    return Cost(case.n_bytes, process_time() - began_s, checks._peak_bytes() - before, said)


def cost_apart(name: str, times: int) -> Cost:
    """As `cost`, in a process of its own."""
    command = [sys.executable, "-m", "tests.fuzz.growth", "--one", str(times), name]
    told = subprocess.run(command, capture_output=True, text=True, check=True).stdout.split("\t")
    return Cost(int(told[0]), float(told[1]), int(told[2]), told[3].strip())


def exponent(values: list[float], least: float) -> float:
    """The larger of the powers by which values grow that are each of ten times as much as the one before.

    Parameters
    ----------
    values : of what is 1, 10, 100 times as large
    least : what an input of next to nothing takes, to which all are raised

    Returns
    -------
    1 in proportion, 2 quadratic.
    """
    return max(math.log10(max(b, least) / max(a, least)) for a, b in pairwise(values))


def main() -> int:
    """Print a row for each dimension."""
    parser = argparse.ArgumentParser(description="How memory and time grow with what is given.")
    parser.add_argument("--one", type=int, help=argparse.SUPPRESS)
    parser.add_argument("dimensions", nargs="*", default=[])
    arguments = parser.parse_args()
    if arguments.one:
        one = cost(arguments.dimensions[0], arguments.one)
        print(one.n_bytes, one.seconds, one.memory_bytes, one.said, sep="\t")  # noqa: T201
        return 0
    print("| dimension | bytes | time [s] | exponent | memory [MB] | exponent | refused |\n" + "| --- " * 7 + "|")  # noqa: T201
    for name in arguments.dimensions or DIMENSIONS:
        costs = [cost_apart(name, times) for times in TIMES]
        seconds, memory = [each.seconds for each in costs], [each.memory_bytes / 1e6 for each in costs]
        refused = next((each.said for each in costs if each.said), "")
        cells = (
            " / ".join(f"{each.n_bytes:,}" for each in costs),
            " / ".join(f"{each:.2f}" for each in seconds),
            f"{exponent(seconds, 0.05):.2f}",
            " / ".join(f"{each:.0f}" for each in memory),
            f"{exponent(memory, 5.0):.2f}",
        )
        print(f"| {name} | " + " | ".join(cells) + f" | {refused[:100]} |", flush=True)  # noqa: T201
    return 0


if __name__ == "__main__":
    sys.exit(main())
