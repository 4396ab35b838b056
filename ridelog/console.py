"""Answers and column readings on a terminal, and tables as CSV elsewhere: what `ridelog.tell` says, drawn."""

from __future__ import annotations

import csv
import dataclasses
import re
import textwrap
from collections.abc import Iterator, Sequence
from typing import IO, TYPE_CHECKING, Any, cast

from rich import box
from rich import table as rich_table
from rich.cells import cell_len
from rich.console import Console, ConsoleOptions, RenderableType
from rich.segment import Segment
from rich.text import Text

from ridelog.answer import frames
from ridelog.answer.ride import Answer
from ridelog.errors import printable_lines
from ridelog.findings import Finding, said_first
from ridelog.tell import coastdown as coast_words
from ridelog.tell import ledger as ledger_words
from ridelog.tell import summary, tables, worth
from ridelog.tell import table as drawing
from ridelog.tell.findings import sentence as finding_sentence
from ridelog.tell.kinds import ENERGY
from ridelog.tell.numbers import METRIC, UNKNOWN, Style, measured, with_unit
from ridelog.tell.ride import BRAKE_CAUTION, best_hill, headline
from ridelog.uncertain.quantity import Quantity

if TYPE_CHECKING:
    from ridelog.answer.coastdown import CoastDown
    from ridelog.importers.registry import ColumnReport

SEVERITY_STYLE = {"danger": "bold red", "warning": "yellow", "note": "dim"}
TRAILING_BLANKS = re.compile(r"[ \t]+$", re.MULTILINE)
PLAIN_WIDTH = 140  # where no terminal tells its width
WIDEST = 1000  # no table of a terminal is wider
UNBOUNDED = 100_000  # longer than any line of a table: names of files are cut by the system at 4096 bytes
# Columns of the tables on a terminal, and those that go first where it is too narrow for all.
HILL_COLUMNS = ("hill", "at", "length", "height", "grade", "drawn", "available", "returned", "captured")
SPARE_COLUMNS = (
    "length", "returned_charge", "drop", "at", "grade", "both_ways", "recovered", "rolling_wh", "air_wh",
    "potential_wh", "lasts", "drift", "missed",
)  # fmt: skip
NARROW = 60  # on narrower terminals a table that does not fit would lose too many of its columns
LEAST_NAME_WIDTH = 16  # words in the names of rows are not broken into shorter pieces
INDENT = "  "
HEAD_WIDTH = 10  # longer heads of numbers are broken between words


class _Trimmed:
    """A stream that gets no blanks at the ends of lines; each text that it is given ends with a line."""

    def __init__(self, stream: IO[str]) -> None:
        self._stream = stream

    def write(self, text: str) -> int:
        return self._stream.write(TRAILING_BLANKS.sub("", text))

    def __getattr__(self, name: str) -> Any:
        return getattr(self._stream, name)


class _Drawer(Console):
    """Draws on a terminal; elsewhere plain text, without blanks at its ends and with long names in one piece.

    What a log or a file is called may hold anything: nothing but text reaches the terminal as it is.
    """

    def __init__(self, stream: IO[str]) -> None:
        self.plain = not stream.isatty()
        file, width = (cast("IO[str]", _Trimmed(stream)), PLAIN_WIDTH) if self.plain else (stream, None)
        super().__init__(file=file, width=width, highlight=False, emoji=False, markup=False)

    def render(self, renderable: RenderableType, options: ConsoleOptions | None = None) -> Iterator[Segment]:
        for text, style, control in super().render(renderable, options):
            yield Segment(text if control else printable_lines(text), style, control)

    def print(self, *objects: Any, **how: Any) -> None:
        """As any console does; into a pipe or a file no word is broken, however long it is."""
        if self.plain:
            how = {"overflow": "ignore", "crop": False, **how}
        super().print(*objects, **how)


def _console(stream: IO[str]) -> _Drawer:
    return _Drawer(stream)


