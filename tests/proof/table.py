"""The coverage study as figures and as a table in Markdown."""

import itertools
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from tests.proof.bench import QUANTITIES
from tests.proof.study import Joined, Result, Row

FACTORS = (
    "step_s", "averaged", "standby_known", "zero_limit_a", "gain_limit_pct", "charge_gain_limit_pct", "noise_a",
    "resolution_a", "lost_ratio",
)  # fmt: skip
TRACK_NAMES = (
    "hill returned up", "hill returned down", "hill drawn up", "hill drawn down",
    "hill height, own span", "hill height, true span",
    "event returned, own span", "event returned, true span", "clock offset",
)  # fmt: skip

ANY_LOSS, NO_LOSS = (0.0, 0.02, 0.05), (0.0,)


@dataclass(frozen=True)
class Corner:
    """One number in one corner of the grid: levels of one or two factors."""

    name: str
    levels: tuple[tuple[str, Any], ...]
    rows: tuple[Row, ...]

    @property
    def coverage(self) -> float:
        """Share of the intervals that hold the truth."""
        return float(np.mean([row.covered for row in self.rows]))

    @property
    def words(self) -> str:
        """The corner as a person reads it."""
        return " and ".join(f"{factor} = {level}" for factor, level in self.levels) or "all"


def named(rows: Iterable[Row], name: str) -> list[Row]:
    """The rows of one number."""
    return [row for row in rows if row.name == name]


def corners(rows: Sequence[Row], name: str, *, n_factors: int, least: int = 100) -> list[Corner]:
    """Every combination of levels of ``n_factors`` factors that at least ``least`` rides fall into."""
    found = []
    own = named(rows, name)
    for factors in itertools.combinations(FACTORS, n_factors):
        groups: dict[tuple[Any, ...], list[Row]] = {}
        for row in own:
            groups.setdefault(tuple(row.logger[factor] for factor in factors), []).append(row)
        found += [
            Corner(name, tuple(zip(factors, levels, strict=True)), tuple(group))
            for levels, group in sorted(groups.items())
            if len(group) >= least
        ]
    return found


def misses_by_side(rows: Sequence[Row]) -> tuple[float, float]:
    """Share of truths below and above their intervals."""
    known = [row for row in rows if row.low is not None and row.high is not None]
    below = sum(not row.covered and row.truth < (row.low or 0.0) for row in known)
    above = sum(not row.covered and row.truth > (row.high or 0.0) for row in known)
    return below / max(len(rows), 1), above / max(len(rows), 1)


def median_width(rows: Sequence[Row]) -> float:
    """Of the intervals there are; NaN without any."""
    widths = [row.width for row in rows if row.low is not None]
    return float(np.median(widths)) if widths else float("nan")


def oracle_ratio(rows: Sequence[Row]) -> float:
    """Mean width over the oracle's mean width, where the oracle was asked; NaN where it was not."""
    asked = [row for row in rows if row.oracle_width is not None and row.low is not None]
    if not asked:
        return float("nan")
    return float(np.mean([row.width for row in asked]) / np.mean([row.oracle_width or 0.0 for row in asked]))


def offset_errors_s(joins: Iterable[Joined], *, step_s: float | None = None) -> np.ndarray:
    """Sizes of the errors of all clock offsets that were trusted [s]."""
    errors = [
        abs(join.offset_error_s)
        for join in joins
        if join.trusted and join.offset_error_s is not None and step_s in (None, join.step_s)
    ]
    return np.array(errors)


def wrong_joins(joins: Iterable[Joined], *, limit_s: float = 2.0) -> list[Joined]:
    """Joins that were trusted though they are off by more than ``limit_s`` at some point of the track."""
    return [join for join in joins if join.trusted and join.worst_error_s > limit_s]


def table(result: Result) -> str:
    """Everything that the study found, in Markdown; nothing in it depends on when or where it was run."""
    rides = len({row.ride for row in result.rows})
    lines = [
        "# Coverage study",
        "",
        f"{rides} simulated rides, {len(named(result.rows, QUANTITIES[0]))} loggers, {len(result.joins)} tracks; "
        "written by `make proof`. An interval covers if the simulation's truth lies in it; a number that comes without "
        "an interval does not.",
        "",
        "## Totals",
        "",
        *_totals(result),
        "",
        "## Sharpness: 5 Hz, standby known, ± 0.1 A, ± 1 %, 5 to 10 % recovered",
        "",
        *_sharp(result),
        "",
        "## Hills, braking events, clocks",
        "",
        *_tracks(result),
        "",
        "## Corners of the grid with at least 100 rides",
        "",
        *_corners(result),
    ]
    return "\n".join(lines) + "\n"


