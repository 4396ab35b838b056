"""Answers and column readings as text for people: sentences, tables on a terminal, CSV elsewhere."""

from __future__ import annotations

import csv
import dataclasses
from collections.abc import Sequence
from math import floor, log10
from typing import IO, TYPE_CHECKING, Any

from rich import box
from rich.console import Console
from rich.table import Table
from rich.text import Text

from ridelog.answer.braking import Braking, BrakingEvent
from ridelog.answer.hills import Hill
from ridelog.answer.ledger import LedgerEntry, SpeedBand
from ridelog.answer.pack import Pack
from ridelog.answer.ride import Answer, RideSummary
from ridelog.findings import Finding, said_first
from ridelog.tell import coastdown as coast_words
from ridelog.tell import ledger as ledger_words
from ridelog.tell.ride import (
    BRAKE_CAUTION,
    UNKNOWN,
    duration,
    fixed,
    headline,
    number,
    share_of_hills,
    worth_rows,
    worth_verdict,
)
from ridelog.uncertain.quantity import Quantity

if TYPE_CHECKING:
    from ridelog.answer.coastdown import CoastDown
    from ridelog.importers.registry import ColumnReport

SEVERITY_STYLE = {"danger": "bold red", "warning": "yellow", "note": "dim"}
PLAIN_WIDTH = 140  # where no terminal tells its width
REFERENCE = Quantity(0.0, 0.0, 0.0)  # the clock that all others are set against


def _console(stream: IO[str]) -> Console:
    terminal = stream.isatty()
    return Console(file=stream, width=None if terminal else PLAIN_WIDTH, highlight=False, emoji=False, markup=False)


def print_summary(answer: Answer, stream: IO[str]) -> None:
    """The answer as a person wants it: headline, key figures, hills, braking, findings, sources."""
    console = _console(stream)
    _print_findings([finding for finding in answer.findings if said_first(finding)], console)  # before any praise
    console.print(Text(headline(answer), style="bold"))
    if (sentence := share_of_hills(answer)) is not None:
        console.print(sentence)
    console.print()
    console.print(_key_figures(answer))
    if answer.hills:
        console.print(_hill_table(answer.hills))
    if answer.hill_pairs:
        console.print(_pair_table(answer))
    if answer.braking.events:
        console.print(_braking_table(answer.braking.events))
    _print_findings([finding for finding in answer.findings if not said_first(finding)], console)
    console.print(_source_table(answer))
    _print_worth(answer, console)


def _print_worth(answer: Answer, console: Console) -> None:
    """What regeneration is worth on this ride, and what it never replaces."""
    if answer.worth is None:
        return
    console.print(Text("Is it worth it?", style="bold"))
    console.print(worth_verdict(answer.worth))
    table = Table(box=None, show_header=False, pad_edge=False)
    table.add_column(no_wrap=True)
    table.add_column()
    for name, sentence in worth_rows(answer):
        table.add_row(name, sentence)
    console.print(table)
    console.print(Text(BRAKE_CAUTION, style="dim"))


def _key_figures(answer: Answer) -> Table:
    ride, energy, charge = answer.ride, answer.energy, answer.charge
    table = Table(box=None, show_header=False, pad_edge=False)
    table.add_column()
    table.add_column()
    start = ride.start.strftime("%Y-%m-%d %H:%M:%S UTC") if ride.start else "start not known"
    moving = f", {duration(ride.moving_s)} of it moving" if ride.moving_s is not None else ""
    table.add_row("ride", f"{ride.name}, {start}, {duration(ride.duration_s)}{moving}")
    table.add_row("road", _road(ride))
    for name, unit, flow in (
        ("energy", "Wh", (energy.drawn_wh, energy.returned_wh, energy.recovered_pct)),
        ("charge", "Ah", (charge.drawn_ah, charge.returned_ah, charge.recovered_pct)),
    ):
        if (drawn := flow[0]) is not None:
            table.add_row(name, _shares(drawn, *flow[1:], unit))
    if energy.net_wh_per_km is not None:
        gained = "" if energy.distance_gained_m is None else f"; {_km(energy.distance_gained_m)} gained"
        table.add_row("use", f"{_q(energy.net_wh_per_km, 'Wh/km')} net{gained}")
    table.add_row("braking", _braking(answer.braking))
    if told := _pack(answer.pack):
        table.add_row("pack", told)
    return table


