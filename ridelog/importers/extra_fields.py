"""What a field means that a format leaves to its makers: GPX extensions and FIT developer fields.

Read by the words of its name and its unit. Every word of a name must be understood, or the field is left
alone: "average speed" is not a speed, "form power" is not the power at the pedals.
"""

import re
from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import TypeVar

from ridelog.findings import Finding
from ridelog.recording import ColumnReading
from ridelog.vocabulary.units import UNITS, Unit

Key = TypeVar("Key")

_BATTERY = frozenset(["battery", "batt", "bat", "pack", "akku", "accu", "electric", "electrical"])
_MOTOR = frozenset(["motor", "phase", "engine"])
_CONTROLLER = frozenset(["controller", "inverter"])
_INTO_BATTERY = frozenset(["regen", "regenerative", "regenerated", "recuperation", "charge", "charging"])
_AIR = frozenset(["air", "ambient", "outside"])
_FILLING = frozenset(["in", "value", "the", "of"])
_OWN = frozenset(["gps", "wheel", "ground", "vehicle", "bike", "ebike", "rider", "pedal", "crank"])


@dataclass(frozen=True)
class _Quantity:
    """Words that name a quantity, the dimension of its units, and the channel for each qualifying word."""

    name: str
    nouns: frozenset[str]
    dimension: str
    usual_unit: str | None
    channels: tuple[tuple[frozenset[str], str | None], ...]  # None: the quantity without a qualifying word
    plain: str | None  # channel where no qualifying word stands


_QUANTITIES = (
    _Quantity(
        "current",
        frozenset(["current", "amps", "amperes"]),
        "current",
        None,
        ((_MOTOR, "motor_current_a"), (_BATTERY, "current_a"), (_INTO_BATTERY, "current_a")),
        None,
    ),
    _Quantity("voltage", frozenset(["voltage", "volts"]), "voltage", None, ((_BATTERY, "voltage_v"),), "voltage_v"),
    _Quantity(
        "power",
        frozenset(["power", "watts"]),
        "power",
        "w",
        ((_MOTOR, None), (_BATTERY, "power_w"), (_INTO_BATTERY, "power_w"), (_OWN, "rider_power_w")),
        "rider_power_w",
    ),
    _Quantity("speed", frozenset(["speed", "velocity"]), "speed", "m/s", ((_OWN, "speed_mps"),), "speed_mps"),
    _Quantity("distance", frozenset(["distance"]), "length", "m", ((_OWN, "distance_m"),), "distance_m"),
    _Quantity(
        "temperature",
        frozenset(["temperature", "temp", "atemp", "airtemp"]),
        "temperature",
        "c",
        (
            (_BATTERY, "battery_temperature_c"),
            (_MOTOR, "motor_temperature_c"),
            (_CONTROLLER, "controller_temperature_c"),
            (_AIR, "air_temperature_c"),
        ),
        "air_temperature_c",
    ),
    _Quantity("cadence", frozenset(["cadence", "cad"]), "rpm", "rpm", ((_OWN, "cadence_rpm"),), "cadence_rpm"),
)


def understood(name: str, unit: str | None = None) -> ColumnReading:
    """How a field is understood by its name and, where it states one, its unit.

    Parameters
    ----------
    name : as the file has it; camel case, blanks and underscores part its words
    unit : as the file has it; ``None`` or empty where it has none, a unit may then end the name

    Returns
    -------
    the reading; its ``channel`` is ``None`` where a word or the unit is not understood, or where the name
    leaves open what was measured, and ``why`` says so
    """
    words = [word.lower() for word in re.findall(r"[A-Z]?[a-z]+|[A-Z]+(?![a-z])", name)]
    for quantity in _QUANTITIES:
        if quantity.nouns & set(words):
            return _reading(name, unit, words, quantity)
    return ColumnReading(name, None, "unknown", unit, why="no word that names a quantity of a ride")


def _reading(name: str, unit: str | None, words: list[str], quantity: _Quantity) -> ColumnReading:
    qualifying = [word for word in words if word not in quantity.nouns | _FILLING]
    spelled = (unit or "").lower().replace(" ", "")
    last = UNITS.get(qualifying[-1]) if qualifying else None
    if not spelled and last is not None and last.dimension == quantity.dimension:
        spelled = qualifying.pop()
    if not spelled and quantity.usual_unit is not None:
        spelled = quantity.usual_unit
    measure = UNITS.get(spelled)
    known = [word for group, _ in quantity.channels for word in group]
    strange = [word for word in qualifying if word not in known]
    if strange:
        refusal = f"the name also says “{' '.join(strange)}”, which is not understood"
    elif not spelled:
        refusal = f"nothing says in which unit the {quantity.name} is"
    elif measure is None or measure.dimension != quantity.dimension:
        refusal = f"“{unit}” is not a unit of {quantity.name}"
    else:
        return _channel_of(ColumnReading(name, None, quantity.name, measure.name), qualifying, quantity, measure)
    return ColumnReading(name, None, quantity.name, unit, why=refusal)


def _channel_of(reading: ColumnReading, qualifying: list[str], quantity: _Quantity, measure: Unit) -> ColumnReading:
    """The reading with the channel that the qualifying words lead to, if they lead to one."""
    channel = quantity.plain
    if qualifying:
        channel = next(target for group, target in quantity.channels if group & set(qualifying))
    if channel is None:
        return replace(reading, why=f"the name does not say that it is the battery's {quantity.name}")
    why = f"the name says {' '.join([*qualifying, quantity.name])}"
    enters = channel in ("current_a", "power_w") and bool(_INTO_BATTERY & set(qualifying))
    return replace(
        reading,
        channel=channel,
        factor=measure.factor,
        offset=measure.offset,
        sign=-1 if enters else 1,
        why=why + (", so it counts into the battery" if enters else ""),
    )


def one_each(
    readings: Iterable[tuple[ColumnReading, Key]], taken: Iterable[str] = ()
) -> list[tuple[ColumnReading, Key]]:
    """The readings, with each channel given once: to the format's own field (``taken``), else to the first.

    A field that counts both ways comes before one that counts only what enters the battery. Each reading
    comes with a key of the caller's, which stays with it.
    """
    given = set(taken)
    result = []
    for reading, key in sorted(readings, key=lambda pair: pair[0].sign < 0):
        if reading.channel in given:
            reason = f"{reading.channel} comes from another field"
            unused = ColumnReading(reading.header, None, reading.quantity, reading.unit, why=reason)
            result.append((unused, key))
            continue
        if reading.channel is not None:
            given.add(reading.channel)
        result.append((reading, key))
    return result


def unused_findings(readings: Iterable[ColumnReading], source: str) -> list[Finding]:
    """A current or voltage that is not used is worth knowing of: the answer may hang on it."""
    return [
        Finding("unused-field", "note", f"{source}: the field “{reading.header}” is not used: {reading.why}.")
        for reading in readings
        if reading.channel is None and reading.quantity in ("current", "voltage")
    ]
