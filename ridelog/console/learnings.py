"""What the rides of a bike teach of it, on a terminal."""

from typing import IO

from rich.text import Text

from ridelog.console.drawing import console_on, draw_table
from ridelog.fleet.learning import Teaching
from ridelog.tell.fleet import learning as words
from ridelog.tell.numbers import METRIC, Style


def print_teaching(teaching: Teaching, stream: IO[str], style: Style = METRIC) -> None:
    """What was learned as a person wants it: values, what a ride gains, how full to start.

    Parameters
    ----------
    teaching : of a bike
    stream : where it is written
    style : units, digits and separators
    """
    console = console_on(stream)
    if not teaching.learned and not teaching.starts:
        console.print(words.NOTHING)
        return
    console.print(Text(words.headline(teaching), style="bold"))
    console.print()
    for table in (words.values(teaching), words.drag(teaching), words.starts(teaching)):
        if table.rows:
            draw_table(table, console, style)
            console.print(Text(table.note, style="dim"))
            console.print()
    if teaching.starts:
        console.print(Text(words.FULL_CAUTION, style="dim"))
        console.print()
    if (sentence := words.gain(teaching, style)) is not None:
        console.print(sentence)
    if teaching.values:
        console.print()
        console.print("As a bike file has it:")
        console.print(words.as_toml(teaching))
