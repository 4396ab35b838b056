"""Answers on a terminal, and their tables as CSV elsewhere: what `ridelog.tell` says, drawn."""

from __future__ import annotations

import csv
from typing import IO, TYPE_CHECKING

from rich.console import Console
from rich.text import Text

from ridelog.answer import frames
from ridelog.answer.ride import Answer
from ridelog.console.drawing import console_on, draw_table, drawn_for, fits, frame, print_findings, print_rows, written
from ridelog.findings import said_first
from ridelog.tell import coastdown as coast_words
from ridelog.tell import ledger as ledger_words
from ridelog.tell import summary, tables, worth
from ridelog.tell import table as drawing
from ridelog.tell.kinds import ENERGY
from ridelog.tell.numbers import METRIC, Style, measured
from ridelog.tell.ride import BRAKE_CAUTION, best_hill, headline
from ridelog.uncertain.quantity import Quantity

if TYPE_CHECKING:
    from ridelog.answer.coastdown import CoastDown

HILL_COLUMNS = ("hill", "at", "length", "height", "grade", "drawn", "available", "returned", "captured")


def print_summary(answer: Answer, stream: IO[str], style: Style = METRIC) -> None:
    """The answer as a person wants it: headline, key figures, hills, braking, findings, sources, worth.

    Parameters
    ----------
    answer : of the ride
    stream : where it is written
    style : units, digits and separators
    """
    console = console_on(stream)
    first = [finding for finding in answer.findings if said_first(finding)]
    print_findings(first, console, style)  # before any praise
    console.print(Text(headline(answer, style).sentence, style="bold"))
    if (sentence := best_hill(answer, style)) is not None:
        console.print(sentence)
    console.print()
    print_rows(summary.key_figures(answer, style), console)
    console.print()
    pairs = tables.hill_pairs(answer) if any(pair.recovered_pct for pair in answer.hill_pairs) else None
    for table in (tables.hills(answer).only(*HILL_COLUMNS), pairs, tables.kinds(answer)):
        # hills of which nothing is known are no table
        if table is not None and table.rows and len(table.known().columns) > 1:
            draw_table(table, console, style)
    print_findings([finding for finding in answer.findings if not said_first(finding)], console, style)
    console.print()
    draw_table(tables.sources(answer), console, style)
    if answer.worth is not None:
        console.print(Text("Is it worth it?", style="bold"))
        console.print(worth.verdict(answer.worth))
        print_rows(worth.rows(answer, style), console)
        console.print(Text(BRAKE_CAUTION, style="dim"))


def print_budget(answer: Answer, stream: IO[str], style: Style = METRIC) -> None:
    """The uncertainty budget of the recovered share: each source, its size, its share, and what would shrink it.

    Parameters
    ----------
    answer : of the ride
    stream : where it is written
    style : units, digits and separators
    """
    console = console_on(stream)
    console.print(Text(headline(answer, style).sentence, style="bold"))
    budget = answer.budget[0] if answer.budget else None
    if budget is None:
        console.print(summary.NO_BUDGET)
        return
    draw_table(tables.budget(budget, style), console, style)
    if (advice := summary.best_advice(budget)) is not None:
        console.print(advice)


def print_coastdown(answer: CoastDown, stream: IO[str], style: Style = METRIC) -> None:
    """A coast-down as a person wants it: headline, figures, stretches, findings.

    Parameters
    ----------
    answer : of the coast-down
    stream : where it is written
    style : units, digits and separators
    """
    console = console_on(stream)
    console.print(Text(coast_words.headline(answer, style), style="bold"))
    if figures := coast_words.key_figures(answer, style):
        console.print()
        print_rows(figures, console)
        console.print()
    if answer.stretches:
        draw_table(coast_words.stretches(answer), console, style)
    print_findings(answer.findings, console, style)


def _print_samples(answer: Answer, console: Console, style: Style) -> None:
    """As many of the columns as fit, and how many do not."""
    table = written(tables.samples(answer.series).known(), style)
    n_columns = len(table.columns)
    while len(table.columns) > 2 and not fits(table, console, style):
        table = table.without(table.columns[-1].key)
    console.print(drawn_for(table, style))
    if len(table.columns) < n_columns:
        console.print(summary.columns_left_out(n_columns - len(table.columns)))


def print_table(answer: Answer, name: str, stream: IO[str], style: Style = METRIC) -> None:
    """One table: on a terminal to look at, elsewhere as CSV in SI units with bounds beside values.

    Parameters
    ----------
    answer : of the ride
    name : "events", "hills", "samples", "ledger" or "bands"
    stream : where it goes
    style : units and digits on a terminal
    """
    if not stream.isatty():
        writer = csv.DictWriter(stream, frames.header(answer, name), lineterminator="\n")
        writer.writeheader()
        writer.writerows(frames.rows(answer, name))
        return
    console = console_on(stream)
    if name == "ledger":
        print_ledger(answer, console, style)
    elif name == "hills":
        _print_or_say(tables.hills(answer).only(*HILL_COLUMNS, "recovered", "both_ways"), console, style)
    elif name == "events":
        _print_or_say(tables.events(answer), console, style)
    elif name == "bands":
        _print_or_say(tables.bands(answer, style), console, style)
    else:
        _print_samples(answer, console, style)


def _print_or_say(table: drawing.Table | None, console: Console, style: Style) -> None:
    if table is None or not table.rows:
        console.print(summary.EMPTY_TABLE)
    else:
        draw_table(table, console, style)


def print_ledger(answer: Answer, console: Console, style: Style = METRIC) -> None:
    """Where the energy of the ride and of its hills went, and braking by speed.

    Parameters
    ----------
    answer : of the ride
    console : where it is drawn
    style : units, digits and separators
    """
    whole = tables.ledger(answer, style)
    if whole is None or answer.ledger is None:
        console.print(summary.NO_LEDGER)
        return
    drawn = frame(whole.title)
    for head in ("", "energy", "what it is"):
        drawn.add_column(head, justify="right" if head == "energy" else "left")
    for name, energy, meaning in whole.rows:
        told = measured(energy if isinstance(energy, Quantity) else None, ENERGY, style)
        drawn.add_row(str(name), told, str(meaning))
    console.print(drawn)
    console.print(ledger_words.closing(answer.ledger, style))
    console.print()
    for table in (tables.hill_ledger(answer), tables.bands(answer, style)):
        if table is not None and table.rows:
            draw_table(table, console, style)