def _pack(pack: Pack) -> str:
    """What is known of the pack, in one line; empty where nothing is."""
    parts = (
        ("resists with", pack.resistance_ohm, "ohm", None),
        ("highest cell", pack.highest_cell_v, "V", 2),
        ("charged with at most", pack.highest_charge_a, "A", None),
        ("to be free at the start", pack.start_charge_headroom_ah, "Ah", 2),
    )
    return "; ".join(f"{name} {_q(value, unit, digits)}" for name, value, unit, digits in parts if value is not None)


def _road(ride: RideSummary) -> str:
    way = "distance not known" if ride.distance_m is None else _km(ride.distance_m)
    if ride.ascent_m is None or ride.descent_m is None:
        return f"{way}, height not known"
    return f"{way}, {fixed(ride.ascent_m.value, 0)} m up, {fixed(ride.descent_m.value, 0)} m down"


def _shares(drawn: Quantity, returned: Quantity | None, recovered: Quantity | None, unit: str) -> str:
    if returned is None:
        return f"{_q(drawn, unit)} drawn; what returned is not known"
    share = "" if recovered is None else f", {_q(recovered, '%')} recovered"
    return f"{_q(drawn, unit)} drawn, {_q(returned, unit)} returned{share}"


def _braking(braking: Braking) -> str:
    events = "1 event" if len(braking.events) == 1 else f"{len(braking.events)} events"
    if braking.available_wh is None:
        return f"{events}; what was available is not known" if braking.events else events
    caught = "" if braking.captured_pct is None else f", {_q(braking.captured_pct, '%')} of it captured"
    return f"{events}, {_q(braking.available_wh, 'Wh')} available{caught}"


def _hill_table(hills: Sequence[Hill]) -> Table:
    return _known_columns(
        "Hills",
        {
            "hill": [hill.name for hill in hills],
            "at km": [f"{hill.start_m / 1000:.2f}" for hill in hills],
            "length m": [f"{hill.length_m:.0f}" for hill in hills],
            "height m": [_cell(hill.height_m, digits=1) for hill in hills],
            "grade %": [_cell(hill.mean_grade_pct, digits=1) for hill in hills],
            "drawn Wh": [_cell(hill.drawn_wh) for hill in hills],
            "returned Wh": [_cell(hill.returned_wh) for hill in hills],
            "recovered %": [_cell(hill.recovered_pct) for hill in hills],
            "available Wh": [_cell(hill.available_wh) for hill in hills],
            "captured %": [_cell(hill.captured_pct) for hill in hills],
        },
    )


def _pair_table(answer: Answer) -> Table:
    hills = {hill.id: hill for hill in answer.hills}
    return _known_columns(
        "Hills ridden both ways",
        {
            "hill": [hills[pair.up].name.split(",")[0] for pair in answer.hill_pairs],
            "drawn up Wh": [_cell(hills[pair.up].drawn_wh) for pair in answer.hill_pairs],
            "returned down Wh": [_cell(hills[pair.down].returned_wh) for pair in answer.hill_pairs],
            "recovered %": [_cell(pair.recovered_pct) for pair in answer.hill_pairs],
        },
    )


def _braking_table(events: Sequence[BrakingEvent]) -> Table:
    kinds = [kind for kind in ("stop", "slowing", "holding", None) if any(event.kind == kind for event in events)]
    chosen = [[event for event in events if event.kind == kind] for kind in kinds]
    available, returned = ([_sum(group, name) for group in chosen] for name in ("available_wh", "returned_wh"))
    captured = [100 * r / a if a and r is not None else None for a, r in zip(available, returned, strict=True)]
    return _known_columns(
        "Braking, by kind",
        {
            "kind": [kind or "not known" for kind in kinds],
            "events": [str(len(group)) for group in chosen],
            "available Wh": [number(value) for value in available],
            "returned Wh": [number(value) for value in returned],
            "captured %": [number(value) for value in captured],
        },
    )


def _known_columns(title: str, columns: dict[str, list[str]]) -> Table:
    """A table of the columns in which anything is known; the first is text, the others are numbers."""
    table = _table(title)
    kept = {head: cells for head, cells in columns.items() if set(cells) != {UNKNOWN}}
    for index, head in enumerate(kept):
        table.add_column(head, justify="right" if index else "left", no_wrap=not index)
    for row in zip(*kept.values(), strict=True):
        table.add_row(*row)
    return table


def _sum(records: Sequence[Any], name: str) -> float | None:
    known = [value.value for record in records if (value := getattr(record, name)) is not None]
    return sum(known) if known else None


def _print_findings(findings: Sequence[Finding], console: Console) -> None:
    for finding in findings:
        label = Text(f"{finding.severity}: ", style=SEVERITY_STYLE[finding.severity])
        console.print(label + Text(f"{finding.message} [{finding.code}]", style=""))


