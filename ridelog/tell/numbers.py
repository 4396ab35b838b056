"""The one place where numbers become text: units, digits and intervals (kinds and times beside it).

Everything is kept in SI units, watt-hours and ampere-hours; a `Style` says in which units, and how finely, a person
reads it.
"""

from collections.abc import Iterable
from dataclasses import replace
from datetime import datetime
from decimal import Decimal
from math import floor, isfinite, log10
from typing import Literal

from ridelog.lazy import dataclass
from ridelog.tell.kinds import Kind, Unit
from ridelog.uncertain.quantity import Quantity

UNKNOWN = "–"
NO_BREAK_SPACE = "\N{NO-BREAK SPACE}"
NARROW_SPACE = "\N{NARROW NO-BREAK SPACE}"
TRUE_MINUS = "\N{MINUS SIGN}"
MOST_DECIMALS = 6
SKEWED = 4 / 3  # times as wide as the other half of an interval: a half-width no longer says where it lies

Units = Literal["metric", "imperial"]


@dataclass(frozen=True)
class Dial:
    """What a clock showed when a ride began, and what it is called: "UTC"."""

    started: datetime
    name: str


@dataclass(frozen=True)
class Style:
    """How numbers are written.

    ``digits`` : significant digits of a number at most · ``intervals`` : "8.08 % (8.04 to 8.12)" or "8.08 ± 0.04 %" ·
    ``minus``, ``thousands``, ``space``, ``point`` : the sign, what sets thousands apart, what stands before a unit, and
    what stands before the decimals · ``dial`` : the clock that times are told by, where not since the start
    """

    units: Units = "metric"
    digits: int = 3
    intervals: Literal["low to high", "plus-minus"] = "low to high"
    minus: str = "-"
    thousands: str = ""
    space: str = " "
    point: str = "."
    dial: Dial | None = None


METRIC = Style()
IMPERIAL = Style(units="imperial")
STYLES: dict[str, Style] = {"metric": METRIC, "imperial": IMPERIAL}
POINTS = {"point": ".", "comma": ","}  # how decimals are written (ISO 80000-1:2009, 7.3.2 knows both)


def typeset(style: Style) -> Style:
    """The style as a page sets it: a true minus, thousands apart, and no line broken before a unit."""
    return replace(style, minus=TRUE_MINUS, thousands=NARROW_SPACE, space=NO_BREAK_SPACE)


PAGE = typeset(METRIC)


def unit_of(kind: Kind, style: Style = METRIC, *, value: float | None = None) -> Unit:
    """The unit that a kind is written in; where its size decides, that of ``value`` (in the kind's own unit).

    Parameters
    ----------
    kind : what is told
    style : metric or imperial
    value : the value that decides between a small and a large unit; the small one without it

    Returns
    -------
    unit : with the factor from the kind's own unit
    """
    imperial = style.units == "imperial"
    small, large = (kind.imperial, kind.large_imperial) if imperial else (kind.metric, kind.large_metric)
    if large is None or value is None or not isfinite(value):
        return small
    least = 0.25 if imperial else 1.0  # nobody says 3000 ft of road, and a quarter of a mile is still said in miles
    return large if abs(value * large.factor) >= least else small


def symbol(kind: Kind, style: Style = METRIC) -> str:
    """The sign of a kind's unit, for the head of a column."""
    return unit_of(kind, style).symbol


def converted(value: float | None, kind: Kind, style: Style = METRIC) -> float | None:
    """A value in the unit that a style shows; ``None`` stays ``None``.

    Parameters
    ----------
    value : in SI
    kind : of quantity
    style : units, digits and separators

    Returns
    -------
    In the unit shown.
    """
    unit = unit_of(kind, style)
    return None if value is None else value * unit.factor + unit.offset


def number(value: float | None, style: Style = METRIC, *, digits: int | None = None) -> str:
    """A number to so many significant digits, in full; zero is "0", and what is not known a dash.

    Nothing is shown in powers of ten, and digits before the point are never rounded away.

    Parameters
    ----------
    value : a number without a unit
    style : how it is written
    digits : other than the style's

    Returns
    -------
    text : "8.08", "10.0" (for 9.996), "–"
    """
    if value is None or not isfinite(value):
        return UNKNOWN
    if abs(value) < 0.5 * 10.0**-MOST_DECIMALS:  # what is left of a rounding error would be a row of zeros
        return "0"
    return fixed(value, decimals_of(value, style.digits if digits is None else digits), style)


def decimals_of(value: float, digits: int) -> int:
    """Decimals that show a value to ``digits`` significant digits, one less where rounding lifts it to one more."""
    if value == 0 or not isfinite(value):
        return 0
    decimals = min(max(0, digits - 1 - floor(log10(abs(value)))), MOST_DECIMALS)
    rounds_up = round(abs(value), decimals) >= 10 ** (digits - decimals)  # 9.996 to 10.00
    return max(0, decimals - 1) if rounds_up else decimals


