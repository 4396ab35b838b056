"""The column map: what the user says about a log, which overrules what its headers were taken to say.

A map is a TOML file. ``ridelog columns LOG --write MAP.toml`` writes one to edit::

    [log]                       # how the log is written; every key is optional
    delimiter = ";"
    decimal = ","
    encoding = "utf-8"
    header_line = 4             # line of the header, counted from 1
    time_zone = "Europe/Lisbon" # of wall times that state none
    date_order = "day-month-year"
    signed = true               # whether the battery current is negative when charge returns
    step_s = 1.0                # of a log without times: its rows are so many seconds apart

    [[column]]
    header = "I1"               # as it stands in the log
    quantity = "battery current"
    unit = "A"
    factor = 0.1                # a written 1 is so many units: 0.1 A here
    sign = -1                   # -1: positive is into the battery
    use = true                  # false: leave the column out
"""

import codecs
import re
from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path
from typing import Any, BinaryIO, Literal
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

import tomlkit
from pydantic import Field, ValidationError, field_validator, model_validator

from ridelog.errors import ColumnMapError
from ridelog.settings.toml_files import BIKE_SECTIONS, MAP_SECTIONS, Section, line_of, read_toml
from ridelog.tell.refusals import settings as refusals
from ridelog.vocabulary.headers import quantity_named
from ridelog.vocabulary.units import unit_named
from ridelog.vocabulary.words import QUANTITIES

NO_LOGS = frozenset(
    {"punycode", "idna", "unicode_escape", "unicode-escape", "raw_unicode_escape", "raw-unicode-escape"}
)

LONGEST_STEP_S = 600.0  # from row to row; what is logged more rarely tells nothing of braking
DateOrder = Literal["day-month-year", "month-day-year", "year-month-day"]


class LogSettings(Section):
    """How a log is written; ``None`` is found out from the log itself."""

    delimiter: Literal[",", ";", "\t", "|"] | None = None
    decimal: Literal[".", ","] | None = None
    encoding: str | None = Field(default=None, max_length=40)
    header_line: int | None = Field(default=None, ge=1, le=1000)
    time_zone: str | None = Field(default=None, max_length=60)
    date_order: DateOrder | None = None
    signed: bool | None = None
    step_s: float | None = Field(default=None, gt=0, le=LONGEST_STEP_S, allow_inf_nan=False)

    @field_validator("encoding")
    @classmethod
    def _encoding_is_known(cls, value: str | None) -> str | None:
        if value is not None and not _is_text_encoding(value):
            raise ValueError(refusals.encodings())
        return value

    @field_validator("time_zone")
    @classmethod
    def _zone_is_known(cls, value: str | None) -> str | None:
        if value is not None:
            try:
                ZoneInfo(value)
            except (ZoneInfoNotFoundError, ValueError, OSError) as error:
                raise ValueError(refusals.zones()) from error
        return value


LONGEST_HEADER = 500  # of a column that a map can name


class ColumnEntry(Section):
    """What the user says about the column headed ``header``."""

    header: str = Field(max_length=LONGEST_HEADER)
    quantity: str | None = None
    unit: str | None = None
    factor: float | None = Field(default=None, gt=0, le=1e9, allow_inf_nan=False)
    sign: Literal[-1, 1] | None = None
    use: bool = True

    @field_validator("quantity")
    @classmethod
    def _quantity_is_known(cls, value: str | None) -> str | None:
        if value is not None and quantity_named(value) is None:
            raise ValueError(refusals.quantities(list(QUANTITIES)))
        return value

    @field_validator("unit")
    @classmethod
    def _unit_is_known(cls, value: str | None) -> str | None:
        if value is not None and unit_named(value) is None:
            raise ValueError(refusals.units())
        return value

    @model_validator(mode="after")
    def _unit_fits(self) -> "ColumnEntry":
        quantity = quantity_named(self.quantity) if self.quantity else None
        unit = unit_named(self.unit) if self.unit else None
        if quantity and unit and unit.dimension not in quantity.dimensions:
            raise ValueError(refusals.unit_of_another(quantity.name, unit.name))
        return self


