"""What a command was given: the ride of its files, the file that it writes, and somebody who waits at a terminal."""

from __future__ import annotations

import argparse
import contextlib
import re
from collections.abc import Iterator, Sequence
from itertools import islice
from pathlib import Path
from typing import IO, TYPE_CHECKING, Any

from ridelog.destination import refuse_unwritable, written_whole
from ridelog.errors import printable
from ridelog.tell import commands as words
from ridelog.tell.refusals import commands as refusals
from ridelog.there import is_file, is_there

if TYPE_CHECKING:
    from ridelog.recording import Ride

_BEYOND_ASCII = re.compile("[^\n -~]")
PIECES = 10_000  # of JSON written at once: brackets, keys, values


def load(arguments: argparse.Namespace, err: IO[str]) -> Ride:
    """The ride of a command's FILE, --bike and --columns."""
    sort_files(arguments)
    with progress(err, "reading"):
        from ridelog import load_ride

        return load_ride(arguments.files, bike=arguments.bike, columns=arguments.columns)


def sort_files(arguments: argparse.Namespace) -> None:
    """Take a bike file and a column map out of FILE and put them where --bike and --columns would, as the page does."""
    from ridelog.settings.toml_files import is_column_map

    logs = []
    for path in arguments.files:
        if not path.lower().endswith(".toml"):
            logs.append(path)
            continue
        is_map = is_column_map(path, path)
        option = "columns" if is_map else "bike"
        if (other := getattr(arguments, option)) is not None:
            raise refusals.second_table_argument(path, other, is_map=is_map)
        setattr(arguments, option, path)
    arguments.files = logs


def check_target(target: str | None, given: Sequence[str], option: str, *, force: bool) -> None:
    """Refuse before the work is done a file that would not, or must not, be written after it.

    No name, a file that is being read, one that is there and nobody said that it may go, a folder that takes none.

    Parameters
    ----------
    target : the file; ``None`` where none is written
    given : files that are read
    option : by which it was named
    force : whether it may replace a file

    Raises
    ------
    RidelogError : it must not or cannot be written
    """
    if target is None:
        return
    if not target:
        raise refusals.no_target(option)
    if "\0" not in target:
        if any(is_there(path) and is_there(target) and Path(path).samefile(target) for path in given):
            raise refusals.would_overwrite(option, target)
        if not force and is_file(target):
            raise refusals.exists_already(option, target)
    refuse_unwritable(target)


def destination(path: str | None, out: IO[str]) -> contextlib.AbstractContextManager[IO[str]]:
    """The file to write to, or ``out``."""
    return contextlib.nullcontext(out) if path is None else written_whole(path)


def dump_json(data: dict[str, Any], stream: IO[str]) -> None:
    """Write plain data as JSON."""
    import json

    plain = not (getattr(stream, "encoding", None) or "utf-8").lower().startswith("utf")  # JSON has escapes of its own
    pieces = json.JSONEncoder(indent=2, ensure_ascii=plain, allow_nan=False).iterencode(data)
    while some := "".join(islice(pieces, PIECES)):  # all at once are many times as large as their text
        stream.write(_BEYOND_ASCII.sub(_escaped, some))
    stream.write("\n")


def _escaped(found: re.Match[str]) -> str:
    """A letter as it is, or as JSON may write it where a terminal may obey it or a reader not see it."""
    if found[0] == printable(found[0]):
        return found[0]
    units = found[0].encode("utf-16-be")
    return "".join(f"\\u{units[at : at + 2].hex()}" for at in range(0, len(units), 2))


@contextlib.contextmanager
def progress(err: IO[str], what: str) -> Iterator[None]:
    """A spinner on a terminal, nothing elsewhere."""
    if not err.isatty():
        yield
        return
    from rich.console import Console

    with Console(file=err).status(words.under_way(what)):
        yield
