"""What differs between groups of rides, in sentences for a rider: the verdict first, with what it rests on."""

from collections.abc import Iterator, Mapping
from types import MappingProxyType

from ridelog.compare.record import Comparison, Difference
from ridelog.lazy import dataclass
from ridelog.tell.findings.comparison import CONDITIONS, kind_of
from ridelog.tell.findings.words import listed, trimmed
from ridelog.tell.numbers import METRIC, Style, bounds, counted, measured
from ridelog.tell.table import capital
from ridelog.uncertain.quantity import Quantity

DID: Mapping[str, str] = MappingProxyType(
    {"recovered_pct": "recovered", "captured_pct": "captured", "net_wh_per_km": "used"}
)
HOW = "Intervals hold 95 % of what is possible, by how rides differ and by what of the measurement does not cancel."


@dataclass(frozen=True)
class Said:
    """A sentence of one difference; ``told`` : whether it is a verdict."""

    words: str
    told: bool


def headline(comparison: Comparison, style: Style = METRIC) -> str:
    """The first difference that is told, or else the first."""
    plain = [each for each in comparison.differences if not each.corrected]
    first = next((each for each in plain if each.verdict != "not-told"), plain[0] if plain else None)
    return "Nothing was compared." if first is None else said(first, len(plain), style).words


def sentences(comparison: Comparison, style: Style = METRIC) -> Iterator[Said]:
    """Every difference, those as they were ridden first, then those that are corrected.

    Parameters
    ----------
    comparison : of groups
    style : units, digits and separators

    Yields
    ------
    One sentence each.
    """
    corrected_for = [CONDITIONS[each.quantity] for each in comparison.conditions if each.corrected]
    for corrected in (False, True):
        together = [each for each in comparison.differences if each.corrected == corrected]
        for each in together:
            one = _said(each, len(together), style)
            before = f"Corrected for {listed(corrected_for)}: " if corrected and corrected_for else ""
            before = before or ("Corrected: " if corrected else "")
            yield Said(capital(f"{before}{one.words}"), one.told)


def said(difference: Difference, together: int, style: Style = METRIC) -> Said:
    """One difference in a sentence.

    Parameters
    ----------
    difference : of two groups
    together : how many differences were looked at together
    style : units, digits and separators

    Returns
    -------
    sentence : of what is told, or of what is not and what it would take
    """
    one = _said(difference, together, style)
    return Said(capital(one.words), one.told)


def _said(difference: Difference, together: int, style: Style) -> Said:
    """The sentence as it may follow another's colon."""
    if difference.verdict == "not-told" or difference.difference is None:
        return Said(_not_told(difference, together, style), told=False)
    value = difference.difference
    more = value.value > 0
    away = value if more else _turned(value)
    kind = kind_of(difference.quantity, differs=True)
    within = bounds(away, kind, style, digits=2)
    number = (
        measured(Quantity(away.value), kind, style, digits=2) if within is None else _value(away, difference, style)
    )
    text = (
        f"{_where(difference)}{difference.second} {DID[difference.quantity]} {number} {'more' if more else 'less'} "
        f"than {difference.first}{f' ({within})' if within else ''}, {basis(difference, style)}."
    )
    return Said(text, told=True)


def _value(away: Quantity, difference: Difference, style: Style) -> str:
    """The value with its unit, as many digits as its interval bears."""
    return measured(away, kind_of(difference.quantity, differs=True), style, digits=2).partition(" (")[0]


def _turned(value: Quantity) -> Quantity:
    low = None if value.high95 is None else -value.high95
    high = None if value.low95 is None else -value.low95
    return Quantity(-value.value, low, high)


def _where(difference: Difference) -> str:
    if difference.paired_by != "hill":
        return ""
    return "on the hill that both rode, " if difference.pairs == 1 else f"on {difference.pairs} hills that both rode, "


def basis(difference: Difference, style: Style = METRIC) -> str:
    """What a difference rests on: "paired by route over 6 pairs".

    Parameters
    ----------
    difference : of two groups
    style : separators

    Returns
    -------
    A phrase.
    """
    first, second = difference.first_rides, difference.second_rides
    if difference.paired_by == "route":
        return f"paired by route over {counted(difference.pairs, 'pair', style=style)}"
    rides = f"{second} against {counted(first, 'ride', style=style)}"
    return f"hill by hill, {rides}" if difference.paired_by == "hill" else f"not paired, {rides}"


def _not_told(difference: Difference, together: int, style: Style) -> str:
    whether = (
        f"it is not clear whether {_where(difference)}{difference.second} {DID[difference.quantity]} more or less than "
        f"{difference.first}"
    )
    if difference.difference is None:
        return f"{whether}: {_unknown(difference)}."
    kind = kind_of(difference.quantity, differs=True)
    seen = measured(difference.difference, kind, style, digits=2)
    if difference.p_value is None:
        return f"{whether}: {seen} was seen, but one ride of a group does not show how much its rides differ."
    told = f"{whether}: {seen}, {basis(difference, style)}"
    low, high = difference.difference.low95, difference.difference.high95
    clear = low is not None and high is not None and not low <= 0 <= high
    alone = f"; alone it would be, but {together} differences were looked at together" if clear else ""
    return f"{told}{alone}{_to_settle(difference, style)}."


def _unknown(difference: Difference) -> str:
    lacking = [
        name
        for name, n in ((difference.first, difference.first_rides), (difference.second, difference.second_rides))
        if not n
    ]
    return f"no ride of {listed(lacking)} tells it" if lacking else "no ride tells it"


def _to_settle(difference: Difference, style: Style) -> str:
    if difference.settling is None:
        return ""
    settled = trimmed(difference.settling, kind_of(difference.quantity, differs=True), style, digits=2)
    settled = settled.removesuffix("s") if difference.settling == 1 and settled.endswith("points") else settled
    more = difference.rides_to_settle
    if more is None:
        return f"; no number of rides would settle {settled} on these loggers and bikes"
    if more == 0:
        return f"; a difference of {settled} would most likely have shown"
    rides = counted(more, "more ride", style=style)
    return f"; {rides} {'each' if more > 1 else 'of each'} would settle {settled}"
