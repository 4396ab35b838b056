"""The rows of a delimited log as arrow reads them, from the bytes of the log as they stand."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from ridelog.importers.delimited.dialect import COMMENT_START, INFINITE, NO_VALUE, Dialect, split_line
from ridelog.lazy import dataclass

if TYPE_CHECKING:
    from collections.abc import Mapping

    import pyarrow as pa

    from ridelog.importers.delimited.log_text import LogText

_NULLS = sorted(
    {" ", "  "} | {form for word in NO_VALUE - INFINITE for form in (word, word.upper(), word.capitalize())} | {"NaN"}
)


@dataclass
class ArrowRows:
    """What arrow read.

    Attributes
    ----------
    table : a column for each that was wanted, called by its number
    wrong : rows of another width
    n_headers : lines that repeat the header
    """

    table: pa.Table
    wrong: list[str]
    n_headers: int

    def taken(self, index: int) -> pa.ChunkedArray:
        """Column ``index``, which is not held here any more."""
        column = self.table.column(str(index))
        self.table = self.table.drop_columns(str(index))
        return column

    def are_lines_of(self, text: LogText, dialect: Dialect) -> bool:
        """Whether each line is a row, where it might not be.

        A quote that is never closed, or lines later, makes one cell of several lines; a comment may look like a row.
        """
        start = text.start_of(dialect.first_line)
        if all(text.content.find(mark.encode(), start) < 0 for mark in ('"', *COMMENT_START)):
            return True
        n_lines = 0
        for line in text.lines_from(dialect.first_line):
            if not line.lstrip().startswith(COMMENT_START):
                n_lines += bool(line.strip(" "))
            elif len(split_line(line, dialect.delimiter)) == len(dialect.headers):
                return False
        n_read: int = self.table.num_rows + len(self.wrong) + self.n_headers
        return n_read == n_lines


def arrow_rows(text: LogText, dialect: Dialect, is_number: Mapping[int, bool]) -> ArrowRows:
    """All rows that are as wide as the header; repetitions of the header are taken out.

    Parameters
    ----------
    text : the whole log
    dialect : how it is written
    is_number : number of a column -> whether its cells are read as numbers; as texts else

    Returns
    -------
    Cells that stand for no value are null.

    Raises
    ------
    pyarrow.ArrowException : a cell is not of its column's kind, or the rows are no rows
    """
    import pyarrow as pa
    from pyarrow import csv

    wrong: list[str] = []

    def skip(row: Any) -> str:
        wrong.append(row.text)
        return "skip"

    rows, n_headers = _without_headers(text, dialect)
    table = csv.read_csv(
        pa.BufferReader(rows),
        read_options=csv.ReadOptions(column_names=[str(i) for i in range(len(dialect.headers))], use_threads=False),
        parse_options=csv.ParseOptions(delimiter=dialect.delimiter, invalid_row_handler=skip),
        convert_options=csv.ConvertOptions(
            include_columns=[str(index) for index in is_number],
            column_types={str(i): pa.float64() if number else pa.string() for i, number in is_number.items()},
            null_values=_NULLS,
            strings_can_be_null=True,
            decimal_point=dialect.decimal,
        ),
        memory_pool=pa.system_memory_pool(),  # arrow's own holds what was freed
    )
    wrong = [row for row in wrong if row.strip() and not row.lstrip().startswith(COMMENT_START)]
    return ArrowRows(table, wrong, n_headers)


def _without_headers(text: LogText, dialect: Dialect) -> tuple[pa.Buffer, int]:
    """The rows without lines that are the header once more, and how many these are; shared where there are none."""
    import pyarrow as pa

    content, place = text.content, text.start_of(dialect.first_line)
    begin = text.start_of(dialect.header_line)
    header = content[begin : content.find(b"\n", begin)]
    line = header.decode("utf-8")
    parts: list[tuple[int, int]] = []
    if line[:1].isalpha() and split_line(line, dialect.delimiter) == list(dialect.headers):
        at = content.find(b"\n" + header, place - 1)
        while at >= 0:
            end = at + 1 + len(header)
            if content[end : end + 1] in (b"\n", b""):
                parts.append((place, at + 1))
                place = min(end + 1, len(content))
            at = content.find(b"\n" + header, end)
    if not parts:
        return pa.py_buffer(content)[place:], 0
    whole = memoryview(content)
    return pa.py_buffer(b"".join([*(whole[first:last] for first, last in parts), whole[place:]])), len(parts)
