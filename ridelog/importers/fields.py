"""The fields of a track: those that its format defines, and those that it leaves to makers, read by their words.

GPX extensions and FIT developer fields go through the engine that decides on the columns of text logs
(`ridelog.importers.columns`), with the habits of a track. Every word of a maker's field must be known, or the field
is left alone: a track holds whatever a rider wears, and "form power" is not the power at the pedals.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, TypeVar

import numpy as np

from ridelog.findings import Finding
from ridelog.importers.columns.assign import apply_entry, assign
from ridelog.importers.columns.column import Assignment, Column, Habits, labels, overruled
from ridelog.importers.shown_sign import shows_sign
from ridelog.lazy import dataclass
from ridelog.recording import ColumnReading
from ridelog.tell.reasons import headers as reasons
from ridelog.vocabulary.headers import HeaderMeaning, understand
from ridelog.vocabulary.units import UNITS
from ridelog.vocabulary.words import NOUNS, QUANTITIES

if TYPE_CHECKING:
    from ridelog.settings.column_map import ColumnMap

Key = TypeVar("Key")
Extra = dict[tuple[str, str], float]  # the makers' fields of one sample: name and stated unit -> value

# GPX and the FIT profile count in these, and their makers' fields mostly do as well.
TRACK = Habits(
    refuses=False,
    usual_units={
        "speed": "m/s",
        "distance": "m",
        "altitude": "m",
        "battery power": "w",
        "battery temperature": "c",
        "motor temperature": "c",
        "controller temperature": "c",
        "air temperature": "c",
    },
    bare_power="rider power",
    sample="sample",
)
_SI_UNIT: Mapping[str, str] = {"speed": "m/s", "length": "m", "temperature": "c", "power": "w", "rpm": "rpm"}
_QUANTITY_OF_CHANNEL = {quantity.channel: quantity for quantity in QUANTITIES.values()}


@dataclass(frozen=True)
class NativeField:
    """A field that the format itself defines.

    Attributes
    ----------
    header : its name in the file
    channel : what it is
    values : shape (n,), in the channel's unit, NaN where a sample does not have it
    unit : in which the file counts
    factor : from that unit to the channel's [1]
    """

    header: str
    channel: str
    values: np.ndarray
    unit: str
    factor: float = 1.0


@dataclass(frozen=True)
class FieldsRead:
    """Channels of a track in their units, how each of its fields was understood, and which wait for an answer."""

    channels: dict[str, np.ndarray]
    readings: tuple[ColumnReading, ...]
    findings: tuple[Finding, ...]
    questions: tuple[str, ...]
    open_headers: frozenset[str]
    can_show_return: bool | None
    writes_sign: bool


def quantity_of(channel: str) -> str:
    """The name for people of what a channel holds."""
    return _QUANTITY_OF_CHANNEL[channel].name


def columns_of(samples: Sequence[Mapping[Key, float]]) -> dict[Key, np.ndarray]:
    """What stands in each sample, turned into columns; NaN where a sample does not have it."""
    keys = dict.fromkeys(key for sample in samples for key in sample)
    return {key: np.array([sample.get(key, np.nan) for sample in samples], dtype=float) for key in keys}


def read_fields(
    natives: Sequence[NativeField],
    extras: Mapping[tuple[str, str], np.ndarray],
    time_s: np.ndarray,
    *,
    source: str,
    why: str,
    columns: ColumnMap | None = None,
) -> FieldsRead:
    """Channels of a track from its own fields and from those of makers.

    Parameters
    ----------
    natives : fields of the format; of several for one channel, the later wins where it has a value
    extras : the makers' fields by name and stated unit, shape (n,) each, NaN where a sample does not have one
    time_s : times of the samples, shape (n,) [s]
    source : name of the file, for messages
    why : where the meaning of the native fields comes from
    columns : what the user says about the makers' fields

    Returns
    -------
    fields : a native field wins over a maker's for the same channel
    """
    channels: dict[str, np.ndarray] = {}
    readings = []
    for native in natives:
        if np.isnan(native.values).all():
            continue
        known = channels.get(native.channel)
        values = native.values if known is None else np.where(np.isnan(native.values), known, native.values)
        channels[native.channel] = values
        quantity = quantity_of(native.channel)
        readings.append(ColumnReading(native.header, native.channel, quantity, native.unit, native.factor, why=why))
    first_headers = {reading.channel: reading.header for reading in reversed(readings) if reading.channel}
    own = [_native_column(channel, first_headers[channel], values) for channel, values in channels.items()]
    told = _maker_columns(extras, source, columns)
    decided = assign([*own, *told], time_s, source, TRACK)
    found = {name: values for name, values in decided.channels.items() if name not in channels}
    return FieldsRead(
        channels={**channels, **found},
        readings=(*readings, *(column.reading for column in told)),
        findings=(*decided.findings, *_unused_findings(told, decided)),
        questions=tuple(question.in_words for question in decided.questions),
        open_headers=frozenset(column.header for column in told if column.is_open),
        can_show_return=decided.can_show_return,
        writes_sign=_shows_sign(told),
    )


def _shows_sign(columns: Sequence[Column]) -> bool:
    """Whether the makers' numbers of battery current carry a sign; the map's factor is none of theirs."""
    turned = [-1.0 if (column.map_factor or 1.0) < 0 else 1.0 for column in columns]
    return shows_sign(
        (column, None if column.values is None else way * column.values)
        for column, way in zip(columns, turned, strict=True)
    )


def _native_column(channel: str, header: str, values: np.ndarray) -> Column:
    """A native field among the columns, where its values are evidence on the others."""
    quantity = _QUANTITY_OF_CHANNEL[channel]
    spelling = "%" if channel.endswith("_pct") else quantity.implied_unit or _SI_UNIT[quantity.dimensions[0]]
    return Column(header, HeaderMeaning(quantity.name, UNITS[spelling.lower()]), values=values, native=True)


def _maker_columns(
    extras: Mapping[tuple[str, str], np.ndarray], source: str, columns: ColumnMap | None
) -> list[Column]:
    """One column for each field of a maker, its words read and the map's entry applied."""
    told = []
    for label, (key, values) in zip(labels(name for name, _ in extras), extras.items(), strict=True):
        entry = columns.entry(label) if columns else None
        meaning = overruled(field_meaning(*key), entry)
        factor = 1.0 if entry is None or entry.factor is None else entry.factor
        column = Column(label, meaning, entry, values * factor)
        apply_entry(column, source)
        told.append(column)
    return told


