"""Units of measurement, their spellings, and how each is turned into the unit of a channel."""

import re
import unicodedata
from collections.abc import Mapping

from ridelog.lazy import dataclass

BRACKETS = re.compile(r"[\(\[\{<]([^\(\)\[\]\{\}<>]*)[\)\]\}>]")


@dataclass(frozen=True)
class Unit:
    """A unit of measurement: ``value_si = (value + offset) * factor``."""

    name: str
    dimension: str
    factor: float = 1.0
    offset: float = 0.0


# name, dimension, factor, offset, further spellings (lower case, without blanks)
_UNIT_ROWS: tuple[tuple[str, str, float, float, str], ...] = (
    ("A", "current", 1, 0, "a amp amps ampere amperes amper amperios"),
    ("mA", "current", 1e-3, 0, "ma milliamp milliamps milliampere"),
    ("V", "voltage", 1, 0, "v volt volts vdc voltios"),
    ("mV", "voltage", 1e-3, 0, "mv millivolt millivolts"),
    ("W", "power", 1, 0, "w watt watts vatios"),
    ("kW", "power", 1e3, 0, "kw kilowatt kilowatts"),
    ("mW", "power", 1e-3, 0, "mw milliwatt"),
    ("m/s", "speed", 1, 0, "m/s mps m/sec ms-1 m·s-1 ms^-1"),
    ("km/h", "speed", 1 / 3.6, 0, "km/h kmh kph kmph km/hr kmh-1 km·h-1 km/std"),
    ("mph", "speed", 0.44704, 0, "mph mi/h miles/h"),
    ("ft/s", "speed", 0.3048, 0, "ft/s fps"),
    ("kn", "speed", 1852 / 3600, 0, "kn kt kts knot knots"),
    ("m", "length", 1, 0, "m meter meters metre metres metri metros"),
    ("km", "length", 1e3, 0, "km kilometer kilometers kilometre kilometres"),
    ("mi", "length", 1609.344, 0, "mi mile miles"),
    ("ft", "length", 0.3048, 0, "ft feet foot"),
    ("s", "time", 1, 0, "s sec secs second seconds sek sekunden secondes seconden segundos secondi"),
    ("ms", "time", 1e-3, 0, "ms msec msecs milli millis millisecond milliseconds millisekunden"),
    ("µs", "time", 1e-6, 0, "µs μs us usec usecs micros microsecond microseconds mikrosekunden"),
    ("min", "time", 60, 0, "min mins minute minutes minuten"),
    ("h", "time", 3600, 0, "h hr hrs hour hours std"),
    ("h:mm:ss", "clock", 1, 0, "h:m:s h:mm:ss hh:mm:ss h:mm:ss.s hh:mm:ss.s hh:mm:ss.sss hms mm:ss"),
    ("°C", "temperature", 1, 0, "°c c degc deg.c celsius"),
    ("°F", "temperature", 5 / 9, -32, "°f f degf deg.f fahrenheit"),
    ("K", "temperature", 1, -273.15, "k kelvin"),
    ("Ah", "charge", 1, 0, "ah amphours amphour"),
    ("mAh", "charge", 1e-3, 0, "mah"),
    ("Wh", "energy", 1, 0, "wh watthours watthour"),
    ("kWh", "energy", 1e3, 0, "kwh"),
    ("mWh", "energy", 1e-3, 0, "mwh"),
    ("rpm", "rpm", 1, 0, "rpm 1/min min-1 u/min tr/min r/min rev/min t/min omw/min giri/min upm"),
    ("%", "share", 1e-2, 0, "% percent pct prozent procent pourcent"),
    ("1", "one", 1, 0, "0/1 0..1 0-1 ratio on/off bool"),
    ("°", "angle", 1, 0, "° deg degree degrees grad"),
    ("semicircles", "angle", 180 / 2**31, 0, "semicircles semicircle"),
)

UNITS: Mapping[str, Unit] = {
    spelling: Unit(name, dimension, factor, offset)
    for name, dimension, factor, offset, spellings in _UNIT_ROWS
    for spelling in spellings.split()
}

# Units that stand in a units row or in brackets but belong to nothing that is read.
_STRANGE_UNITS = (
    "kg lb lbs j kj a/s v/s w/kg "
    "g m/s² m/s2 m/s^2 °/s deg/s rad/s rad nm n bar hpa pa kpa ohm ω mω mohm hz khz bpm wh/km wh/mi ah/km db dbm"
)
# What stands in a unit's place where there is none.
_NO_UNITS = "hex bit bits bytes enum text string count # none"
OTHER_UNITS = frozenset(f"{_STRANGE_UNITS} {_NO_UNITS}".split())
NO_UNITS = frozenset(_NO_UNITS.split())
_LEFT_OUT = frozenset(["n/a", "na", "-", "–", "unitless"])  # the same from a field, but cells of data in a text log
# How a time is written, where its unit would stand; without spaces.
_TIME_WRITTEN = (
    "iso iso8601 iso-8601 rfc3339 utc gmt local localtime date datetime date/time timestamp "
    "yyyy-mm-dd yyyy-mm-ddhh:mm:ss yyyy-mm-ddthh:mm:ss dd.mm.yyyy dd.mm.yyyyhh:mm:ss dd/mm/yyyy mm/dd/yyyy"
)
_TIME_FORMS = frozenset(_TIME_WRITTEN.split())


def unit_named(text: str) -> Unit | None:
    """The unit that ``text`` spells; ``None`` where it spells none that is known."""
    folded = unicodedata.normalize("NFKC", text).strip().replace("μ", "µ").lower()
    return UNITS.get(folded.replace(" ", "").rstrip("."))


def spells_unit(text: str) -> bool:
    """Whether ``text`` is a unit, known to be used or not: what a units row consists of."""
    bare = BRACKETS.sub(r"\1", text).strip()
    return unit_named(bare) is not None or is_other_unit(bare)


def is_other_unit(text: str) -> bool:
    """Whether ``text`` is a unit in which nothing that is read is measured, or a word for having none."""
    return text.strip().lower().replace(" ", "") in OTHER_UNITS


def says_no_unit(text: str) -> bool:
    """Whether ``text`` stands in a unit's place and says that there is none."""
    bare = BRACKETS.sub(r"\1", text).strip().lower()
    return not bare or bare in NO_UNITS | _LEFT_OUT or bare.replace(" ", "") in _TIME_FORMS