def _totals(result: Result) -> list[str]:
    lines = [
        "| number | rides | covered % | truth below % | truth above % | median width "
        "| width / oracle: standby known | not known | known, none lost | not known, none lost |",
        "| --- | --- | --- | --- | --- | --- | --- | --- | --- | --- |",
    ]
    for name in QUANTITIES:
        rows = named(result.rows, name)
        below, above = misses_by_side(rows)
        ratios = [
            oracle_ratio(loggers(rows, standby_known=known, lost_ratios=lost))
            for lost in (ANY_LOSS, NO_LOSS)
            for known in (True, False)
        ]
        shares = " | ".join((_pct(rows), f"{100 * below:.1f}", f"{100 * above:.1f}"))
        widths = " | ".join(f"{ratio:.2f}" for ratio in ratios)
        lines.append(f"| {name} | {len(rows)} | {shares} | {median_width(rows):.4g} | {widths} |")
    return lines


def loggers(rows: Iterable[Row], *, standby_known: bool | None, lost_ratios: tuple[float, ...]) -> list[Row]:
    """The rows of loggers whose standby draw is known or not (``None``: either), and which lose this share."""
    return [
        row
        for row in rows
        if standby_known in (None, row.logger["standby_known"]) and row.logger["lost_ratio"] in lost_ratios
    ]


def sharp_rows(result: Result, name: str) -> list[Row]:
    """One number by the sharp logger, of the rides that truly recovered 5 to 10 %."""
    return [row for row in named(result.rows, f"sharp {name}") if name[:9] != "recovered" or 5 <= row.truth <= 10]


def _sharp(result: Result) -> list[str]:
    lines = ["| number | rides | covered % | median width | width / oracle |", "| --- | --- | --- | --- | --- |"]
    for name in QUANTITIES:
        rows = sharp_rows(result, name)
        lines.append(f"| {name} | {len(rows)} | {_pct(rows)} | {median_width(rows):.4g} | {oracle_ratio(rows):.2f} |")
    return lines


def _tracks(result: Result) -> list[str]:
    lines = [
        "| number | cases | with interval | covered % | truth below % | truth above % | median width |",
        "| --- | --- | --- | --- | --- | --- | --- |",
    ]
    for name in TRACK_NAMES:
        rows = named(result.rows, name)
        below, above = misses_by_side(rows)
        n_known = sum(row.low is not None for row in rows)
        lines.append(
            f"| {name} | {len(rows)} | {n_known} | {_pct(rows)} | {100 * below:.1f} | {100 * above:.1f} | "
            f"{median_width(rows):.4g} |"
        )
    at_5_hz, everywhere = offset_errors_s(result.joins, step_s=0.2), offset_errors_s(result.joins)
    methods = Counter(join.method if join.trusted else "refused" for join in result.joins)
    return [
        *lines,
        "",
        f"Of {result.n_hills} true hills {result.n_hills_found} were found, of {result.n_events} true braking events "
        f"{result.n_events_found}. Clocks joined by: {', '.join(f'{k} {n}' for k, n in sorted(methods.items()))}. "
        f"Size of the error of the clock offset, 95th percentile: {np.quantile(at_5_hz, 0.95):.3f} s for 5 Hz logs "
        f"({len(at_5_hz)}), {np.quantile(everywhere, 0.95):.3f} s for all ({len(everywhere)}); "
        f"trusted and wrong by more than 2 s: {len(wrong_joins(result.joins))}.",
    ]


def _corners(result: Result) -> list[str]:
    lines = ["| corner | rides | " + " | ".join(QUANTITIES) + " |", "| --- | --- |" + " --- |" * len(QUANTITIES)]
    by_words: dict[str, list[Corner]] = {}
    for name in QUANTITIES:
        for corner in corners(result.rows, name, n_factors=1):
            by_words.setdefault(corner.words, []).append(corner)
    for words, group in by_words.items():
        cells = " | ".join(f"{100 * corner.coverage:.1f}" for corner in group)
        lines.append(f"| {words} | {len(group[0].rows)} | {cells} |")
    worst = sorted(
        (corner for name in QUANTITIES for corner in corners(result.rows, name, n_factors=2)),
        key=lambda corner: corner.coverage,
    )
    lines += ["", f"Of {len(worst)} corners of two factors the ten least covered:", ""]
    lines += ["| number | corner | rides | covered % |", "| --- | --- | --- | --- |"]
    lines += [f"| {c.name} | {c.words} | {len(c.rows)} | {100 * c.coverage:.1f} |" for c in worst[:10]]
    return lines


def _pct(rows: Sequence[Row]) -> str:
    return f"{100 * float(np.mean([row.covered for row in rows])):.1f}" if rows else "–"
