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


def _by_effort(stated: Stated, style: Style) -> str:
    r, what = stated.number("effort_correlation"), stated.text("correlated")
    shown = fixed(r, 2, style)
    climbs = " or climbs" if stated.flag("effort_with_heights") else ""
    if not stated.flag("effort_clear"):
        return f"{what} hardly goes with speeding up{climbs and ' and climbing'} (r = {shown})"
    return f"{what} is {'positive' if r > 0 else 'negative'} when the bike speeds up{climbs} (r = {shown})"


def _by_amounts(stated: Stated, style: Style) -> str:
    share_pct = stated.number("positive_share_pct")
    peaks = [number(stated.number(name), style) for name in ("positive_peak", "negative_peak")]
    mostly = "positive"
    if share_pct < _HALF_PCT:
        mostly, share_pct, peaks = "negative", _WHOLE_PCT - share_pct, peaks[::-1]
    share = amount(share_pct, PERCENTAGE, style, decimals=0)
    return f"{share} of all that flowed was {mostly}, with peaks of {peaks[0]} against {peaks[1]} the other way"


_WHOLE_PCT, _HALF_PCT = 100.0, 50.0
_EVIDENCE: tuple[tuple[str, Callable[[Stated, Style], str]], ...] = (
    ("volts_per_ampere", _by_sag),
    ("volts_per_watt", _by_power_sag),
    ("state_of_charge_fall_pct", _by_charge),
    ("drawn_counter_rise_ah", _by_counter("drawn", "charge drawn")),
    ("returned_counter_rise_ah", _by_counter("returned", "charge returned")),
    ("net_counter_rise_ah", _by_counter("net", "net charge")),
    ("power_sign_same", _by_power),
    ("effort_correlation", _by_effort),
    ("positive_share_pct", _by_amounts),
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
    """Words, or the map, against values."""
    column, file = quoted(stated.text("column")), stated.text("file")
    if stated.flag("by_map"):
        return (
            f"The column map says the sign of {column} in {file}, and the values say the opposite: "
            f"{_evidence(stated, style)}. Check the map first: without sign there, we would go by the values."
        )
    evidence = _evidence(stated, style)
    return f"In {file}, the name of the column {column} and its values disagree about the sign: {evidence}."


def _how_to_say(stated: Stated) -> str:
    return f"for {quoted(stated.text('column'))} in the column map"


def sign_assumed(stated: Stated, style: Style) -> str:
    """Only the amounts show the sign."""
    file, quantity = stated.text("file"), stated.text("quantity")
    nothing = f"Nothing else in the ride shows which way positive {quantity} in {file} flows"
    amounts = _by_amounts(stated, style)
    if stated.flag("turned"):
        return (
            f"{nothing}. We assume into the battery: {amounts}, and far more is drawn on a ride than comes back. If "
            f"that is wrong, write sign = 1 {_how_to_say(stated)}."
        )
    kept = f"{nothing}. We assume out of the battery, as is usual: {amounts}."
    return kept if stated.flag("sure") else f"{kept} If that is wrong, write sign = -1 {_how_to_say(stated)}."


def sign_open(stated: Stated, style: Style) -> str:
    """Nothing shows the sign."""
    file, quantity = stated.text("file"), stated.text("quantity")
    why = (
        f"What shows which way positive {quantity} in {file} flows contradicts itself"
        if stated.flag("contradicting")
        else f"Nothing in the ride shows which way positive {quantity} in {file} flows"
    )
    return (
        f"{why}; {_by_amounts(stated, style)}. The numbers assume out of the battery. Does it? Write sign = 1 if so, "
        f"and sign = -1 if not, {_how_to_say(stated)}."
    )


TEMPLATES: Mapping[str, Template] = {
    "sign-reversed": sign_reversed,
    "sign-assumed": sign_assumed,
    "sign-doubtful": sign_doubtful,
    "sign-open": sign_open,
}
