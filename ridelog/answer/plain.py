"""Records to plain data, ready for JSON, and back again, by their type hints alone.

A record becomes an object with one key a field, in the order of its fields; a field that does not count when records
are compared (``compare=False``) is no part of it. What is read back equals what was written: times to the microsecond,
numbers to the last digit, tuples for lists, read-only mappings for objects without a record. Only the sentence that a
finding comes with is not read back: its facts make it.
"""

import math
from collections.abc import Hashable, Mapping, Sequence
from dataclasses import MISSING, fields, is_dataclass
from datetime import UTC, datetime
from functools import cache
from types import MappingProxyType, NoneType, UnionType
from typing import Any, Literal, TypeVar, Union, cast, get_args, get_origin, get_type_hints

import numpy as np

from ridelog.errors import AnswerError
from ridelog.findings import Finding
from ridelog.tell.findings import sentence
from ridelog.tell.refusals import answers

SCHEMA = 2  # of the JSON; a reader refuses a newer one

Record = TypeVar("Record")


def plain(value: Any) -> Any:
    """A record, or what records hold, as plain data.

    A number that is none (NaN, infinity) becomes ``None``: JSON knows no such number.

    Raises
    ------
    TypeError : something that has no plain form, as an array
    """
    if isinstance(value, Finding):
        told = _plain_fields(value)
        return {"code": told.pop("code"), "severity": told.pop("severity"), "message": sentence(value), **told}
    if is_dataclass(value) and not isinstance(value, type):
        return _plain_fields(value)
    if value is None or isinstance(value, (str, bool)):
        return value
    if isinstance(value, (float, np.floating)):
        return float(value) if math.isfinite(value) else None
    if isinstance(value, (int, np.integer)):
        return int(value)
    if isinstance(value, np.bool_):
        return bool(value)
    if isinstance(value, datetime):
        return value.astimezone(UTC).isoformat().replace("+00:00", "Z")
    if isinstance(value, (tuple, list)):
        return [plain(item) for item in value]
    if isinstance(value, Mapping):
        return {str(key): plain(item) for key, item in value.items()}
    raise TypeError(f"{type(value).__name__} has no plain form")


def _plain_fields(value: Any) -> dict[str, Any]:
    return {field.name: plain(getattr(value, field.name)) for field in fields(value) if field.compare}


def with_schema(value: Any) -> dict[str, Any]:
    """A record as plain data, the number of its schema first."""
    return {"schema": SCHEMA, **plain(value)}


def from_schema(kind: type[Record], data: Any) -> Record:
    """The record of plain data that `with_schema` wrote.

    Raises
    ------
    AnswerError : the data are of another schema, or no such record
    """
    if not isinstance(data, Mapping) or "schema" not in data:
        raise answers.no_schema()
    schema = data["schema"]
    if not _is_int(schema):
        raise answers.schema_is_no_number(schema)
    if schema > SCHEMA:
        raise answers.newer_schema(schema, SCHEMA)
    if schema < SCHEMA:
        raise answers.older_schema(schema)
    return record(kind, {key: value for key, value in data.items() if key != "schema"})


def record(kind: type[Record], data: Any, place: str = "") -> Record:
    """The record of plain data.

    Parameters
    ----------
    kind : a dataclass; its type hints say how each key is read
    data : as `plain` wrote it, or as JSON gave it back
    place : where in a greater whole the data stand, for messages

    Returns
    -------
    record : keys that it does not know are passed over, so that a later ridelog may add some

    Raises
    ------
    AnswerError : a key is missing, or its value is not of its type, with the place
    """
    if not isinstance(data, Mapping):
        raise answers.unfit(place, data, "an object")
    given, known = {}, _fields(cast("Hashable", kind))
    for name, hint, required in known:
        if name in data:
            given[name] = value_of(hint, data[name], f"{place}.{name}" if place else name)
        elif required:
            raise answers.missing(name, place)
    return kind(**given)


