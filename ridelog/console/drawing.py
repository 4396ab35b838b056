"""Tables, rows and findings on a terminal, and plain text elsewhere: how they are drawn, whatever they tell."""

import dataclasses
import re
import textwrap
from collections.abc import Iterator, Sequence
from typing import IO, Any, cast

from rich import box
from rich import table as rich_table
from rich.cells import cell_len
from rich.console import Console, ConsoleOptions, RenderableType
from rich.segment import Segment
from rich.text import Text

from ridelog.errors import printable_lines
from ridelog.findings import Finding
from ridelog.tell import table as drawing
from ridelog.tell.findings import sentence as finding_sentence
from ridelog.tell.numbers import METRIC, UNKNOWN, Style, with_unit

SEVERITY_STYLE = {"danger": "bold red", "warning": "yellow", "note": "dim"}
TRAILING_BLANKS = re.compile(r"[ \t]+$", re.MULTILINE)
PLAIN_WIDTH = 140  # where no terminal tells its width
WIDEST = 1000  # no table of a terminal is wider
UNBOUNDED = 100_000  # longer than any line of a table: names of files are cut by the system at 4096 bytes
# Columns of tables that go first where a terminal is too narrow for all.
SPARE_COLUMNS = (
    "spread", "use",
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


def console_on(stream: IO[str]) -> Console:
    """What draws on a stream: on a terminal as wide as that is, elsewhere plain text."""
    return _Drawer(stream)


def print_rows(rows: Sequence[tuple[str, str]], console: Console) -> None:
    """Words and what they mean, in two columns."""
    table = rich_table.Table(box=None, show_header=False, pad_edge=False)
    table.add_column(no_wrap=True)
    table.add_column(overflow="fold")
    for name, sentence in rows:
        table.add_row(name, sentence)
    console.print(table)


def print_findings(findings: Sequence[Finding], console: Console, style: Style = METRIC) -> None:
    """Each finding in its sentence, how grave it is before it.

    Parameters
    ----------
    findings : in the order in which they are told
    console : where they are drawn
    style : units, digits and separators
    """
    for finding in findings:
        label = Text(f"{finding.severity}: ", style=SEVERITY_STYLE[finding.severity])
        console.print(label + Text(f"{finding_sentence(finding, style)} [{finding.code}]", style=""))


def frame(title: str) -> rich_table.Table:
    """A table without columns as yet, in the one look of all tables."""
    return rich_table.Table(
        title=title,
        title_justify="left",
        title_style="bold",
        box=box.SIMPLE_HEAD,
        pad_edge=False,
        collapse_padding=True,
    )


def draw_table(table: drawing.Table, console: Console, style: Style) -> None:
    """A table of the columns in which anything is known.

    A pipe or a file takes lines of any length, and gets the names of rows, such as paths, in one piece.
    Where it would not fit a terminal, intervals stand below their values, and if need be the least needed columns are
    left out.
    Where even then it does not, and on a terminal of less than `NARROW`, each row stands by itself, its cells one below
    the other, so that no number is cut.

    Parameters
    ----------
    table : as `ridelog.tell` gives it
    console : where it is drawn
    style : units, digits and separators
    """
    whole = known = written(table.known(), style)
    if not console.is_terminal and not fits(known, console, style):
        _print_at_full_width(drawn_for(known, style), console)
        return
    if not fits(known, console, style):
        known = _stacked(known)
    spare = [key for key in SPARE_COLUMNS if key in {column.key for column in known.columns}]
    while spare and console.width >= NARROW and not fits(known, console, style):
        known = known.without(spare.pop(0))
    if fits(known, console, style) or fits(known, console, style, fold_first=True):
        console.print(drawn_for(known, style, fold_first=not fits(known, console, style)))
    else:
        print_cards(whole, console, style)


def _print_at_full_width(drawn: rich_table.Table, console: Console) -> None:
    usual = console.width
    console.width = console.measure(drawn, options=console.options.update(width=UNBOUNDED)).maximum
    console.print(drawn)
    console.width = usual


def print_cards(table: drawing.Table, console: Console, style: Style) -> None:
    """A written table row by row: what the row is of, and below it what each column says.

    Parameters
    ----------
    table : written
    console : where it is drawn
    style : units, digits and separators
    """
    console.print(Text(table.title, style="bold"))
    for row in table.rows:
        console.print(Text(str(row[0])))
        cells = list(zip(table.columns, row, strict=True))[1:]
        told = [(column, str(cell)) for column, cell in cells if drawing.is_known(cell) and cell != UNKNOWN]
        print_rows(
            [(INDENT + column.name, with_unit(text, column.unit(style), style)) for column, text in told], console
        )
    console.print()


def written(table: drawing.Table, style: Style) -> drawing.Table:
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


def fits(table: drawing.Table, console: Console, style: Style, *, fold_first: bool = False) -> bool:
    """Whether a written table is no wider than the terminal: only words may be broken over lines, never numbers.

    Parameters
    ----------
    table : written
    console : where it is to be drawn
    style : units, digits and separators
    fold_first : the names of rows, such as long paths, may be broken, and their words beyond `LEAST_NAME_WIDTH`

    Returns
    -------
    fits : as it would be drawn by `drawn_for`
    """
    widths = [
        max((cell_len(part) for row in table.rows for part in _unbroken(str(row[index]), index, column)), default=0)
        for index, column in enumerate(table.columns)
    ]
    if fold_first:
        words = [cell_len(word) for row in table.rows for word in str(row[0]).split()]
        widths[0] = min(max(words, default=0), LEAST_NAME_WIDTH)
    widest = tuple("x" * width for width in widths)
    drawn = drawn_for(dataclasses.replace(table, rows=(widest,)), style)
    wide = console.options.update(width=WIDEST)
    return console.measure(drawn, options=wide).maximum <= console.width


def _unbroken(text: str, index: int, column: drawing.Column) -> list[str]:
    """The parts of a cell that stay on one line: words in a column of words, but for the first; else whole lines."""
    return text.split() if column.align == "left" and index > 0 else text.split("\n")


def drawn_for(table: drawing.Table, style: Style, *, fold_first: bool = False) -> rich_table.Table:
    """The table for the terminal.

    Parameters
    ----------
    table : written or not
    style : units, digits and separators
    fold_first : break the names of rows, such as long paths, rather than numbers

    Returns
    -------
    drawn : to be printed
    """
    drawn = frame(table.title)
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
