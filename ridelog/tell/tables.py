"""The tables of a ride's answer, as data: hills, braking, ledger, bands, budget, battery, worth and sources."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from ridelog.recording import ColumnReading
from ridelog.tell.advice import ADVICE
from ridelog.tell.kinds import (
    CHARGE,
    CLOCK_DRIFT,
    CURRENT,
    ENERGY,
    FORCE,
    GRADE,
    HEIGHT,
    LENGTH,
    PERCENTAGE,
    POWER,
    RESISTANCE,
    ROAD,
    SMALL_CHARGE,
    SPEED,
    TEMPERATURE,
    TIME,
    VOLTAGE,
    Kind,
)
from ridelog.tell.ledger import Line, band_name, lines
from ridelog.tell.numbers import METRIC, Style, amount, count, number, plain, with_unit
from ridelog.tell.ride import hill_mark
from ridelog.tell.table import Amount, Cell, Column, Elapsed, Span, Table
from ridelog.tell.times import instant
from ridelog.uncertain.budget import Budget
from ridelog.uncertain.quantity import Quantity

if TYPE_CHECKING:
    import pandas as pd

    from ridelog.answer.braking import BrakingEvent
    from ridelog.answer.pack import Pack
    from ridelog.answer.ride import Answer, ColumnUse, Source

ROLES = {"electrical": "electrical log", "track": "track", "both": "electrical log and track"}
KINDS = {"stop": "stop", "slowing": "slowing", "holding": "descent", "unknown": "not known"}
FIRST_COLUMNS = (
    "speed_mps", "distance_m", "current_a", "voltage_v", "power_w", "smooth_altitude_m", "grade_pct", "regen_mask",
    "braking_mask",
)  # fmt: skip
# What the columns of the common series are, by the unit at the end of their names.
SERIES_KINDS: dict[str, Kind] = {
    "_mps": SPEED, "_m": LENGTH, "_n": FORCE, "_w": POWER, "_wh": ENERGY, "_a": CURRENT, "_v": VOLTAGE, "_ah": CHARGE,
    "_pct": PERCENTAGE, "_c": TEMPERATURE, "_s": TIME,
}  # fmt: skip


def hills(answer: Answer) -> Table:
    """Every hill as ridden; what came back of what the same hill drew stands with the way down."""
    both_ways = {pair.down: pair.recovered_pct for pair in answer.hill_pairs}
    columns = (
        Column("hill", "hill", align="left"),
        Column("mark", "hill", align="left"),
        Column("at", "at", ROAD, decimals=2),
        Column("from_to", "from–to", ROAD, decimals=2),
        Column("length", "length", LENGTH, decimals=0),
        Column("height", "height", HEIGHT, decimals=1),
        Column("grade", "grade", GRADE, decimals=1),
        Column("drawn", "drawn", ENERGY),
        Column("available", "available", ENERGY),
        Column("returned", "returned", ENERGY),
        Column("captured", "captured", PERCENTAGE),
        Column("recovered", "recovered", PERCENTAGE),
        Column("both_ways", "recovered both ways", PERCENTAGE),
    )
    rows = tuple(
        (
            hill.name, hill_mark(hill), hill.start_m, Span(hill.start_m, hill.end_m, "–"), hill.length_m, hill.height_m,
            hill.mean_grade_pct, hill.drawn_wh, hill.available_wh if hill.direction == "down" else None,
            hill.returned_wh, hill.captured_pct if hill.direction == "down" else None, hill.recovered_pct,
            both_ways.get(hill.id),
        )
        for hill in answer.hills
    )  # fmt: skip
    return Table("hills", "Hills", columns, rows)


def hill_pairs(answer: Answer) -> Table:
    """Hills ridden both ways: returned going down, of what was drawn going up."""
    by_id = {hill.id: hill for hill in answer.hills}
    columns = (
        Column("hill", "hill", align="left"),
        Column("drawn", "drawn going up", ENERGY),
        Column("returned", "returned going down", ENERGY),
        Column("recovered", "recovered", PERCENTAGE),
    )
    rows = tuple(
        (
            by_id[pair.up].name.partition(",")[0],
            by_id[pair.up].drawn_wh,
            by_id[pair.down].returned_wh,
            pair.recovered_pct,
        )
        for pair in answer.hill_pairs
    )
    return Table("hill_pairs", "Hills ridden up and down", columns, rows)


def events(answer: Answer, chosen: Sequence[BrakingEvent] | None = None) -> Table:
    """Braking events, in the order given; all of them in that of the ride by default."""
    missed = missed_by_event(answer)
    columns = (
        Column("start", "start", align="left"),
        Column("lasts", "lasts", TIME, decimals=1),
        Column("kind", "kind", align="left"),
        Column("speed", "speed", SPEED, decimals=0),
        Column("drop", "drop", HEIGHT, decimals=1),
        Column("available", "available", ENERGY),
        Column("returned", "returned", ENERGY),
        Column("missed", "missed", ENERGY),
        Column("returned_charge", "returned", SMALL_CHARGE, decimals=0),
        Column("captured", "captured", PERCENTAGE, decimals=0),
    )
    rows = tuple(
        (
            Elapsed(event.start_s), event.end_s - event.start_s, KINDS[event.kind or "unknown"],
            Span(event.start_speed_mps, event.end_speed_mps, "→"), event.drop_m, event.available_wh,
            event.returned_wh, missed.get(event.start_s), event.returned_ah, event.captured_pct,
        )
        for event in (answer.braking.events if chosen is None else chosen)
    )  # fmt: skip
    return Table("events", "Braking events", columns, rows)


def missed_by_event(answer: Answer) -> dict[float, Quantity]:
    """What was available and never reached the battery, by the second in which the event starts [Wh]."""
    entries = answer.ledger.events if answer.ledger is not None else ()
    return {entry.start_s: entry.missed_wh for entry in entries if entry.missed_wh is not None}


def kinds(answer: Answer) -> Table:
    """Braking by kind."""
    columns = (
        Column("kind", "kind", align="left"),
        Column("events", "events"),
        Column("available", "available", ENERGY),
        Column("returned", "returned", ENERGY),
        Column("missed", "missed", ENERGY),
        Column("captured", "captured", PERCENTAGE),
    )
    rows = tuple(
        (KINDS[kind.kind], kind.events, kind.available_wh, kind.returned_wh, kind.missed_wh, kind.captured_pct)
        for kind in answer.braking.kinds
        if kind.events
    )
    return Table("kinds", "Braking by kind", columns, rows)


def ledger(answer: Answer, style: Style = METRIC) -> Table | None:
    """Where the energy of the whole ride went; ``None`` without a ledger."""
    if answer.ledger is None:
        return None
    columns = (
        Column("line", "energy flow", align="left"),
        Column("energy", "energy", ENERGY),
        Column("meaning", "what it is", align="left"),
    )
    rows = tuple((_signed(line, style), line.quantity, line.meaning) for line in lines(answer.ledger.ride))
    return Table("ledger", "Where the energy went", columns, rows)


def _signed(line: Line, style: Style) -> str:
    sign = {1: "+", -1: style.minus}.get(line.sign, " ")
    return f"{sign} {line.name}"


def hill_ledger(answer: Answer) -> Table | None:
    """Where the energy of each hill went; ``None`` without a ledger."""
    if answer.ledger is None:
        return None
    fields = {
        "drawn_wh": "drawn", "air_wh": "air", "rolling_wh": "rolling", "potential_wh": "height",
        "available_wh": "available", "returned_wh": "returned", "missed_wh": "missed", "unexplained_wh": "unexplained",
    }  # fmt: skip
    columns = (Column("hill", "hill", align="left"), *(Column(key, name, ENERGY) for key, name in fields.items()))
    rows = tuple((entry.name, *(getattr(entry, key) for key in fields)) for entry in answer.ledger.hills)
    return Table("hill_ledger", "Where the energy of each hill went", columns, rows)


def bands(answer: Answer, style: Style = METRIC) -> Table | None:
    """What braking had available and what came back, by speed; ``None`` without a ledger."""
    if answer.ledger is None:
        return None
    columns = (
        Column("speed", "speed", align="left"),
        Column("braked", "braked for", TIME, decimals=0),
        Column("available", "available", ENERGY),
        Column("returned", "returned", ENERGY),
        Column("missed", "missed", ENERGY),
        Column("captured", "captured", PERCENTAGE),
    )
    rows = tuple(
        (band_name(band, style), band.time_s, band.available_wh, band.returned_wh, band.missed_wh, band.captured_pct)
        for band in answer.speed_bands
    )
    return Table("bands", "Braking by speed", columns, rows)


def budget(found: Budget, style: Style = METRIC) -> Table:
    """Where the uncertainty of the recovered share comes from, the largest source first."""
    columns = (
        Column("source", "source", align="left"),
        Column("alone", "alone it gives"),
        Column("share", "share of variance"),
        Column("advice", "what would shrink it", align="left"),
    )
    rows: list[tuple[Cell, ...]] = [
        (row.name, _plus_minus(row.u, found.unit, style), _percent(row.share_pct, style), ADVICE[row.advice])
        for row in found.rows
    ]
    rows.append(("all together", _plus_minus(found.u_c, found.unit, style), _percent(100.0, style), ""))
    return Table("budget", "Where its uncertainty comes from", columns, tuple(rows))


def _plus_minus(u: float | None, unit: str, style: Style) -> str:
    return "" if u is None else f"±{with_unit(number(u, style, digits=2), unit, style)}"


def _percent(share_pct: float | None, style: Style) -> str:
    return "" if share_pct is None else amount(share_pct, PERCENTAGE, style, digits=2)


def pack(found: Pack) -> Table:
    """How the battery was treated; rows of what is known."""
    columns = (
        Column("measured", "measured", align="left"),
        Column("value", "value", align="left"),
        Column("meaning", "what it is", align="left"),
    )
    all_rows: tuple[tuple[str, Quantity | None, Kind, str], ...] = (
        ("resistance", found.resistance_ohm, RESISTANCE, "of cells, BMS and leads together, over about a second"),
        ("highest cell", found.highest_cell_v, VOLTAGE, "the mean of the cells where single ones are not logged"),
        ("highest charge current", found.highest_charge_a, CURRENT, "of all samples"),
        ("free at the start", found.start_charge_headroom_ah, CHARGE, "the room needed for all that came back"),
    )
    rows = tuple((name, Amount(value, kind), meaning) for name, value, kind, meaning in all_rows if value is not None)
    return Table("pack", "How the battery was treated", columns, rows)


def sources(answer: Answer) -> Table:
    """The files, and how their clocks were joined."""
    columns = (
        Column("file", "file", align="left"),
        Column("read_as", "read as", align="left"),
        Column("samples", "samples"),
        Column("step", "step", TIME),
        Column("covered", "covered", PERCENTAGE, decimals=1),
        Column("offset", "clock offset", TIME),
        Column("drift", "clock drift", CLOCK_DRIFT, decimals=0),
    )
    rows = tuple(
        (
            source.path, f"{source.format.upper()}, {ROLES[source.role]}", source.samples, plain(source.step_s, 3),
            source.covered_pct, "reference" if is_reference(source) else source.clock_offset_s,
            "" if is_reference(source) else source.clock_drift_ppm,
        )
        for source in answer.sources
    )  # fmt: skip
    return Table("sources", "Sources", columns, rows)


def is_reference(source: Source) -> bool:
    """Whether a source's clock is the one that all others are set against."""
    offset, drift = source.clock_offset_s, source.clock_drift_ppm
    return offset is not None and offset.value == 0 and drift is not None and drift.value == 0


