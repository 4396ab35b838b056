"""Which way positive current flows, and on what evidence."""

from collections.abc import Callable, Mapping

from ridelog.findings import Fact
from ridelog.tell.findings.words import Stated, Template, quoted
from ridelog.tell.kinds import CHARGE, PERCENTAGE
from ridelog.tell.numbers import METRIC, Style, amount, count, fixed, number


def _by_sag(stated: Stated, style: Style) -> str:
    slope = stated.number("volts_per_ampere")
    moves, flows = ("falls", "out of") if slope < 0 else ("rises", "into")
    if not stated.flag("volts_per_ampere_clear"):
        alike = amount(stated.number("volts_per_ampere_alike_pct"), PERCENTAGE, style, decimals=0)
        n = count(stated.count("n_current_steps"), style)
        return f"the voltage {moves} with current in only {alike} of {n} steps"
    per_ampere = number(abs(slope), style, digits=2)
    return f"the voltage {moves} by {per_ampere} V per ampere, so positive current flows {flows} the battery"


def _by_power_sag(stated: Stated, style: Style) -> str:
    moves, flows = ("falls", "out of") if stated.number("volts_per_watt") < 0 else ("rises", "into")
    del style
    return f"the voltage {moves} with power, so positive power flows {flows} the battery"


def _by_charge(stated: Stated, style: Style) -> str:
    fall_pct = stated.number("state_of_charge_fall_pct")
    sign = "positive" if stated.number("net_charge_as") > 0 else "negative"
    moves = "falls" if fall_pct > 0 else "rises"
    return (
        f"the state of charge {moves} by {amount(abs(fall_pct), PERCENTAGE, style)} while the current is mostly {sign}"
    )


def _by_counter(which: str, name: str) -> Callable[[Stated, Style], str]:
    def words(stated: Stated, style: Style) -> str:
        rise = amount(stated.number(f"{which}_counter_rise_ah"), CHARGE, style)
        way = "out of" if stated.flag(f"{which}_counter_fits_as_read") else "into"
        return f"the counter of {name} rises by {rise}, as positive current {way} the battery would make it"

    return words


def _by_power(stated: Stated, _style: Style) -> str:
    return f"power has {'the same' if stated.flag('power_sign_same') else 'the opposite'} sign"


def _by_speeding(stated: Stated, style: Style) -> str:
    r, what = stated.number("acceleration_correlation"), stated.text("correlated")
    shown = fixed(r, 2, style)
    if not stated.flag("acceleration_clear"):
        return f"{what} and acceleration hardly agree (r = {shown})"
    return f"{what} is {'positive' if r > 0 else 'negative'} when the bike speeds up (r = {shown})"


_EVIDENCE: tuple[tuple[str, Callable[[Stated, Style], str]], ...] = (
    ("volts_per_ampere", _by_sag),
    ("volts_per_watt", _by_power_sag),
    ("state_of_charge_fall_pct", _by_charge),
    ("drawn_counter_rise_ah", _by_counter("drawn", "charge drawn")),
    ("returned_counter_rise_ah", _by_counter("returned", "charge returned")),
    ("net_counter_rise_ah", _by_counter("net", "net charge")),
    ("power_sign_same", _by_power),
    ("acceleration_correlation", _by_speeding),
)


def evidence_words(facts: Mapping[str, Fact], style: Style = METRIC) -> str:
    """What the evidence on a sign says, as a part of a sentence.

    Parameters
    ----------
    facts : those of one or more kinds of evidence, as importers find them
    style : how numbers are written
    """
    stated = Stated("sign-reversed", facts)
    return "; ".join(words(stated, style) for name, words in _EVIDENCE if name in stated)


def _evidence(stated: Stated, style: Style) -> str:
    told = "; ".join(words(stated, style) for name, words in _EVIDENCE if name in stated)
    return told or stated.lacks("volts_per_ampere")


def sign_reversed(stated: Stated, style: Style) -> str:
    """A sign that was turned."""
    return (
        f"We reversed the sign of {quoted(stated.text('column'))} in {stated.text('file')}: {_evidence(stated, style)}."
    )


def sign_doubtful(stated: Stated, style: Style) -> str:
    """Words against values."""
    return (
        f"In {stated.text('file')}, the name of the column {quoted(stated.text('column'))} and its values disagree "
        f"about the sign: {_evidence(stated, style)}."
    )


def sign_assumed(stated: Stated, _style: Style) -> str:
    """Nothing shows the sign."""
    doubt = (
        ", although more would then have come back than was drawn. If it flows the other way, write sign = -1 in the "
        "column map"
        if stated.flag("more_back_than_drawn")
        else ""
    )
    return (
        f"Nothing in {stated.text('file')} shows which way positive {stated.text('quantity')} flows. We assume out of "
        f"the battery, as is usual{doubt}."
    )


TEMPLATES: Mapping[str, Template] = {
    "sign-reversed": sign_reversed,
    "sign-assumed": sign_assumed,
    "sign-doubtful": sign_doubtful,
}
