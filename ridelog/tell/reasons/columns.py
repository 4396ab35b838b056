"""Why a column is the one of its quantity or is not used, and what shows its unit and its sign."""

from typing import Literal

from ridelog.tell.numbers import as_logged, fixed, number

WORDS_NOT_NUMBERS = "its cells are words, not numbers"
NO_NUMBER = "it holds no number"
MAP_SAYS_SO = "the map says so"
MAP_NAMES_ANOTHER = "the map names another column"
WAITS_FOR_ANSWER = "not used before the question is answered"
NEVER_CHANGES = "it never changes, so it is no distance"
UNIT_OPEN = "its unit is not known"
NO_SIGN = "it carries no sign, while the current does"
DIRECTION_UNKNOWN = "drawn, returned or net? nothing shows it"
DIRECTION_DISAGREES = "drawn, returned or net? it agrees with none of what the current adds up to"
POWER_SIGN_TURNED = "sign turned, to agree with voltage · current"


def in_one(reasons: list[str]) -> str:
    """All reasons, each once, as one phrase."""
    return "; ".join(dict.fromkeys(reasons))


def not_used(why: str) -> str:
    """A decision against a column."""
    return f"not used: {why}"


# --- which of several columns -------------------------------------------------------------------------------------


def formats_own(header: str) -> str:
    """The format itself has a field for the quantity."""
    return f"'{header}' is the format's own field for it"


def another_is_read(header: str) -> str:
    """Another column was taken."""
    return f"'{header}' is read for it"


def said_more_plainly(header: str) -> str:
    """Another column's words say more."""
    return f"'{header}' says it more plainly"


def proven(header: str, quantity: str, reason: str) -> str:
    """The values prove another column.

    Parameters
    ----------
    header, quantity : of the column proven
    reason : what proves it

    Returns
    -------
    phrase
    """
    return f"'{header}' is {quantity}: {reason}"


def gives_the_power(share: float) -> str:
    """A current that fits power and voltage, by their ratio."""
    return f"multiplied by the voltage it is {fixed(share, 2)} of the power"


def on_the_batterys_side(ratio: float) -> str:
    """A controller's current that fits the battery's power."""
    return f"on the battery's side: power is {fixed(ratio, 2)} times voltage · current"


def is_power_of_flow(ratio: float) -> str:
    """A power that fits voltage and current."""
    return f"it is {fixed(ratio, 2)} times voltage · current"


def whose_power(ratio: float) -> str:
    """A power that fits neither."""
    return f"whose power? it is not voltage · current (median ratio {fixed(ratio, 2)})"


def bare_power(quantity: str) -> str:
    """What a power that does not say whose is in a track."""
    return f"a power that does not say whose is {quantity} in a track"


def joined(*, into: bool) -> str:
    """One of two columns, of what flows into or out of the battery."""
    way = "into" if into else "out of"
    return f"joined with the column of the other direction; this one is what flows {way} the battery"


def counter_grows(grown: float, expected: float, unit: str) -> str:
    """A count that fits what the current adds up to.

    Parameters
    ----------
    grown : rise of the count
    expected : what the current gives
    unit : of both

    Returns
    -------
    phrase
    """
    return f"it grows by {number(grown, digits=4)} {unit}, the current gives {number(expected, digits=4)}"


# --- units --------------------------------------------------------------------------------------------------------


def _no_unit(unit: str, evidence: str) -> str:
    return f"no unit is stated; {unit}, {evidence}"


WATTS_BY_SIZE = _no_unit("W", "since it would exceed 40 kW otherwise")


def unit_by_power(unit: str, ratio: float) -> str:
    """The unit of a current in which it fits power and voltage."""
    return _no_unit(unit, f"since power / voltage is {fixed(ratio, 2)} times it")


def unit_by_resistance(unit: str, resistance_ohm: float) -> str:
    """The unit of a current in which the voltage answers to it as a pack's does."""
    return _no_unit(unit, f"since the voltage then moves by {number(resistance_ohm, digits=2)} V per ampere")


def unit_by_largest(peak: float, largest_a: float) -> str:
    """A current that would be too large in amperes."""
    return _no_unit("mA", f"since {as_logged(peak)} A would be more than {as_logged(largest_a)} A")


def unit_by_median(unit: str, median: float) -> str:
    """The one unit in which the median is possible."""
    return _no_unit(unit, f"since the median is {as_logged(median)}")


def unit_of_power_by_flow(unit: str, ratio: float) -> str:
    """The unit of a power in which it fits voltage and current."""
    return _no_unit(unit, f"since it is {fixed(ratio, 2)} times voltage · current")


def unit_by_rate(unit: str, other: Literal["speed", "distance"], factor: float, factor_of_unit: float) -> str:
    """The unit in which speed and distance agree.

    Parameters
    ----------
    unit : found
    other : which of the two was known
    factor : from the unit to SI, as the values have it
    factor_of_unit : as it is

    Returns
    -------
    phrase
    """
    against = f"{number(factor)} against {number(factor_of_unit)}"
    return _no_unit(unit, f"since it agrees with the {other} ({against})")


def unit_by_way(unit: str, factor: float, factor_of_unit: float) -> str:
    """The unit in which a distance grows as the positions move on.

    Parameters
    ----------
    unit : found
    factor : metres of way for each written 1
    factor_of_unit : as it is

    Returns
    -------
    phrase
    """
    against = f"{number(factor)} against {number(factor_of_unit)}"
    return _no_unit(unit, f"since it grows as the positions move on ({against})")


def times_the_positions(ratio: float) -> str:
    """How a speed compares with that of the positions."""
    return f"it is {fixed(ratio, 2)} times the speed in m/s that the positions give"


def unit_by_positions(unit: str, comparison: str) -> str:
    """The unit in which a speed agrees with the positions."""
    return _no_unit(unit, f"since {comparison}")


def fits_no_unit(comparison: str) -> str:
    """A speed that agrees with the positions in no unit."""
    return f"{comparison}, which fits no unit"


def usual_unit(unit: str) -> str:
    """The unit that the format counts in."""
    return _no_unit(unit, "in which the format counts")


def share_by_largest(largest: float, unit: str) -> str:
    """A share in parts of 1 or of 100, by its largest value."""
    return f"no unit is stated; values up to {as_logged(largest)} are {unit}"


def no_share(largest: float) -> str:
    """Values that are too large for a share."""
    return f"values up to {as_logged(largest)} are too large for a share"


def single_cell(median_v: float) -> str:
    """A voltage too low for a pack."""
    return f"a single cell, by its median of {number(median_v)} V"


# --- signs --------------------------------------------------------------------------------------------------------


def sign_by_part(header: str, *, positive: bool) -> str:
    """Another column holds the positive (or the negative) side of this one."""
    return f"'{header}' is its {'positive' if positive else 'negative'} side, which tells the sign"


def sign_turned(evidence: str) -> str:
    """The values show that positive flows into the battery."""
    return f"sign turned: {evidence}"


def sign_shown(evidence: str) -> str:
    """The values show that positive flows out of the battery."""
    return f"positive is out of the battery: {evidence}"


def sign_usual(evidence: str) -> str:
    """Nothing shows the sign; the evidence may be empty."""
    return "positive is taken as out of the battery, as is usual" + (f" ({evidence})" if evidence else "")