def source_facts(source: Source, style: Style) -> list[tuple[str, str]]:
    """One source as words and their values."""
    step = amount(source.step_s, TIME, style, digits=2)
    return [
        ("read as", f"{source.format.upper()}, {ROLES[source.role]}"),
        ("samples", f"{count(source.samples, style)}, one every {step} (median)"),
        ("covered", f"{amount(source.covered_pct, PERCENTAGE, style)} of its time"),
        ("starts", instant(source.start) if source.start else "the file states no time of day with its zone"),
        ("clock", _clock(source, style)),
        ("SHA-256", source.sha256),
    ]


def _clock(source: Source, style: Style) -> str:
    if is_reference(source):
        return "the one that all others are set against"
    if source.clock_offset_s is None:
        return "not known against the electrical log"
    offset_s = source.clock_offset_s.value
    way = "ahead of" if offset_s > 0 else "behind"
    apart = f"{amount(abs(offset_s), TIME, style)} {way} the electrical log"
    drift = source.clock_drift_ppm
    if drift is None or drift.value == 0:
        return apart
    return f"{apart}, {amount(abs(drift.value), CLOCK_DRIFT, style, digits=2)} {'fast' if drift.value > 0 else 'slow'}"


def samples(series: pd.DataFrame) -> Table:
    """The common series of a ride, one sample a row; what most people look for comes first."""
    wanted = [name for name in FIRST_COLUMNS if name in series]
    names = [*wanted, *(str(name) for name in series if name not in (*wanted, "elapsed_s"))]
    series, elapsed_s = series[names], series["elapsed_s"]
    kinds_of = [_series_kind(str(name)) for name in series.columns]
    columns = (
        Column("elapsed", "time", align="left"),
        *(
            Column(str(name), _series_name(str(name)), kind)
            for name, kind in zip(series.columns, kinds_of, strict=True)
        ),
    )
    cells = [series[name].astype(object).where(series[name].notna(), None).tolist() for name in series]
    times = [Elapsed(float(seconds)) for seconds in elapsed_s]
    rows = tuple((time, *map(_sample, values)) for time, *values in zip(times, *cells, strict=True))
    return Table("samples", "Samples", columns, rows)