def _source_table(answer: Answer) -> Table:
    table = _table("Sources")
    for head in ("file", "format", "role", "samples", "step s", "covered %", "clock offset s", "drift ppm"):
        table.add_column(head, justify="left" if head in ("file", "format", "role") else "right", overflow="fold")
    for source in answer.sources:
        is_reference = source.clock_offset_s == REFERENCE
        table.add_row(
            source.path, source.format, source.role, str(source.samples), f"{source.step_s:g}",
            f"{source.covered_pct:.1f}", "reference" if is_reference else _q(source.clock_offset_s, digits=2),
            "" if is_reference else _q(source.clock_drift_ppm, digits=0),
        )  # fmt: skip
    return table


def print_budget(answer: Answer, stream: IO[str]) -> None:
    """The uncertainty budget of the recovered share: each source, its size, its share, and what would shrink it."""
    console = _console(stream)
    console.print(Text(headline(answer), style="bold"))
    budget = answer.budget[0] if answer.budget else None
    if budget is None:
        console.print("There is no recovered share, so there is no budget of its uncertainty.")
        return
    table = _table("Where its uncertainty comes from")
    for head in ("source", f"u, {budget.unit}", "share of variance, %", "what would shrink it"):
        table.add_column(head, justify="left" if head in ("source", "what would shrink it") else "right")
    for row in budget.rows:
        table.add_row(row.name, number(row.u, digits=2), number(row.share_pct, digits=2), row.advice)
    table.add_row("all together", number(budget.u_c, digits=2), "100", "")
    console.print(table)
    if budget.largest is not None and budget.largest.advice:
        console.print(f"Most would be gained on the {budget.largest.name}: {budget.largest.advice}.")


def print_coastdown(answer: CoastDown, stream: IO[str]) -> None:
    """A coast-down as a person wants it: headline, figures, stretches, findings."""
    console = _console(stream)
    console.print(Text(coast_words.headline(answer), style="bold"))
    if figures := coast_words.key_figures(answer):
        table = Table(box=None, show_header=False, pad_edge=False)
        for row in figures:
            table.add_row(*row)
        console.print()
        console.print(table)
    if answer.stretches:
        console.print(_known_columns("Stretches of coasting", coast_words.stretch_rows(answer)))
    _print_findings(answer.findings, console)


def print_columns(report: ColumnReport, stream: IO[str]) -> None:
    """How a log was read: its form, each column's reading with the reason, and what is still to be answered."""
    console = _console(stream)
    console.print(Text(report.name, style="bold"))
    for fact in report.facts:
        console.print(f"  {fact}")
    console.print(f"  time: {report.clock}")
    table = _table("Columns")
    for head in ("column", "understood as", "unit", "factor", "sign", "why"):
        table.add_column(head, overflow="fold", justify="right" if head in ("factor", "sign") else "left")
    for reading in report.readings:
        used = reading.channel is not None
        unused = f"not used ({reading.quantity})" if reading.quantity else "not used"
        table.add_row(
            reading.header, reading.quantity if used else unused, reading.unit or "",
            f"{reading.factor:g}" if used else "", f"{reading.sign:+d}" if used else "", reading.why,
            style="" if used else "dim",
        )  # fmt: skip
    console.print(table)
    for question in report.questions:
        console.print(Text("question: ", style="bold yellow") + Text(question))
    _print_findings(report.findings, console)


def _table(title: str) -> Table:
    return Table(title=title, title_justify="left", title_style="bold", box=box.SIMPLE_HEAD, pad_edge=False)


def _q(value: Quantity | None, unit: str = "", digits: int | None = None) -> str:
    if value is None:
        return "not known" if unit else UNKNOWN
    text = number(value.value) if digits is None else f"{value.value:.{digits}f}"
    if value.low95 is not None and value.high95 is not None:
        low, high = (number(v) if digits is None else f"{v:.{digits}f}" for v in (value.low95, value.high95))
        text = f"{text} ({low} to {high})"
    return f"{text} {unit}".strip()


def _cell(value: Quantity | None, digits: int | None = None) -> str:
    """For a table: the value, with half the width of its interval where there is one."""
    if value is None:
        return UNKNOWN
    if value.low95 is None or value.high95 is None or value.high95 == value.low95:
        return number(value.value) if digits is None else f"{value.value:.{digits}f}"
    half = (value.high95 - value.low95) / 2
    places = max(0, -floor(log10(half)))  # one digit of the half-width, and the value to the same place
    return f"{value.value:.{places}f} ±{half:.{places}f}"


def _km(value: Quantity) -> str:
    return f"{fixed(value.value / 1000, 2)} km"


