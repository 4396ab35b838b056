"""The one schema of a store: the columns of each of its tables, what they hold, and in which unit.

A later ridelog may add columns: a file that lacks one reads as unknown there, and one too many is passed over.
"""

from collections.abc import Mapping
from datetime import datetime
from functools import cache
from typing import Any, get_type_hints

import pyarrow as pa

from ridelog.answer.braking import BrakingEvent
from ridelog.answer.frames import columns_of, unit_of
from ridelog.answer.hills import Hill
from ridelog.answer.ride import Answer
from ridelog.findings import Finding
from ridelog.lazy import dataclass
from ridelog.uncertain.quantity import Quantity

TABLES = ("answers", "hills", "events", "findings")
SECTIONS = ("ride", "charge", "energy", "braking", "pack")  # of an answer, in its row

# What a row of answers says beside the sections of the answer, with what each is.
BESIDE: Mapping[str, tuple[Any, str]] = {
    "can_show_return": (bool, "whether the log can show a return"),
    "log_layout": (str, "the same for logs of the same columns and units: a digest of their headers"),
    "recordings": (str, "digest of its recordings alone, with whatever bike file"),
    "bike_file": (str, "SHA-256 of the bike file that it was measured with"),
    "column_map": (str, "SHA-256 of the column map that it was measured with"),
    "current_zero_a": (Quantity, "what the current reads with nothing flowing"),
    "air_temperature_c": (float, "mean over the ride, or as the bike file gives it"),
    "battery_temperature_c": (float, "mean over the ride"),
    "wheel_scale_ratio": (Quantity, "speed of the positions over the device's own"),
    "standby_draw_a": (Quantity, "drawn while standing, as measured"),
    "highest_charge_force_n": (float, "largest power into the battery over the speed at it: what regen braked with"),
    "coasting_s": (float, "how long it coasted, where pedals and brake are logged"),
    "coasting_drag_n": (float, "constant drag by that coasting: rolling and motor together"),
    "coasting_drag_u_n": (float, "its standard uncertainty, but for mass and air"),
    "coasting_cda_m2": (float, "drag area by that coasting"),
    "coasting_cda_u_m2": (float, "its standard uncertainty, but for mass and air"),
    "coasting_correlation_ratio": (float, "correlation of the two"),
    "coasting_drag_alike_n": (float, "the part of its standard uncertainty that rides on the same roads share"),
    "coasting_cda_alike_m2": (float, "the same of the drag area"),
    "coasting_alike_correlation_ratio": (float, "the same of that part"),
    "u_zero_pct": (float, "standard uncertainty of energy_recovered_pct from the current's zero alone"),
    "u_charge_gain_pct": (float, "the same, from charge against discharge gain"),
    "u_sampling_pct": (float, "the same, from sampling and noise"),
    "u_missing_pct": (float, "the same, from missing samples"),
}
_OF_RIDE: Mapping[str, tuple[Any, str]] = {
    "key": (str, "of the ride: SHA-256 over its files and its bike file"),
    "bike": (str, "name of the bike"),
    "month": (str, 'as "2026-03", UTC; "unknown" without wall time'),
}
_NAMES: Mapping[str, tuple[Any, str]] = {
    "name": (str, "of the ride"),
    "group": (str, "of the ride, from a manifest"),
    "ridelog": (str, "version that measured it"),
}
_START: Mapping[str, tuple[Any, str]] = {"ride_start": (datetime, "first sample, UTC")}
_LINE: Mapping[str, tuple[Any, str]] = {
    "line_latitude_deg": (list, "the way, a point every 20 m at most, WGS 84; null without positions"),
    "line_longitude_deg": (list, "the same"),
}
_ARROW: Mapping[Any, pa.DataType] = {
    float: pa.float64(),
    int: pa.int64(),
    bool: pa.bool_(),
    str: pa.string(),
    datetime: pa.timestamp("us", tz="UTC"),
    list: pa.list_(pa.float64()),
}


@dataclass(frozen=True)
class Column:
    """One column; ``kind`` is float, int, bool, str, datetime or list (of floats), ``meaning`` may be empty."""

    name: str
    kind: Any
    meaning: str = ""

    @property
    def unit(self) -> str | None:
        """As its name states it."""
        return unit_of(self.name)


@cache
def columns(table: str) -> tuple[Column, ...]:
    """The columns of a table, in order.

    Raises
    ------
    KeyError : no such table; see `TABLES`
    """
    if table == "answers":
        hints = get_type_hints(Answer)
        sections = [
            Column(f"{section}_{name}", kind)
            for section in SECTIONS
            for name, kind in columns_of(hints[section]).items()
        ]
        whole = Column("answer", str, "the whole answer as JSON")
        return (*_told(_OF_RIDE), *_told(_NAMES), *sections, *_told(BESIDE), whole)
    kind, after = {
        "hills": (Hill, _LINE),
        "events": (BrakingEvent, {}),
        "findings": (Finding, {"message": (str, "the finding as a sentence")}),
    }[table]
    own = [Column(name, each) for name, each in columns_of(kind).items()]
    return (*_told(_OF_RIDE), *_told(_START), *own, *_told(after))


@cache
def arrow_schema(table: str) -> pa.Schema:
    """What a file of a table holds; the bike and the month of answers are in the names of their folders."""
    apart = ("bike", "month") if table == "answers" else ()
    return pa.schema([(each.name, _ARROW[each.kind]) for each in columns(table) if each.name not in apart])


def _told(named: Mapping[str, tuple[Any, str]]) -> list[Column]:
    """Columns of a table above; a number with its interval takes three."""
    told = []
    for name, (kind, meaning) in named.items():
        ends = {"": meaning, "_low95": "", "_high95": ""} if kind is Quantity else {"": meaning}
        told += [Column(name + end, float if kind is Quantity else kind, words) for end, words in ends.items()]
    return told
