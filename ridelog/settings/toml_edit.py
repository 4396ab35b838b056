"""Values into a bike file: single lines are set or added, everything else, comments too, stays as it is."""

import os
import re
import tempfile
import tomllib
from collections.abc import Mapping
from pathlib import Path

from ridelog.errors import BikeFileError, RidelogError
from ridelog.settings.bike import read_bike

Values = Mapping[str, Mapping[str, float]]  # section -> key -> value

_HEADER = re.compile(r"\s*\[\s*([\w-]+)\s*\]\s*(#.*)?$")
_ENTRY = re.compile(r"(\s*)([\w-]+)(\s*=\s*)([^#\s]+)(.*)$")


def with_values(text: str, values: Values, *, label: str = "bike file") -> str:
    """The text of a bike file with some keys set.

    A key that stands there gets the new value, its comment stays; one that does not is added at the end of its section,
    and a section that does not stand there at the end of the file.

    Parameters
    ----------
    text : valid TOML
    values : numbers to set
    label : what messages call the file

    Raises
    ------
    BikeFileError : the file is written in a form that single lines cannot be set in (dotted keys, tables in one line)
    """
    end = "\r\n" if "\r\n" in text else "\n"
    lines = text.splitlines()
    for section, entries in values.items():
        for key, value in entries.items():
            _set(lines, section, key, _number(value))
    result = end.join(lines) + end if lines else ""
    if _parsed(result) != _merged(tomllib.loads(text), values):
        shown = "; ".join(f"[{s}] {k} = {_number(v)}" for s, entries in values.items() for k, v in entries.items())
        raise BikeFileError(
            label, "is written in a form that single keys cannot be set in; nothing was changed", hint=f"set {shown}"
        )
    return result


def write_values(target: str, values: Values, *, base: str | None = None) -> None:
    """Set keys in the bike file ``target``; where there is none, make it, as ``base`` with these keys set.

    The file is replaced in one step, and only by one that can be read as a bike file.

    Raises
    ------
    BikeFileError : ``target`` or ``base`` is no bike file, or is written in a form that keys cannot be set in
    RidelogError : ``target`` cannot be written
    """
    path = Path(target).resolve()  # a link stays one
    source = target if path.exists() else base
    text = ""
    if source is not None:
        read_bike(source)
        text = Path(source).read_bytes().decode("utf-8-sig")
    written = with_values(text, values, label=source or target)
    temporary = ""
    try:
        handle, temporary = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.")
        with os.fdopen(handle, "wb") as stream:
            stream.write(written.encode())
        read_bike(temporary, name=target)
        Path(temporary).chmod(path.stat().st_mode & 0o777 if path.exists() else 0o644)
        Path(temporary).replace(path)
    except OSError as error:
        cause = (error.strerror or str(error)).lower()
        hint = "name a file in a folder that exists and that you may write to"
        raise RidelogError(f"{target}: cannot be written: {cause}", hint=hint) from error
    finally:
        if temporary:
            Path(temporary).unlink(missing_ok=True)


def _set(lines: list[str], section: str, key: str, shown: str) -> None:
    """Set one key in the lines of a file, in place."""
    headers = [(number, match[1]) for number, line in enumerate(lines) if (match := _HEADER.match(line))]
    start = next((number for number, name in headers if name == section), None)
    if start is None:
        lines += [*([""] if lines and lines[-1].strip() else []), f"[{section}]", f"{key} = {shown}"]
        return
    end = next((number for number, _ in headers if number > start), len(lines))
    for number in range(start + 1, end):
        if (match := _ENTRY.match(lines[number])) and match[2] == key:
            lines[number] = f"{match[1]}{key}{match[3]}{shown}{match[5]}"
            return
    while end > start + 1 and not lines[end - 1].strip():
        end -= 1
    lines.insert(end, f"{key} = {shown}")


def _number(value: float) -> str:
    return f"{value:.4g}" if abs(value) >= 1e-4 or value == 0 else f"{value:.3e}"


def _parsed(text: str) -> object:
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError:
        return None


def _merged(data: dict[str, object], values: Values) -> dict[str, object]:
    result = dict(data)
    for section, entries in values.items():
        own = result.get(section)
        result[section] = {
            **(own if isinstance(own, dict) else {}),
            **{key: float(_number(value)) for key, value in entries.items()},
        }
    return result