def print_table(answer: Answer, name: str, stream: IO[str]) -> None:
    """One table: on a terminal to look at, elsewhere as CSV with one unit a column and bounds beside values."""
    if name == "ledger" and stream.isatty():
        print_ledger(answer, _console(stream))
        return
    header, rows = table_rows(answer, name)
    if not stream.isatty():
        writer = csv.writer(stream, lineterminator="\n")
        writer.writerow(header)
        writer.writerows([["" if cell is None else cell for cell in row] for row in rows])
        return
    kept = [index for index, head in enumerate(header) if not head.endswith(("_low95", "_high95"))]
    table = _table(name)
    for index in kept:
        table.add_column(header[index], justify="right" if index else "left")
    for row in rows:
        table.add_row(*(number(row[i]) if isinstance(row[i], float) else str(row[i] or "–") for i in kept))
    _console(stream).print(table)


def print_ledger(answer: Answer, console: Console) -> None:
    """Where the energy of the ride and of its hills went, and braking by speed."""
    ledger = answer.ledger
    if ledger is None:
        console.print("There is no ledger: it takes battery energy, speed and heights.")
        return
    whole = _table("Where the energy went")
    for head in ("", "Wh", "95 % interval", ""):
        whole.add_column(head, justify="right" if head else "left")
    for line in ledger_words.lines(ledger.ride):
        sign = {1: "+ ", -1: "- "}.get(line.sign, "  ")
        whole.add_row(sign + line.name, *_value_and_interval(line.quantity), line.meaning)
    console.print(whole)
    console.print(ledger_words.closing(ledger))
    hills = ledger.hills
    heads = {
        "drawn Wh": "drawn_wh", "air Wh": "air_wh", "rolling Wh": "rolling_wh", "height Wh": "potential_wh",
        "offered Wh": "available_wh", "returned Wh": "returned_wh", "missed Wh": "missed_wh", "rest Wh": "rest_wh",
    }  # fmt: skip
    if hills:
        cells = {head: [_cell(getattr(entry, field)) for entry in hills] for head, field in heads.items()}
        console.print(_known_columns("Hills", {"hill": [entry.name for entry in hills], **cells}))
    if answer.speed_bands:
        console.print(_band_table(answer.speed_bands))


def _band_table(bands: Sequence[SpeedBand]) -> Table:
    return _known_columns(
        "Braking, by speed",
        {
            "speed": [ledger_words.band_name(band) for band in bands],
            "braked s": [f"{band.time_s:.0f}" for band in bands],
            "offered Wh": [_cell(band.available_wh) for band in bands],
            "returned Wh": [_cell(band.returned_wh) for band in bands],
            "missed Wh": [_cell(band.missed_wh) for band in bands],
            "captured %": [_cell(band.captured_pct) for band in bands],
        },
    )


def _value_and_interval(value: Quantity | None) -> tuple[str, str]:
    if value is None or value.low95 is None or value.high95 is None:
        return (UNKNOWN if value is None else number(value.value)), ""
    return number(value.value), f"{number(value.low95)} to {number(value.high95)}"


def table_rows(answer: Answer, name: str) -> tuple[list[str], list[list[Any]]]:
    """Header and rows of the table ``name``: "events", "hills", "samples", "ledger" or "bands"."""
    if name == "samples":
        series = answer.series
        times = [stamp.isoformat().replace("+00:00", "Z") for stamp in series.index]
        columns = [series[column].astype(object).where(series[column].notna(), None).tolist() for column in series]
        return ["time", *map(str, series.columns)], [list(row) for row in zip(times, *columns, strict=True)]
    ledger = answer.ledger
    kind, records = {
        "events": (BrakingEvent, answer.braking.events),
        "hills": (Hill, answer.hills),
        "ledger": (LedgerEntry, ledger.entries if ledger is not None else ()),
        "bands": (SpeedBand, answer.speed_bands),
    }[name]
    header: list[str] = []
    quantities = {field.name for field in dataclasses.fields(kind) if "Quantity" in str(field.type)}
    for field in dataclasses.fields(kind):
        bounds = [f"{field.name}_low95", f"{field.name}_high95"] if field.name in quantities else []
        header += [field.name, *bounds]
    return header, [_cells(record, quantities) for record in records]


def _cells(record: Any, quantities: set[str]) -> list[Any]:
    cells: list[Any] = []
    for field in dataclasses.fields(record):
        value = getattr(record, field.name)
        if field.name not in quantities:
            cells.append(value)
        else:
            cells += [None] * 3 if value is None else [value.value, value.low95, value.high95]
    return cells
