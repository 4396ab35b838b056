"""Why a text log is refused: no text, no table, no time, cells that are no numbers, nothing that is used."""

from collections.abc import Sequence
from typing import Literal

from ridelog.errors import InputError, NoTimeError
from ridelog.tell.numbers import count

Look = Literal["thousands", "comma", "point", "other"]

_SHOWN = 40  # characters of a cell that a message shows at most
_NAME_THE_TIME = (
    'column = [{ header = "…", quantity = "time", unit = "s" }]  # or log = { step_s = 1 }: rows are 1 s apart'
)
_HOW_IT_WAS_READ = "`ridelog columns FILE` shows how the log was read"
_CELL_HINTS: dict[Look, str] = {
    "thousands": "a thousands separator? export the log without",
    "comma": "decimal comma? the other numbers are written with decimal points",
    "point": "decimal point? the other numbers are written with decimal commas",
    "other": "leave the column out (use = false in a MAP.toml, option --columns), or mend the line",
}


def at_line(line: int) -> str:
    """A place in a text."""
    return f"line {line}"


def _listed(headers: Sequence[str]) -> str:
    return ", ".join(f"'{header}'" for header in headers)


# --- how it is written --------------------------------------------------------------------------------------------


def not_text(name: str) -> InputError:
    """A binary file."""
    return InputError(name, "is not text", hint="a log in plain text (CSV) is wanted, not a binary file")


def not_in_encoding(name: str, encoding: str, byte: int | None) -> InputError:
    """A text in another encoding than the column map states.

    Parameters
    ----------
    name : of the file
    encoding : as stated
    byte : the first that does not fit; ``None`` where there is no such encoding

    Returns
    -------
    error
    """
    return InputError(name, f"is not {encoding} text", place=None if byte is None else f"byte {byte}")


def no_table(name: str) -> InputError:
    """A text in which nothing parts columns."""
    hint = "columns are separated by comma, semicolon, tab or bar"
    return InputError(name, "is not a table of at least two columns", hint=hint)


def table_begins_too_late(name: str, n_bytes: int) -> InputError:
    """A table of which the first bytes, so many as are looked at, hold no header with a row below it."""
    hint = "take out notes above the table, and columns that are not needed"
    looked_at = f"the first {n_bytes // 1024} kB, where its header and first rows must stand, hold none of both"
    return InputError(name, f"is a table that begins too late: {looked_at}", hint=hint)


def no_row_of_numbers(name: str, line: int) -> InputError:
    """A header, it seems, and nothing below it; ``line`` is the last."""
    hint = "did the device store the ride? under the header, each line should hold a time and its readings"
    return InputError(name, "has no row of numbers", place=at_line(line), hint=hint)


def no_such_header_line(name: str, line: int) -> InputError:
    """The column map names a line beyond the file's end."""
    return InputError(name, f"has no line {line} for a header, as the map states")


def no_header(name: str, line: int) -> InputError:
    """Numbers from the first line on."""
    hint = "put one line above the numbers, such as: time (s), battery current (A), battery voltage (V)"
    return InputError(name, "has no header that names its columns", place=at_line(line), hint=hint)


def header_without_rows(name: str, line: int) -> InputError:
    """A header in the last line."""
    return InputError(name, "has a header but no rows", place=at_line(line))


def no_row_as_wide(name: str, line: int) -> InputError:
    """A header whose number of fields no row has."""
    return InputError(name, "has a header but no row with as many fields", place=at_line(line))


def header_of_other_width(name: str, line: int, n_named: int, n_fields: int, *, commas: bool) -> InputError:
    """A header that names more or fewer columns than the rows have.

    Parameters
    ----------
    name, line : of the file, and where its header stands
    n_named, n_fields : columns that the header names, and fields of the usual row
    commas : whether commas part the fields

    Returns
    -------
    error
    """
    what = f"the header names {count(n_named)} columns, but the rows have {count(n_fields)} fields"
    hint = "name every column in the header"
    if commas and n_fields > n_named:
        hint = "decimal commas between commas? export with semicolons, or with decimal points"
    return InputError(name, what, place=at_line(line), hint=hint)