def print_summary(answer: Answer, stream: IO[str], style: Style = METRIC) -> None:
    """The answer as a person wants it: headline, key figures, hills, braking, findings, sources, worth.

    Parameters
    ----------
    answer : of the ride
    stream : where it is written
    style : units, digits and separators
    """
    console = _console(stream)
    first = [finding for finding in answer.findings if said_first(finding)]
    _print_findings(first, console, style)  # before any praise
    console.print(Text(headline(answer, style).sentence, style="bold"))
    if (sentence := best_hill(answer, style)) is not None:
        console.print(sentence)
    console.print()
    _print_rows(summary.key_figures(answer, style), console)
    console.print()
    pairs = tables.hill_pairs(answer) if any(pair.recovered_pct for pair in answer.hill_pairs) else None
    for table in (tables.hills(answer).only(*HILL_COLUMNS), pairs, tables.kinds(answer)):
        # hills of which nothing is known are no table
        if table is not None and table.rows and len(table.known().columns) > 1:
            _print_table(table, console, style)
    _print_findings([finding for finding in answer.findings if not said_first(finding)], console, style)
    console.print()
    _print_table(tables.sources(answer), console, style)
    if answer.worth is not None:
        console.print(Text("Is it worth it?", style="bold"))
        console.print(worth.verdict(answer.worth))
        _print_rows(worth.rows(answer, style), console)
        console.print(Text(BRAKE_CAUTION, style="dim"))


def _print_rows(rows: Sequence[tuple[str, str]], console: Console) -> None:
    """Words and what they mean, in two columns."""
    table = rich_table.Table(box=None, show_header=False, pad_edge=False)
    table.add_column(no_wrap=True)
    table.add_column(overflow="fold")
    for name, sentence in rows:
        table.add_row(name, sentence)
    console.print(table)


def _print_findings(findings: Sequence[Finding], console: Console, style: Style = METRIC) -> None:
    for finding in findings:
        label = Text(f"{finding.severity}: ", style=SEVERITY_STYLE[finding.severity])
        console.print(label + Text(f"{finding_sentence(finding, style)} [{finding.code}]", style=""))


def print_budget(answer: Answer, stream: IO[str], style: Style = METRIC) -> None:
    """The uncertainty budget of the recovered share: each source, its size, its share, and what would shrink it.

    Parameters
    ----------
    answer : of the ride
    stream : where it is written
    style : units, digits and separators
    """
    console = _console(stream)
    console.print(Text(headline(answer, style).sentence, style="bold"))
    budget = answer.budget[0] if answer.budget else None
    if budget is None:
        console.print(summary.NO_BUDGET)
        return
    _print_table(tables.budget(budget, style), console, style)
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
    console = _console(stream)
    console.print(Text(coast_words.headline(answer, style), style="bold"))
    if figures := coast_words.key_figures(answer, style):
        console.print()
        _print_rows(figures, console)
        console.print()
    if answer.stretches:
        _print_table(coast_words.stretches(answer), console, style)
    _print_findings(answer.findings, console, style)


def print_columns(report: ColumnReport, stream: IO[str]) -> None:
    """How a log was read: its form, each column's reading with the reason, and what is still to be answered."""
    console = _console(stream)
    console.print(Text(report.name, style="bold"))
    for fact in report.facts:
        console.print(f"  {fact}")
    console.print(f"  time: {report.clock}")
    table = tables.column_readings(report.readings)
    if _fits(table, console, METRIC, fold_first=True):
        _print_readings(table, report, console)
    else:
        _print_cards(table, console, METRIC)
    for question in report.questions:
        console.print(Text("question: ", style="bold yellow") + Text(question))
    _print_findings(report.findings, console)


def _print_readings(table: drawing.Table, report: ColumnReport, console: Console) -> None:
    """How each column was read, those that are not used dimmed."""
    drawn = _frame(table.title)
    for column in table.columns:
        drawn.add_column(column.name, overflow="fold")
    for reading, row in zip(report.readings, table.rows, strict=True):
        drawn.add_row(*map(str, row), style="dim" if reading.channel is None else "")
    console.print(drawn)


def _frame(title: str) -> rich_table.Table:
    return rich_table.Table(
        title=title,
        title_justify="left",
        title_style="bold",
        box=box.SIMPLE_HEAD,
        pad_edge=False,
        collapse_padding=True,
    )


def _print_table(table: drawing.Table, console: Console, style: Style) -> None:
    """A table of the columns in which anything is known.

    A pipe or a file takes lines of any length, and gets the names of rows, such as paths, in one piece.
    Where it would not fit a terminal, intervals stand below their values, and if need be the least needed columns are
    left out.
    Where even then it does not, and on a terminal of less than `NARROW`, each row stands by itself, its cells one below
    the other, so that no number is cut.
    """
    whole = known = _written(table.known(), style)
    if not console.is_terminal and not _fits(known, console, style):
        _print_at_full_width(_drawn(known, style), console)
        return
    if not _fits(known, console, style):
        known = _stacked(known)
    spare = [key for key in SPARE_COLUMNS if key in {column.key for column in known.columns}]
    while spare and console.width >= NARROW and not _fits(known, console, style):
        known = known.without(spare.pop(0))
    if _fits(known, console, style) or _fits(known, console, style, fold_first=True):
        console.print(_drawn(known, style, fold_first=not _fits(known, console, style)))
    else:
        _print_cards(whole, console, style)


