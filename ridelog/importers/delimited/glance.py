"""Some rows of a log, evenly spaced, so that each of its columns can be seen, used or not."""

from collections.abc import Iterator

from ridelog.importers.delimited.cells import Cells, OtherUnitError
from ridelog.importers.delimited.dialect import COMMENT_START, Dialect, split_line
from ridelog.importers.delimited.log_text import LogText
from ridelog.importers.preview import N_ROWS, preview
from ridelog.recording import Preview

_TRIED = 8  # lines behind a place; comments and damaged rows among them


def glance(text: LogText, dialect: Dialect, n_rows: int = N_ROWS) -> tuple[Preview, ...]:
    """A preview for each column; as quick for a long log as for a short one.

    Parameters
    ----------
    text : the whole log
    dialect : how it is written
    n_rows : at most [1]

    Returns
    -------
    In the order of the columns.
    """
    rows = list(_rows(text, dialect, n_rows))
    columns = zip(*rows, strict=True) if rows else [()] * len(dialect.headers)
    return tuple(preview(_numbers(cells, dialect.decimal), cells) for cells in columns)


def _rows(text: LogText, dialect: Dialect, n_rows: int) -> Iterator[list[str]]:
    """Rows of data, the first behind each of so many places."""
    content, start, done = text.content, text.start_of(dialect.first_line), 0
    for number in range(n_rows):
        place = start + (len(content) - start) * number // n_rows
        if number:
            place = max(content.find(b"\n", place - 1) + 1 or len(content), done)
        for _ in range(_TRIED):
            if place >= len(content):
                return
            end = content.find(b"\n", place)
            line = content[place : end if end >= 0 else len(content)].decode("utf-8", "replace")
            place = done = end + 1 if end >= 0 else len(content)
            fields = split_line(line, dialect.delimiter)
            if len(fields) == len(dialect.headers) and not line.lstrip().startswith(COMMENT_START):
                yield fields
                break


def _numbers(cells: tuple[str, ...], decimal: str) -> Iterator[float]:
    known = Cells(decimal)
    for cell in cells:
        try:
            yield known[cell]
        except OtherUnitError:
            yield float("nan")
