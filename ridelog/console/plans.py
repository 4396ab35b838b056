"""A plan on a terminal: a checklist of one page."""

import textwrap
from typing import IO

from rich.text import Text

from ridelog.compare.plan import Plan
from ridelog.console.drawing import PLAIN_WIDTH, console_on, draw_table
from ridelog.tell.compare import plan as words
from ridelog.tell.numbers import METRIC, Style

WIDEST = 80  # of a page


def print_plan(plan: Plan, stream: IO[str], style: Style = METRIC) -> None:
    """The plan as a page to print.

    Parameters
    ----------
    plan : of a campaign
    stream : where it is written
    style : digits and separators
    """
    console = console_on(stream)
    width = min(console.width, WIDEST) if console.width != PLAIN_WIDTH else WIDEST
    for line in textwrap.wrap(words.headline(plan, style), width):
        console.print(Text(line, style="bold"))
    for part in words.parts(plan, style):
        console.print()
        console.print(Text(part.heading, style="bold"))
        mark = "[ ] " if part.boxes else "- "
        for line in part.lines:
            console.print(textwrap.fill(line, width, initial_indent=mark, subsequent_indent=" " * len(mark)))
        if part.heading == "Order" or (plan.pairs is None and part.heading == "What this rests on"):
            console.print()
            draw_table(words.curve(plan, style), console, style)
