"""Values into a TOML file: single keys are set or added, everything else, comments too, stays as it is."""

import tomllib
from collections.abc import Callable, Mapping, MutableMapping
from io import BytesIO
from pathlib import Path
from typing import Any

import tomlkit
from tomlkit.exceptions import TOMLKitError

from ridelog.destination import written_whole
from ridelog.settings.bike import read_bike
from ridelog.tell.numbers import plain
from ridelog.tell.refusals.settings import cannot_set_keys
from ridelog.there import is_there

Values = Mapping[str, Mapping[str, float]]  # section -> key -> value

_BYTE_ORDER_MARK = "\ufeff"


def with_values(text: str, values: Values, *, label: str = "bike file") -> str:
    """The text of a bike file with some keys set, to four significant digits.

    A key that stands there gets the new value, its comment stays; one that does not is added at the end of its section,
    and a section that does not stand there at the end of the file.

    Parameters
    ----------
    text : valid TOML
    values : numbers to set
    label : what messages call the file

    Returns
    -------
    str : the new text, with the ends of lines and the byte order mark of the old one

    Raises
    ------
    BikeFileError : a section's name stands for something else there, or the new text would not read back as meant
    """
    rounded = {section: {key: float(plain(value, 4)) for key, value in own.items()} for section, own in values.items()}

    def change(tables: MutableMapping[str, Any]) -> None:
        for section, entries in rounded.items():
            tables.setdefault(section, {}).update(entries)

    if (written := edited(text, change)) is None:
        keys = [f"[{section}] {key} = {value}" for section, own in rounded.items() for key, value in own.items()]
        raise cannot_set_keys(label, keys)
    return written


def write_values(target: str, values: Values, *, base: str | None = None) -> None:
    """Set keys in the bike file ``target``; where there is none, make it, as ``base`` with these keys set.

    The file is replaced in one step, and only by one that can be read as a bike file.

    Parameters
    ----------
    target : path of the bike file
    values : numbers to set
    base : path of a bike file to begin with where there is no ``target`` yet; an empty file by default

    Raises
    ------
    BikeFileError : ``target`` or ``base`` is no bike file, or is written in a form that keys cannot be set in
    RidelogError : ``target`` cannot be written
    """
    source = target if is_there(target) else base
    text = ""
    if source is not None:
        read_bike(source)
        text = Path(source).read_bytes().decode("utf-8")
    written = with_values(text, values, label=source or target)
    read_bike(BytesIO(written.encode()), name=target)
    with written_whole(target) as stream:
        stream.write(written)


def edited(text: str, change: Callable[[MutableMapping[str, Any]], None]) -> str | None:
    """A TOML text with a change made in it; all else stays, the ends of lines and the byte order mark too.

    Parameters
    ----------
    text : valid TOML
    change : makes the change in the tables of the file: once in those that know the text, once in plain ones

    Returns
    -------
    The new text; ``None`` where it cannot be edited, or would not read back as meant.
    """
    mark, end = _BYTE_ORDER_MARK * text.startswith(_BYTE_ORDER_MARK), "\r\n" if "\r\n" in text else "\n"
    old = text.removeprefix(mark).replace("\r\n", "\n")
    if old and not old.endswith("\n"):
        old += "\n"
    try:
        document, meant = tomlkit.parse(old), tomllib.loads(old)
        change(document)
        change(meant)
        written = tomlkit.dumps(document)
        if tomllib.loads(written) != meant:
            return None
    except (TOMLKitError, ValueError, AttributeError):  # AttributeError: a section that is no table
        return None
    return mark + written.replace("\n", end)
