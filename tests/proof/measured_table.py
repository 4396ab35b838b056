"""What the bench of measured truth counted, as a table in Markdown."""

import itertools
from collections.abc import Sequence
from pathlib import Path

import numpy as np

from tests.proof.bench import QUANTITIES
from tests.proof.measured import Said

TABLE = Path(__file__).with_name("measured.md")


def coverage_pct(rows: Sequence[Said]) -> float:
    """Share of the intervals that hold the truth [%]."""
    return 100 * float(np.mean([row.covered for row in rows]))


def of_kind(rows: Sequence[Said], kind: str | None, name: str, *, faulty: bool | None = None) -> list[Said]:
    """The rows of one kind of logger and one number; with, without or regardless of faults of the sensor."""
    return [
        row
        for row in rows
        if row.name == name and kind in (None, row.kind) and (faulty is None or row.faulty is faulty)
    ]


def kinds(rows: Sequence[Said]) -> list[str]:
    """The kinds of loggers, in order."""
    return list(dict.fromkeys(row.kind for row in rows))


def table(groups: dict[str, tuple[Sequence[str], Sequence[Said]]]) -> str:
    """The whole table: groups of trips by what they are, each with its trips and what was told of them."""
    lines = [
        "# Measured truth",
        "",
        "Trips of electric cars, measured at 10 Hz, at the scale of the car and of a bicycle, read as imperfect "
        "loggers would have read them; written by `make proof`. Truth: straight lines between the 10 Hz samples, split "
        "where they cross zero. An interval covers if the truth lies in it; a number without one does not. Errors and "
        "widths are relative to the truth, widths are medians. A normal error that is as large as told has a width of "
        "3.9 times its rms.",
    ]
    for words, (trips, rows) in groups.items():
        lines += ["", f"## {words}: {', '.join(trips)}", "", "| number | logs | covered % |", "| --- | --- | --- |"]
        for name in QUANTITIES:
            own = of_kind(rows, None, name)
            lines.append(f"| {name} | {len(own)} | {coverage_pct(own):.1f} |")
        for (faulty, sensor), name in itertools.product(((False, "faultless"), (True, "faulty")), QUANTITIES):
            lines += ["", f"### {name}, {sensor} sensor", ""]
            lines += ["| logger | logs | covered % | bias % | rms error % | width % |"]
            lines += ["| --- | --- | --- | --- | --- | --- |"]
            lines += [_line(of_kind(rows, kind, name, faulty=faulty)) for kind in kinds(rows)]
    return "\n".join(lines) + "\n"


def _line(rows: Sequence[Said]) -> str:
    errors = np.array([row.error_pct for row in rows])
    numbers = [f"{coverage_pct(rows):.1f}", f"{np.nanmean(errors):+.2f}", f"{np.sqrt(np.nanmean(errors**2)):.2f}"]
    width = f"{np.nanmedian([row.width_pct for row in rows]):.2f}"
    return f"| {' | '.join([rows[0].kind, str(len(rows)), *numbers, width])} |"
