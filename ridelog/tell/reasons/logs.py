"""How a log is written and timed, told before its columns are."""

from datetime import datetime

from ridelog.tell.numbers import counted, fixed
from ridelog.tell.times import on_the_clock

# What each importer looks for.
FIT = "FIT (a binary file with “.FIT” at its ninth byte)"
GPX = "GPX 1.0 or 1.1 (an XML file whose first element is <gpx>)"
TEXT_LOG = "a delimited text log (columns separated by comma, semicolon, tab or bar, under a header)"
CLOCK_NOT_KNOWN = "not known yet"

FIT_FILE = "FIT activity file"
FIT_FIELD = "a field of the FIT profile"
GPX_TRACK = "GPX track"
GPX_ELEMENT = "an element of GPX"

_DELIMITERS = {";": "semicolon", "\t": "tab", "|": "bar", ",": "comma"}


# Of the column map that says what was understood.
MAP_ANSWER_BELOW = "To answer the question, take the # off these lines and mend them:"


def map_head(name: str) -> str:
    """The first line of the map."""
    return f"How the columns of {name!r} were understood. Edit, then give it as --columns."


def map_question(question: str) -> str:
    """What is open, beside the entry that answers it."""
    return f"Question: {question}"


def written_as(encoding: str, delimiter: str) -> str:
    """The encoding of a text, and what parts its columns."""
    return f"{encoding} text, columns separated by {_DELIMITERS.get(delimiter, delimiter)}"


def decimal_sign(decimal: str) -> str:
    """The decimal sign of its numbers."""
    return f"decimal {'comma' if decimal == ',' else 'point'}"


def header_in(line: int, n_lines_above: int, *, units_below: bool) -> str:
    """Where the header stands.

    Parameters
    ----------
    line : of the header
    n_lines_above : lines above it that are not part of the table
    units_below : whether units stand in the row below

    Returns
    -------
    phrase
    """
    above = f", {counted(n_lines_above, 'line')} above it" if n_lines_above else ""
    return f"header in line {line}{above}" + (", units in the row below" if units_below else "")


def first_row_in(line: int) -> str:
    """Where the data begin."""
    return f"first row of data in line {line}"


def clock(start: datetime | None, *, zoned: bool, n_samples: int, span_s: float) -> str:
    """How the time of a log was read.

    Parameters
    ----------
    start : wall time of the first sample, UTC; ``None`` for an elapsed clock
    zoned : whether its zone is known
    n_samples, span_s : number of samples, and seconds from the first to the last [s]

    Returns
    -------
    ``2026-05-01 08:00:01 (UTC), 3600 samples over 3599.0 s``.
    """
    over = f"{counted(n_samples, 'sample')} over {fixed(span_s, 1)} s"
    if start is None:
        return f"elapsed time, {over}"
    return f"{on_the_clock(start)} ({'UTC' if zoned else 'wall time of an unknown zone'}), {over}"
