"""A comparison on a terminal: what differs in sentences first, then findings, then the tables."""

from typing import IO

from rich.text import Text

from ridelog.compare.record import Comparison
from ridelog.console.drawing import console_on, draw_table, print_findings
from ridelog.tell.compare import sentences as words
from ridelog.tell.compare.tables import every_table
from ridelog.tell.numbers import METRIC, Style


def print_comparison(comparison: Comparison, stream: IO[str], style: Style = METRIC) -> None:
    """The comparison as a person wants it.

    Parameters
    ----------
    comparison : of groups
    stream : where it is written
    style : units, digits and separators
    """
    console = console_on(stream)
    for one in words.sentences(comparison, style):
        console.print(Text(one.words, style="bold" if one.told else ""))
    console.print(Text(words.HOW, style="dim"))
    if comparison.findings:
        console.print()
        print_findings(comparison.findings, console, style)
    console.print()
    for table in every_table(comparison, style):
        draw_table(table, console, style)
        if table.note:
            console.print(Text(table.note, style="dim"))
            console.print()