def field_meaning(name: str, unit: str) -> HeaderMeaning:
    """What the name and the unit of a maker's field say; nothing where a word is not known, or they disagree.

    Parameters
    ----------
    name : as the file has it
    unit : as the file has it; empty where it states none, a unit may then end the name
    """
    meaning = understand(name, unit or None)
    if meaning.strange and meaning.quantity:
        return replace(meaning, quantity=None, why=reasons.strange_words(meaning.strange))
    nouns = meaning.concepts & NOUNS - {"rpm", "time"}
    if meaning.quantity and len(nouns) > 1:
        return replace(meaning, quantity=None, why=reasons.several_at_once(sorted(nouns)))
    if meaning.contradiction and meaning.unit:
        why = reasons.units_disagree(meaning.unit.name, meaning.contradiction.name)
        return replace(meaning, quantity=None, why=why)
    if meaning.quantity in ("time", "date"):
        return replace(meaning, quantity=None, why=reasons.TIME_IS_THE_FORMATS)
    if meaning.quantity is None and meaning.concepts == {"temperature"}:
        bare = understand(f"air {name}", unit or None)
        return replace(bare, why=reasons.BARE_TEMPERATURE)
    return meaning


def _unused_findings(columns: Sequence[Column], decided: Assignment) -> list[Finding]:
    """A current or voltage that is not used is worth knowing of: the answer may hang on it."""
    return [
        Finding(
            "unused-field",
            "note",
            {"file": decided.name, "field": column.header, "unknown_words": tuple(column.meaning.strange)},
        )
        for column in columns
        if column.channel is None and not column.is_told and column.meaning.concepts & {"current", "voltage"}
    ]