def rows_of_other_width(name: str, line: int | None, n_wrong: int, n_rows: int, n_fields: int) -> InputError:
    """Too many rows with more or fewer fields than the header.

    Parameters
    ----------
    name, line : of the file, and where the first such row stands, if that is known
    n_wrong, n_rows : such rows, and all of them
    n_fields : of the header

    Returns
    -------
    error
    """
    what = f"{count(n_wrong)} of {count(n_rows)} rows do not have {count(n_fields)} fields"
    hint = f"is the delimiter also a decimal sign? {_HOW_IT_WAS_READ}"
    return InputError(name, what, place=None if line is None else at_line(line), hint=hint)


# --- cells --------------------------------------------------------------------------------------------------------


def not_a_number(name: str, line: int, header: str, cell: str, look: Look) -> InputError:
    """A cell that holds no number.

    Parameters
    ----------
    name, line : where it stands
    header : of its column
    cell : as it stands in the file
    look : what it looks like

    Returns
    -------
    error
    """
    shown = cell if len(cell) < _SHOWN else f"{cell[: _SHOWN - 3]}…"
    return InputError(name, f"{header}: '{shown}' is not a number", place=at_line(line), hint=_CELL_HINTS[look])


def unnamed_column(number: int) -> str:
    """What to call a column without a header; columns are counted from 1."""
    return f"column {number}"


def cell_in_other_unit(name: str, line: int, header: str, cell: str, units: tuple[str, str]) -> InputError:
    """Units that change from row to row.

    Parameters
    ----------
    name, line : where the cell stands
    header : of its column
    cell : as it stands in the file
    units : its unit, and that of the rows above

    Returns
    -------
    error
    """
    what = f"{header}: '{cell}' is in {units[0]}, the rows above are in {units[1]}"
    return InputError(name, what, place=at_line(line), hint="a column needs one unit")


# --- what it holds ------------------------------------------------------------------------------------------------


def no_column_tells_time(name: str, line: int) -> NoTimeError:
    """No header of a time; ``line`` is the header's. The hint is the whole line of a column map."""
    return NoTimeError(name, "no column tells the time", place=at_line(line), hint=_NAME_THE_TIME)


def unreadable_times(name: str, line: int, headers: Sequence[str]) -> NoTimeError:
    """Columns of time with cells of another form than any that is read.

    Parameters
    ----------
    name, line : of the file, and of the first row
    headers : of these columns

    Returns
    -------
    error : its hint is the whole line of a column map
    """
    what = f"the times under '{', '.join(headers)}' cannot be read"
    return NoTimeError(name, what, place=at_line(line), hint=_NAME_THE_TIME)


def no_numbers(name: str, line: int, headers: Sequence[str]) -> InputError:
    """Columns that would be used, and are empty.

    Parameters
    ----------
    name, line : of the file, and of the first row
    headers : of these columns

    Returns
    -------
    error
    """
    return InputError(name, f"holds no number under {_listed(headers)}", place=at_line(line))


def one_value_a_row(name: str, line: int, header: str, cells: Sequence[str]) -> InputError:
    """A log that has its quantities beneath each other, where a table has them side by side.

    Parameters
    ----------
    name, line : of the file, and of its header
    header : of the column that names the quantity of each row
    cells : some of what it names

    Returns
    -------
    error
    """
    column = f"the column {header!r}" if header else "a column without a header"
    what = f"each row holds one value, and {column} says of what ({_listed(cells)})"
    hint = "write it with a column for each quantity and a row for each time (a pivot table does that), then try again"
    return InputError(name, what, place=at_line(line), hint=hint)


def nothing_used(name: str, line: int, headers: Sequence[str]) -> InputError:
    """A log of other things.

    Parameters
    ----------
    name, line : of the file, and of its header
    headers : of all columns

    Returns
    -------
    error
    """
    what = f"no column besides the time says anything that is used: {_listed(headers)}"
    hint = 'say in a MAP.toml: column = [{ header = "…", quantity = "battery current", unit = "A" }]'
    return InputError(name, what, place=at_line(line), hint=hint)


def nothing_held(name: str) -> InputError:
    """A log without a recording, and without a reason for that."""
    return InputError(name, "holds nothing that can be used")