def _print_at_full_width(drawn: rich_table.Table, console: Console) -> None:
    usual = console.width
    console.width = console.measure(drawn, options=console.options.update(width=UNBOUNDED)).maximum
    console.print(drawn)
    console.width = usual


def _print_cards(table: drawing.Table, console: Console, style: Style) -> None:
    """A written table row by row: what the row is of, and below it what each column says."""
    console.print(Text(table.title, style="bold"))
    for row in table.rows:
        console.print(Text(str(row[0])))
        cells = list(zip(table.columns, row, strict=True))[1:]
        told = [(column, str(cell)) for column, cell in cells if drawing.is_known(cell) and cell != UNKNOWN]
        _print_rows(
            [(INDENT + column.name, with_unit(text, column.unit(style), style)) for column, text in told], console
        )
    console.print()


def _written(table: drawing.Table, style: Style) -> drawing.Table:
    """The table with its cells as text, so that their widths are known."""
    rows = tuple(
        tuple(drawing.text_of(cell, column, style) for cell, column in zip(row, table.columns, strict=True))
        for row in table.rows
    )
    return dataclasses.replace(table, rows=rows)


def _stacked(table: drawing.Table) -> drawing.Table:
    """A written table with the interval of a number on a line of its own: "70 (50 to 142)" over two lines."""
    is_number = [column.align == "right" for column in table.columns]
    rows = tuple(
        tuple(str(cell).replace(" (", "\n(") if number else cell for cell, number in zip(row, is_number, strict=True))
        for row in table.rows
    )
    return dataclasses.replace(table, rows=rows)


def _fits(table: drawing.Table, console: Console, style: Style, *, fold_first: bool = False) -> bool:
    """Whether a written table is no wider than the terminal: only words may be broken over lines, never numbers.

    ``fold_first`` : the names of rows, such as long paths, may be broken, and their words beyond `LEAST_NAME_WIDTH`
    """
    widths = [
        max((cell_len(part) for row in table.rows for part in _unbroken(str(row[index]), index, column)), default=0)
        for index, column in enumerate(table.columns)
    ]
    if fold_first:
        words = [cell_len(word) for row in table.rows for word in str(row[0]).split()]
        widths[0] = min(max(words, default=0), LEAST_NAME_WIDTH)
    widest = tuple("x" * width for width in widths)
    drawn = _drawn(dataclasses.replace(table, rows=(widest,)), style)
    wide = console.options.update(width=WIDEST)
    return console.measure(drawn, options=wide).maximum <= console.width


def _unbroken(text: str, index: int, column: drawing.Column) -> list[str]:
    """The parts of a cell that stay on one line: words in a column of words, but for the first; else whole lines."""
    return text.split() if column.align == "left" and index > 0 else text.split("\n")


def _print_samples(answer: Answer, console: Console, style: Style) -> None:
    """As many of the columns as fit, and how many do not."""
    table = _written(tables.samples(answer.series).known(), style)
    n_columns = len(table.columns)
    while len(table.columns) > 2 and not _fits(table, console, style):
        table = table.without(table.columns[-1].key)
    console.print(_drawn(table, style))
    if len(table.columns) < n_columns:
        console.print(summary.columns_left_out(n_columns - len(table.columns)))


def _drawn(table: drawing.Table, style: Style, *, fold_first: bool = False) -> rich_table.Table:
    """The table for the terminal; ``fold_first`` breaks the names of rows, such as long paths, rather than numbers."""
    drawn = _frame(table.title)
    for column in table.columns:
        unit = column.unit(style)
        is_text = column.align == "left"
        name = column.name if is_text else "\n".join(textwrap.wrap(column.name, HEAD_WIDTH, break_long_words=False))
        head = f"{name}\n{unit}" if unit else name
        drawn.add_column(
            head, justify=column.align, no_wrap=not (is_text and (drawn.columns or fold_first)), overflow="fold"
        )
    for row in table.rows:
        drawn.add_row(*map(lambda cell, column: drawing.text_of(cell, column, style), row, table.columns))
    return drawn


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
    console = _console(stream)
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
        _print_table(table, console, style)


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
    drawn = _frame(whole.title)
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
            _print_table(table, console, style)
