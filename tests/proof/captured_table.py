"""What the study of available and captured counted, as a table in Markdown."""

from collections.abc import Sequence
from pathlib import Path

import numpy as np

from tests.proof.captured_study import WORLDS
from tests.proof.study import Result, Row
from tests.proof.table import median_width, misses_by_side, named

TABLE = Path(__file__).with_name("captured.md")
NUMBERS = [f"{part} {name}" for part in ("ride", "hill", "event") for name in ("available", "captured")]
WORDS = (
    "Written by `make proof`. An interval covers if the simulation's truth lies in it; a number that comes without an "
    "interval does not. *Needed* is the part of the intervals' widths that would have covered 95 times in 100: above "
    "100 % they are too narrow, far below needlessly wide. What a ride decides it decides for all of its hills and "
    "events, so that the coverage of 200 rides is known to about 1.5 points, whatever the number of cases. Available "
    "in Wh, captured in %."
)


def covered(rows: Sequence[Row]) -> float:
    """Share of the intervals that hold the truth."""
    return float(np.mean([row.covered for row in rows]))


def rms_error(rows: Sequence[Row]) -> float:
    """Root mean square of value less truth, of the values there are."""
    return float(np.sqrt(np.mean([(row.value - row.truth) ** 2 for row in rows if row.value is not None])))


def needed_share(rows: Sequence[Row]) -> float:
    """Part of the widths that would have covered 95 times in 100, each interval shrunk or grown about its value."""
    used = []
    for row in rows:
        if row.value is None or row.low is None or row.high is None:
            continue
        side = row.high - row.value if row.truth > row.value else row.value - row.low
        off = abs(row.truth - row.value)
        used.append(off / side if side > 0 else (0.0 if off <= 1e-9 else np.inf))
    return float(np.quantile(used, 0.95, method="higher"))


def table(result: Result) -> str:
    """Every number of every world, in Markdown."""
    n_rides = {world: len({row.ride for row in result.rows if row.name.startswith(world)}) for world in WORLDS}
    lines = ["# Available and captured", "", WORDS]
    for world in WORLDS:
        lines += ["", f"## {world.capitalize()}: {n_rides[world]} rides", ""]
        lines += ["| number | cases | covered % | truth below % | above % | median width | rms error | needed % |"]
        lines += ["| --- | --- | --- | --- | --- | --- | --- | --- |"]
        lines += [_line(name, named(result.rows, f"{world} {name}")) for name in NUMBERS]
    return "\n".join(lines) + "\n"


def _line(name: str, rows: Sequence[Row]) -> str:
    shares = [100 * share for share in (covered(rows), *misses_by_side(rows))]
    sizes = [median_width(rows), rms_error(rows)]
    cells = [f"{share:.1f}" for share in shares] + [f"{size:.3g}" for size in sizes]
    return f"| {' | '.join([name, str(len(rows)), *cells, f'{100 * needed_share(rows):.0f}'])} |"
