"""How the columns of a log were understood, on a terminal or as plain text."""

from __future__ import annotations

from typing import IO, TYPE_CHECKING

from rich.console import Console
from rich.text import Text

from ridelog.console.drawing import console_on, fits, frame, print_cards, print_findings
from ridelog.tell import table as drawing
from ridelog.tell import tables
from ridelog.tell.numbers import METRIC

if TYPE_CHECKING:
    from ridelog.importers.registry import ColumnReport


def print_columns(report: ColumnReport, stream: IO[str]) -> None:
    """How a log was read: its form, each column's reading with the reason, and what is still to be answered."""
    console = console_on(stream)
    console.print(Text(report.name, style="bold"))
    for fact in report.facts:
        console.print(f"  {fact}")
    console.print(f"  time: {report.clock}")
    table = tables.column_readings(report.readings)
    if fits(table, console, METRIC, fold_first=True):
        _print_readings(table, report, console)
    else:
        print_cards(table, console, METRIC)
    for question in report.questions:
        console.print(Text("question: ", style="bold yellow") + Text(question))
    print_findings(report.findings, console)


def _print_readings(table: drawing.Table, report: ColumnReport, console: Console) -> None:
    """How each column was read, those that are not used dimmed."""
    drawn = frame(table.title)
    for column in table.columns:
        drawn.add_column(column.name, overflow="fold")
    for reading, row in zip(report.readings, table.rows, strict=True):
        drawn.add_row(*map(str, row), style="dim" if reading.channel is None else "")
    console.print(drawn)