@cache
def _fields(kind: Any) -> tuple[tuple[str, Any, bool], ...]:
    """Name, type and whether it must be there, of each field of a record that is part of its plain form."""
    hints = get_type_hints(kind)
    return tuple(
        (field.name, hints[field.name], field.default is MISSING and field.default_factory is MISSING)
        for field in fields(kind)
        if field.compare
    )


def value_of(hint: Any, data: Any, place: str) -> Any:
    """A value of the type ``hint``.

    Parameters
    ----------
    hint : type of a record's field
    data : from JSON
    place : where it stands, for messages

    Returns
    -------
    Of that type.
    """
    origin = get_origin(hint)
    if origin in (Union, UnionType):
        return _one_of(get_args(hint), data, place)
    if origin is Literal:
        if not any(data == choice and type(data) is type(choice) for choice in get_args(hint)):
            raise answers.unfit(place, data, "one of " + ", ".join(map(str, get_args(hint))))
        return data
    if origin is tuple:
        return _tuple(get_args(hint), data, place)
    if isinstance(origin, type) and issubclass(origin, Mapping):
        return _mapping(get_args(hint)[1], data, place)
    if isinstance(hint, type) and is_dataclass(hint):
        return record(hint, data, place)
    if hint is Any:
        return _whatever(data)
    if hint is datetime:
        return _time(data, place)
    return _simple(hint, data, place)


def _one_of(hints: Sequence[Any], data: Any, place: str) -> Any:
    """A value of the first of some types that it fits."""
    if data is None and NoneType in hints:
        return None
    wrong: AnswerError | None = None
    for hint in sorted(hints, key=lambda each: each is not type(data)):  # a whole number stays one where it may
        if hint is NoneType:
            continue
        try:
            return value_of(hint, data, place)
        except AnswerError as error:
            wrong = wrong or error
    raise wrong or answers.unfit(place, data, "something else")


def _tuple(hints: Sequence[Any], data: Any, place: str) -> tuple[Any, ...]:
    if not isinstance(data, (list, tuple)):
        raise answers.unfit(place, data, "a list")
    if len(hints) == 2 and hints[1] is Ellipsis:
        hints = [hints[0]] * len(data)
    if len(hints) != len(data):
        raise answers.unfit(place, data, f"a list of {len(hints)}")
    return tuple(value_of(hint, item, f"{place}[{i}]") for i, (hint, item) in enumerate(zip(hints, data, strict=True)))


def _mapping(hint: Any, data: Any, place: str) -> Mapping[str, Any]:
    if not isinstance(data, Mapping):
        raise answers.unfit(place, data, "an object")
    return MappingProxyType({str(key): value_of(hint, item, f"{place}.{key}") for key, item in data.items()})


def _whatever(data: Any) -> Any:
    """What no type hint describes: lists become tuples, and objects read-only mappings."""
    if isinstance(data, Mapping):
        return MappingProxyType({str(key): _whatever(item) for key, item in data.items()})
    return tuple(map(_whatever, data)) if isinstance(data, (list, tuple)) else data


def _time(data: Any, place: str) -> datetime:
    try:
        time = datetime.fromisoformat(data)
    except (TypeError, ValueError) as error:
        raise answers.unfit(place, data, "a time in ISO 8601") from error
    if time.tzinfo is None:
        raise answers.unfit(place, data, "a time with its zone")
    return time.astimezone(UTC)


def _simple(hint: Any, data: Any, place: str) -> Any:
    """Text, a number or a truth value."""
    if hint is float and (_is_int(data) or isinstance(data, float)) and math.isfinite(data):
        return float(data)
    if (hint is int and _is_int(data)) or (hint in (str, bool) and isinstance(data, hint)):
        return data
    words = {float: "a number", int: "a whole number", str: "a text", bool: "true or false"}
    raise answers.unfit(place, data, words.get(hint, str(hint)))


def _is_int(data: Any) -> bool:
    return isinstance(data, int) and not isinstance(data, bool)