class ColumnMap(Section):
    """The whole map."""

    log: LogSettings = LogSettings()
    column: tuple[ColumnEntry, ...] = Field(default=(), strict=False)

    def entry(self, header: str) -> ColumnEntry | None:
        """What the map says about the column headed ``header``, blanks at its ends apart."""
        return next((entry for entry in self.column if entry.header.strip() == header.strip()), None)

    def to_toml(self) -> str:
        """The map as TOML that `read_map` reads back as it was."""
        log = self.log.model_dump(exclude_none=True)
        # everything is used unless it is said that it is not
        columns = [entry.model_dump(exclude_none=True, exclude={"use"} if entry.use else None) for entry in self.column]
        return tomlkit.dumps({**({"log": log} if log else {}), **({"column": columns} if columns else {})})


def _is_text_encoding(name: str) -> bool:
    """Whether it is one that logs are written in: those of names and of program texts are none."""
    try:
        return codecs.lookup(name).name not in NO_LOGS and "a".encode(name).decode(name) == "a"
    except (LookupError, UnicodeError):
        return False


def toml_string(text: str) -> str:
    """``text`` as a TOML string."""
    return tomlkit.string(text).as_string()


def read_map(source: str | Path | BinaryIO, *, name: str | None = None) -> ColumnMap:
    """Read a column map.

    Parameters
    ----------
    source : path, or binary file opened for reading
    name : what messages call it; the path, by default

    Raises
    ------
    ColumnMapError : not readable, not TOML, an unknown key, or a value that is not allowed
    """
    label = name or str(source if isinstance(source, (str, Path)) else getattr(source, "name", "column map"))
    text, data = read_toml(source, label, ColumnMapError, option="--columns", form=_how_written)
    try:
        return ColumnMap.model_validate(data)
    except ValidationError as error:
        raise _explained(label, text, data, error) from error


def _how_written(text: str) -> str:
    """How a map is written, for a text that is not TOML."""
    if re.search(r"^\s*column\s*=", text, re.MULTILINE) and "[[column]]" in text:
        return refusals.COLUMNS_IN_TWO_WAYS
    return refusals.ONE_MAP_KEY_A_LINE


def require_headers(columns: ColumnMap | None, files: Iterable[tuple[str, Sequence[str]]], name: str) -> None:
    """Refuse a map that speaks of a column which none of the files has.

    Parameters
    ----------
    columns : the map
    files : name and headers of each delimited log that the map was applied to
    name : what messages call the map

    Raises
    ------
    ColumnMapError : naming the header and those that there are
    """
    held = {file: [header.strip() for header in headers if header.strip()] for file, headers in files}
    for entry in columns.column if columns else ():
        if held and not any(entry.header.strip() in headers for headers in held.values()):
            raise refusals.no_such_column(name, entry.header, held)


def _explained(label: str, text: str, data: Mapping[str, Any], error: ValidationError) -> ColumnMapError:
    """The first of pydantic's complaints about a file, its text and what it says, as one of ours."""
    first = error.errors(include_url=False)[0]
    loc = list(first["loc"])
    line = line_of(text, loc)
    keys = ".".join(str(part) for part in loc if not isinstance(part, int))
    got = first["input"]
    if first["type"] == "extra_forbidden":
        model: Any = ColumnMap if len(loc) == 1 else LogSettings if loc[0] == "log" else ColumnEntry
        if len(loc) == 1 and keys in BIKE_SECTIONS:
            mixed = not MAP_SECTIONS.isdisjoint(data)
            return refusals.swapped(ColumnMapError, label, keys, line=line, is_map=False, mixed=mixed)
        return refusals.unknown_key(ColumnMapError, label, keys, line=line, known=list(model.model_fields))
    takes = refusals.allowed(first)
    is_table = isinstance(got, (dict, list)) and first["type"] != "tuple_type"
    wrong = refusals.wrong_table(keys, takes) if is_table else refusals.wrong_value(keys, got, takes)
    return refusals.not_allowed(ColumnMapError, label, wrong, line=line)