def _sample(value: object) -> Cell:
    if isinstance(value, bool):
        return "yes" if value else "no"
    return float(value) if isinstance(value, (int, float)) else None if value is None else str(value)


def _series_kind(name: str) -> Kind | None:
    return next((kind for suffix, kind in SERIES_KINDS.items() if name.endswith(suffix)), None)


def _series_name(name: str) -> str:
    stem = next((name.removesuffix(suffix) for suffix in (*SERIES_KINDS, "_mask") if name.endswith(suffix)), name)
    return stem.replace("_", " ")


def column_readings(readings: Sequence[ColumnReading], style: Style = METRIC) -> Table:
    """How each column of a log was understood, and why."""
    columns = (
        Column("column", "column", align="left"),
        Column("quantity", "understood as", align="left"),
        Column("unit", "unit", align="left"),
        Column("conversion", "conversion", align="left"),
        Column("why", "why", align="left"),
    )
    rows = tuple(
        (reading.header, _understood(reading), reading.unit or "", conversion(reading, style), reading.why)
        for reading in readings
    )
    return Table("columns", "Columns", columns, rows)


def column_uses(uses: Sequence[ColumnUse], style: Style = METRIC) -> Table:
    """How each column of a log was used for an answer, and why; as `column_readings`."""
    readings = [
        ColumnReading(
            header=use.column, channel=use.channel, quantity=use.quantity or "", unit=use.unit,
            factor=use.factor or 1.0, offset=use.offset or 0.0, sign=use.sign or 1, why=use.why,
        )
        for use in uses
    ]  # fmt: skip
    return column_readings(readings, style)


def _understood(reading: ColumnReading) -> str:
    if reading.channel is not None:
        return reading.quantity
    return f"not used ({reading.quantity})" if reading.quantity else "not used"


def conversion(reading: ColumnReading, style: Style = METRIC) -> str:
    """ "× 0.001, sign turned": what was done to the column's values."""
    if reading.channel is None:
        return ""
    words = [f"+ {plain(reading.offset, 6, style)}"] if reading.offset else []
    words += [f"× {plain(reading.factor, 6, style)}"] if reading.factor != 1 else []
    words += ["sign turned"] if reading.sign < 0 else []
    return ", ".join(words) or "as it is"
