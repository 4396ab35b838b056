"""The bike file as a form: its keys with what each allows, one value checked by itself, entries put into the text."""

import re
import tomllib
from collections.abc import Mapping
from io import BytesIO
from types import NoneType
from typing import Any, Literal, get_args, get_origin

import tomlkit
from pydantic import ValidationError
from tomlkit.exceptions import TOMLKitError
from tomlkit.items import Item, Table

from ridelog.lazy import dataclass
from ridelog.settings.bike import Bike, explained, range_of, read_bike
from ridelog.tell.refusals.settings import cannot_set_keys

Entry = float | int | str | bool
KeyKind = Literal["number", "whole", "switch", "choice", "text"]


@dataclass(frozen=True)
class BikeKey:
    """One key of the bike file.

    Attributes
    ----------
    place : section and key, as "bike.total_mass_kg"
    kind : of value
    low, high : the range of a number, in the unit that the key names
    choices : of a choice
    """

    place: str
    kind: KeyKind
    low: float | None = None
    high: float | None = None
    choices: tuple[str, ...] = ()


def _keys() -> dict[str, BikeKey]:
    found = {}
    for section, part in Bike.model_fields.items():
        model: Any = part.annotation
        for name, field in model.model_fields.items():
            place = f"{section}.{name}"
            low, high = range_of(field)
            kind, choices = _kind(field.annotation)
            found[place] = BikeKey(place, kind, low, high, choices)
    return found


def _kind(annotation: Any) -> tuple[KeyKind, tuple[str, ...]]:
    types = [each for each in get_args(annotation) if each is not NoneType] or [annotation]
    if get_origin(annotation) is Literal or get_origin(types[0]) is Literal:
        choice = annotation if get_origin(annotation) is Literal else types[0]
        return "choice", get_args(choice)
    plain: dict[Any, KeyKind] = {bool: "switch", int: "whole", str: "text"}
    return plain.get(types[0], "number"), ()


BIKE_KEYS: Mapping[str, BikeKey] = _keys()


def entered(text: str, label: str = "bike file") -> dict[str, Entry]:
    """What a bike file says, by section and key.

    Raises
    ------
    BikeFileError : it is none
    """
    read_bike(BytesIO(text.encode()), name=label)
    return {f"{section}.{key}": value for section, own in tomllib.loads(text).items() for key, value in own.items()}


def value_of(key: BikeKey, written: str) -> Entry | None:
    """What somebody wrote into a field, as a bike file has it; ``None`` for an empty field, text where it is no number.

    Numbers may have a decimal comma.
    """
    text = written.strip()
    if not text:
        return None
    if key.kind == "switch":
        return {"true": True, "false": False}.get(text, text)
    if key.kind not in ("number", "whole") or not re.fullmatch(r"[+-]?(\d+[.,]?\d*|[.,]\d+)([eE][+-]?\d+)?", text):
        return text
    number = float(text.replace(",", "."))
    return int(number) if key.kind == "whole" and number == int(number) else number


def complaint(key: BikeKey, value: Entry | None) -> str | None:
    """Why the bike file would not take a value, in the same sentence; ``None`` where it does."""
    if value is None:
        return None
    section, _, name = key.place.partition(".")
    data = {section: {name: value}}
    try:
        Bike.model_validate(data)
    except ValidationError as error:
        return explained("", "", data, error).what
    return None


REMARK = "ridelog: "  # begins a comment that says where a value came from


def remarks(text: str) -> dict[str, str]:
    """What the comments behind values say, by section and key."""
    try:
        document = tomlkit.parse(text)
    except TOMLKitError:
        return {}
    found = {}
    for section, own in document.items():
        for key in own if isinstance(own, Table) else ():
            comment = own.value.item(key).trivia.comment
            if said := comment.lstrip("# ").removeprefix(REMARK).strip():
                found[f"{section}.{key}"] = said
    return found


def with_entries(
    text: str, entries: Mapping[str, Entry | None], *, label: str = "bike file", remark: str | None = None
) -> str:
    """The text of a bike file with some keys set and others taken out; comments and all else stay.

    A comment that says where a value came from goes with that value.

    Parameters
    ----------
    text : a bike file, or nothing
    entries : by section and key; ``None`` takes a key out
    label : what messages call it
    remark : where the values came from, which becomes a comment behind each

    Returns
    -------
    The new text.

    Raises
    ------
    BikeFileError : a value is not allowed, or the text is written in a form that keys cannot be set in
    """
    try:
        document, meant = tomlkit.parse(text), tomllib.loads(text)
        for place, value in entries.items():
            section, _, key = place.partition(".")
            if value is None:
                document.get(section, {}).pop(key, None)
                meant.get(section, {}).pop(key, None)
            else:
                own = document.setdefault(section, tomlkit.table())
                own[key] = value
                if isinstance(own, Table) and isinstance(item := own.value.item(key), Item):
                    _note_origin(item, remark)
                meant.setdefault(section, {})[key] = value
        written = tomlkit.dumps(document)
        if tomllib.loads(written) != meant:
            raise cannot_set_keys(label, list(entries))
    except (TOMLKitError, ValueError, AttributeError, TypeError) as error:
        raise cannot_set_keys(label, list(entries)) from error
    read_bike(BytesIO(written.encode()), name=label)
    return written


def _note_origin(written: Item, remark: str | None) -> None:
    """Put the remark behind a value; one of before goes, and a comment of the rider's own stays."""
    if remark is not None:
        written.comment(f"{REMARK}{' '.join(remark.split())}")
    elif written.trivia.comment.lstrip("# ").startswith(REMARK):
        written.trivia.comment, written.trivia.comment_ws = "", ""