def decimals_for(values: Iterable[float | None], digits: int = 3) -> int:
    """Decimals that show the largest of a column's values to ``digits`` digits, so that its points line up."""
    largest = max((abs(value) for value in values if value is not None and isfinite(value)), default=0.0)
    return decimals_of(largest, digits)


def fixed(value: float | None, decimals: int, style: Style = METRIC) -> str:
    """A number with a set number of decimals; what rounds to zero has no sign.

    Parameters
    ----------
    value : a number without a unit
    decimals : behind the point; -1 rounds to tens
    style : how it is written

    Returns
    -------
    text : "12.0", "-0.3", "–"
    """
    if value is None or not isfinite(value):
        return UNKNOWN
    shown = f"{abs(round(value, decimals)) if decimals < 0 else abs(value):,.{max(decimals, 0)}f}"
    sign = style.minus if value < 0 and shown.strip("0.,") else ""
    whole, dot, decimal_digits = shown.partition(".")
    return sign + whole.replace(",", style.thousands) + (style.point if dot else "") + decimal_digits


def signed(value: float | None, decimals: int, style: Style = METRIC) -> str:
    """A number with its sign, plus or minus, and so many decimals; what rounds to zero has none.

    Parameters
    ----------
    value : a number without a unit
    decimals : behind the point
    style : how it is written

    Returns
    -------
    text : "+0.8", "-0.8", "0.0", "–"
    """
    text = fixed(value, decimals, style)
    plus = value is not None and isfinite(value) and value > 0 and text.strip(f"0{style.point}")
    return f"+{text}" if plus else text


def count(n: int, style: Style = METRIC) -> str:
    """A whole number, its thousands set apart where the style does so."""
    return fixed(n, 0, style)


def counted(n: int, one: str, many: str | None = None, *, style: Style = METRIC) -> str:
    """How many there are, with the word for it: "1 hill", "3 hills".

    Parameters
    ----------
    n : how many
    one : the word for one of them
    many : the word for more than one; that for one with an s by default
    style : how the number is written

    Returns
    -------
    text : number and word
    """
    return f"{count(n, style)} {one if n == 1 else many or f'{one}s'}"


def amount(
    value: float | None, kind: Kind, style: Style = METRIC, *, digits: int | None = None, decimals: int | None = None
) -> str:
    """A number with its unit: "5.89 Wh", "1.2 km", "0.75 mi"; a dash where it is not known.

    Parameters
    ----------
    value : in the kind's own unit
    kind : what it is
    style : units, digits and signs
    digits : significant digits, other than the style's
    decimals : behind the point, in place of significant digits

    Returns
    -------
    text : number and unit
    """
    if value is None or not isfinite(value):
        return UNKNOWN
    unit = unit_of(kind, style, value=value)
    shown = value * unit.factor + unit.offset
    text = number(shown, style, digits=digits) if decimals is None else fixed(shown, decimals, style)
    return with_unit(text, unit.symbol, style)


def between(low: float, high: float, kind: Kind, style: Style = METRIC, *, digits: int | None = None) -> str:
    """Two numbers of one kind with their unit: "10 to 30 km/h", each to so many significant digits.

    Parameters
    ----------
    low, high : in the kind's own unit
    kind : what they are
    style : units, digits and signs
    digits : significant digits, other than the style's

    Returns
    -------
    text : both numbers and the unit
    """
    unit = unit_of(kind, style, value=max(abs(low), abs(high)))
    shown = [number(each * unit.factor + unit.offset, style, digits=digits) for each in (low, high)]
    return with_unit(f"{shown[0]} to {shown[1]}", unit.symbol, style)


def measured(
    quantity: Quantity | None, kind: Kind, style: Style = METRIC, *, digits: int | None = None, both: bool = False
) -> str:
    """A quantity with its unit and 95 % interval: "8.08 % (8.04 to 8.12)", or "8.08 ± 0.04 %" as the style has it.

    The value and its bounds have the same decimals: two digits of the narrower half of the interval, and no more than
    the style's digits of the larger bound (JCGM 100:2008, 7.2.6). An interval too narrow to be seen is left out.

    Parameters
    ----------
    quantity : in the kind's own unit
    kind : what it is
    style : units, digits, and how an interval is written
    digits : significant digits, other than the style's
    both : write the unit behind the bounds as well

    Returns
    -------
    text : value, unit and interval; a dash where it is not known
    """
    if quantity is None or not isfinite(quantity.value):
        return UNKNOWN
    unit = unit_of(kind, style, value=quantity.value)
    told = _Told.of(quantity, unit, style.digits if digits is None else digits)
    value = fixed(told.value, told.decimals, style) if told.value else "0"
    if told.low is None or told.high is None:
        return with_unit(value, unit.symbol, style)
    if style.intervals == "plus-minus" and not _is_skewed(quantity):
        half = fixed((told.high - told.low) / 2, told.decimals, style)
        return with_unit(f"{value} ± {half}", unit.symbol, style)
    within = _low_to_high(told, style)
    return f"{with_unit(value, unit.symbol, style)} ({with_unit(within, unit.symbol, style) if both else within})"


