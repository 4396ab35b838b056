"""The user's own TOML files, the bike file and the column map: opened and read, and their mistakes in words."""

import re
import tomllib
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any, BinaryIO

from pydantic import BaseModel, ConfigDict

from ridelog.errors import InputError
from ridelog.tell.refusals import settings as refusals

# The tables of either kind of file, by which one is told from the other.
BIKE_SECTIONS = frozenset({"bike", "pack", "motor", "sensor", "road", "cost"})
MAP_SECTIONS = frozenset({"log", "column"})

# What people write by hand stays far below; one line of a hundred thousand dots takes gigabytes.
LARGEST_BYTES, LONGEST_LINE = 256_000, 4_000


class Section(BaseModel):
    """A table of such a file: no key but those known, no value of another kind."""

    model_config = ConfigDict(frozen=True, extra="forbid", strict=True)


def read_toml(
    source: str | Path | BinaryIO,
    label: str,
    error: type[InputError],
    *,
    option: str,
    form: Callable[[str], str],
) -> tuple[str, dict[str, Any]]:
    """The text of a TOML file and what it says.

    Parameters
    ----------
    source : path, or binary file opened for reading
    label : what messages call it
    error : the exception to raise
    option : the option that takes such a file, for a hint
    form : from the text to the hint that says how such a file is written

    Returns
    -------
    Text without its byte order mark, and the tables in it.

    Raises
    ------
    InputError : of the class ``error``; it cannot be opened, is not UTF-8 text, or not TOML
    """
    if source == "":
        raise refusals.no_name(error, option)
    try:
        if isinstance(source, (str, Path)):
            with Path(source).open("rb") as stream:
                content = stream.read(LARGEST_BYTES + 1)
        else:
            content = source.read(LARGEST_BYTES + 1)
    except (OSError, ValueError) as cause:  # ValueError: a null character in the name, or a closed file
        reason = getattr(cause, "strerror", None) or str(cause)
        raise refusals.cannot_open(error, label, reason, option) from cause
    if len(content) > LARGEST_BYTES:
        raise refusals.larger_than_by_hand(error, label, LARGEST_BYTES)
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError as cause:
        raise refusals.not_utf8(error, label, cause.start) from cause
    for number, line in enumerate(text.split("\n"), start=1):
        if len(line) > LONGEST_LINE:
            raise refusals.line_too_long(error, label, number, LONGEST_LINE)
    try:
        return text, tomllib.loads(text)
    except tomllib.TOMLDecodeError as cause:
        raise refusals.not_toml(error, label, str(cause), form(text)) from cause
    except (ValueError, RecursionError) as cause:  # a number of thousands of digits, lists in lists in lists
        raise refusals.not_toml(error, label, refusals.TOO_DEEP, form(text)) from cause


def is_column_map(source: str | Path | BinaryIO, label: str) -> bool:
    """Whether a TOML file given among logs is a column map (it has ``[[column]]`` or ``[log]``), else a bike file.

    Raises
    ------
    InputError : it cannot be opened, or is not TOML
    """
    _, table = read_toml(source, label, InputError, option="--bike", form=lambda _: refusals.ONE_KEY_A_LINE)
    return not MAP_SECTIONS.isdisjoint(table)


def line_of(text: str, keys: Sequence[str | int]) -> int | None:
    """The line, counted from 1, that sets a key; that of its table where the key is not found; ``None`` without either.

    ``keys`` lead to it from the top; a number among them is the place in a list of tables, counted from 0.
    """
    names = [key for key in keys if isinstance(key, str)]
    number = next((key for key in keys if isinstance(key, int)), None)
    table: list[str] = []
    n_same, fallback = 0, None
    for line_number, line in enumerate(text.split("\n"), start=1):
        if header := re.match(r"\s*\[+\s*([^\]]+?)\s*\]+", line):
            table = [header[1]]
            n_same += header[1] == names[0]
            found = table if number in (None, n_same - 1) else []
        elif entry := re.match(r"\s*\"?([\w.-]+)\"?\s*=", line):
            found = [*table, *entry[1].split(".")] if not table or number in (None, n_same - 1) else []
        else:
            continue
        if found == names:
            return line_number
        if found and found == names[: len(found)]:
            fallback = fallback or line_number
    return fallback