def bounds(quantity: Quantity | None, kind: Kind, style: Style = METRIC, *, digits: int | None = None) -> str | None:
    """The 95 % interval alone, without its unit: "8.04 to 8.12"; ``None`` where there is none to see.

    Parameters
    ----------
    quantity : in the kind's own unit
    kind : what it is
    style : units, digits and signs
    digits : significant digits, other than the style's

    Returns
    -------
    text : both bounds, rounded as `measured` rounds them
    """
    if quantity is None or not isfinite(quantity.value):
        return None
    unit = unit_of(kind, style, value=quantity.value)
    told = _Told.of(quantity, unit, style.digits if digits is None else digits)
    return None if told.low is None else _low_to_high(told, style)


def cell(quantity: Quantity | None, kind: Kind, style: Style = METRIC, *, decimals: int | None = None) -> str:
    """A quantity for a narrow table, whose head names the unit: "6.2 ±0.7", or "70 (50 to 142)" where it is skewed.

    An interval of which one half is wider than the other by more than `SKEWED` has no half-width that says where it
    lies.

    Parameters
    ----------
    quantity : in the kind's own unit
    kind : what it is
    style : units, digits and signs
    decimals : behind the point, where there is no interval to decide it

    Returns
    -------
    text : the half-width, or the wider half, to one digit, and all else to the same place
    """
    if quantity is None:
        return UNKNOWN
    unit = unit_of(kind, style)
    value = quantity.value * unit.factor + unit.offset
    low, high = quantity.low95, quantity.high95
    if low is None or high is None or high <= low:
        return number(value, style) if decimals is None else fixed(value, decimals, style)
    skewed = _is_skewed(quantity)
    half = (max(quantity.value - low, high - quantity.value) if skewed else (high - low) / 2) * unit.factor
    places = min(max(0, -floor(log10(half))), MOST_DECIMALS)
    shown = fixed(value, places, style)
    if not skewed:
        return f"{shown} ±{fixed(half, places, style)}"
    ends = (fixed(each * unit.factor + unit.offset, places, style) for each in (low, high))
    return f"{shown} ({' to '.join(ends)})"


def _is_skewed(quantity: Quantity) -> bool:
    """Whether a half-width would not say where the interval lies."""
    if quantity.low95 is None or quantity.high95 is None:
        return False
    halves = sorted((quantity.value - quantity.low95, quantity.high95 - quantity.value))
    return halves[1] > SKEWED * halves[0]


@dataclass(frozen=True)
class _Told:
    """A quantity in the unit that is shown, and the decimals of its value and bounds."""

    value: float
    low: float | None
    high: float | None
    decimals: int

    @classmethod
    def of(cls, quantity: Quantity, unit: Unit, digits: int) -> "_Told":
        value = quantity.value * unit.factor + unit.offset
        if quantity.low95 is None or quantity.high95 is None or not quantity.high95 > quantity.low95:
            return cls(value, None, None, decimals_of(value, digits))
        low, high = (each * unit.factor + unit.offset for each in (quantity.low95, quantity.high95))
        half = min((each for each in (value - low, high - value) if each > 0), default=high - low)
        decimals = min(1 - floor(log10(half)), decimals_of(max(abs(low), abs(high)), digits))
        if value:  # two digits of the value stay, whatever its interval
            decimals = max(decimals, min(0, 1 - floor(log10(abs(value)))))
        if round(low, decimals) == round(high, decimals):
            return cls(value, None, None, decimals_of(value, digits))
        return cls(value, low, high, decimals)


def _low_to_high(told: _Told, style: Style) -> str:
    """Both bounds; nothing is written "0", since no decimal of it was measured."""
    low, high = (fixed(each, told.decimals, style) if each else "0" for each in (told.low, told.high))
    return f"{low} to {high}"


def with_unit(text: str, unit: str, style: Style = METRIC) -> str:
    """A written number and its unit, which follows a space (an angle's follows at once).

    Parameters
    ----------
    text : the number
    unit : the unit's sign; may be empty
    style : the space between them

    Returns
    -------
    text : both together
    """
    if not unit or text == UNKNOWN:
        return text
    return f"{text}{unit}" if unit == "°" else f"{text}{style.space}{unit}"


def plain(value: float, digits: int = 12, style: Style = METRIC) -> str:
    """A number as somebody entered it, with no zeros added: "0.1", "3000".

    Parameters
    ----------
    value : the number
    digits : significant digits at most
    style : how it is written

    Returns
    -------
    text : the number
    """
    text = f"{value:.{digits}g}".replace(".", style.point)
    return style.minus + text[1:] if text.startswith("-") else text


def as_logged(value: float, digits: int = 6) -> str:
    """A value of a log in full, no zeros added and none before the point rounded away: "0.2", "48.25", "1234568"."""
    if not isfinite(value) or abs(value) >= 10.0**digits:
        return fixed(value, 0)
    return f"{Decimal(plain(value, digits)):f}"
