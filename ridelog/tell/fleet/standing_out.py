"""What stands out on a bike over its rides: one sentence or a few a remark, made from its facts alone."""

from collections.abc import Mapping
from datetime import datetime

from ridelog.findings import Fact
from ridelog.tell.findings.words import ASK, Stated, Template, case, degrees
from ridelog.tell.kinds import CURRENT, FORCE, PERCENTAGE, RESISTANCE, VOLTAGE
from ridelog.tell.numbers import METRIC, Style, amount, counted, number
from ridelog.tell.times import day

IN_SHORT: Mapping[str, str] = {  # what is looked for in words, for a table
    "charge-cut-out": "charge path opened",
    "cell-overcharged": "charged beyond full",
    "charged-cold": "charged while cold",
    "regen-lost": "regen lost",
    "regen-fading": "regen fading",
    "zero-drifting": "current's zero drifting",
    "resistance-rising": "resistance rising",
    "wheel-size-off": "wheel size off",
    "below-others": "captures less than others",
    "not-enough-rides": "too few rides",
}
BRAKES = "Rely on both friction brakes."


def remark(code: str, facts: Mapping[str, Fact], style: Style = METRIC) -> str:
    """What a remark says, for a rider.

    Parameters
    ----------
    code : of the remark
    facts : its evidence
    style : units, digits and signs

    Returns
    -------
    text : one sentence, or a few

    Raises
    ------
    LookupError : no such code, or a fact is missing
    TypeError : a fact is of another kind than the template needs
    """
    return TEMPLATES[code](Stated(code, facts), style)


def _rides(stated: Stated, name: str, style: Style) -> str:
    return counted(stated.count(name), "ride", style=style)


def _before(stated: Stated, style: Style) -> str:
    return f"over the {_rides(stated, 'n_before', style)} before"


def _pct(stated: Stated, name: str, style: Style) -> str:
    return amount(stated.number(name), PERCENTAGE, style, digits=2)


def _latest(stated: Stated, style: Style) -> str:
    n = stated.count("n_after")
    return "The latest ride" if n == 1 else f"The latest {_rides(stated, 'n_after', style)}"


def regen_lost(stated: Stated, style: Style) -> str:
    """The latest rides got next to nothing back."""
    of = case(stated, "quantity", {"captured": "of what braking had available", "recovered": "of what was drawn"})
    return (
        f"{_latest(stated, style)} got {_pct(stated, 'now_pct', style)} {of} back; "
        f"{_before(stated, style)} it was {_pct(stated, 'usual_pct', style)}. {BRAKES} A setting, a brake switch, a "
        f"connector or the pack's BMS may have ended it. {ASK} before changing anything at the pack."
    )


_BASES = {
    "hills": "On the same hills",
    "captured": "On rides like those before",
    "recovered": "On rides like those before",
}


def regen_fading(stated: Stated, style: Style) -> str:
    """Less is captured than before."""
    where = case(stated, "basis", _BASES)
    what = "of what was drawn came back" if stated.text("basis") == "recovered" else "of what braking had was captured"
    how = "It fell from ride to ride" if stated.flag("gradual") else "It fell at once"
    return (
        f"{where}, {_pct(stated, 'after_pct', style)} {what}, and {_pct(stated, 'before_pct', style)} "
        f"{_before(stated, style)}. {how}; the air's temperature does not explain it."
        f"{_charge_fell(stated, style)}{_began(stated)} {BRAKES}"
    )


def _began(stated: Stated) -> str:
    """Within which rides it began (95 %), where several may have been the first."""
    names = ("since_earliest", "since_latest")
    if not all(name in stated for name in names) or stated.text(names[0]) == stated.text(names[1]):
        return ""
    first, last = (day(datetime.fromisoformat(stated.text(name))) for name in names)
    return f" It began between the rides of {first} and {last} (95 %)." if first != last else ""


def _charge_fell(stated: Stated, style: Style) -> str:
    """What the largest current into the battery, or the largest force, did, where it told the date."""
    if "charge_after_a" in stated:
        names, kind, what = ("charge_before_a", "charge_after_a"), CURRENT, "The largest current into the battery"
    elif "charge_force_after_n" in stated:
        names, kind = ("charge_force_before_n", "charge_force_after_n"), FORCE
        what = "The largest braking force that reached the battery"
    else:
        return ""
    before, after = (amount(stated.number(name), kind, style, digits=2) for name in names)
    return f" {what} went from {before} to {after} meanwhile."


def zero_drifting(stated: Stated, style: Style) -> str:
    """The current at rest moved."""
    before, after = (
        amount(stated.number(name), CURRENT, style, decimals=2) for name in ("before_a", "after_a")
    )  # fmt: skip
    how = "crept" if stated.flag("gradual") else "moved"
    return (
        f"At rest the sensor's current {how} from {before} to {after} over {_rides(stated, 'n_after', style)}. Every "
        "result since then is off by what that amounts to: set the sensor's zero anew, or enter what the bike "
        f"draws at rest (`standby_draw_a`).{_began(stated)}"
    )


def resistance_rising(stated: Stated, style: Style) -> str:
    """The pack's resistance rose."""
    before, after = (
        amount(stated.number(name), RESISTANCE, style, digits=2) for name in ("before_ohm", "after_ohm")
    )  # fmt: skip
    how = "rose bit by bit" if stated.flag("gradual") else "rose"
    cold = (
        "the temperature does not explain it"
        if stated.flag("temperature_known")
        else "cold may explain it, as no temperature is known"
    )
    return (
        f"The pack's resistance {how} from {before} to {after} over {_rides(stated, 'n_after', style)}; {cold}. Worn "
        f"cells or a connection that gets loose do that. {ASK} to look at it.{_began(stated)}"
    )


def wheel_size_off(stated: Stated, style: Style) -> str:
    """The wheel's speed does not fit the positions."""
    off = stated.number("off_pct")
    way = "faster" if off > 0 else "slower"
    over = _rides(stated, "n_after", style)
    changed = f", and was not on the {_rides(stated, 'n_before', style)} before" if stated.count("n_before") else ""
    return (
        f"By its positions the bike was {amount(abs(off), PERCENTAGE, style, digits=2)} {way} than its wheel said, on "
        f"{over}{changed}. Measure the wheel's circumference (`wheel_circumference_m`), or the setting of its display."
    )


def below_others(stated: Stated, style: Style) -> str:
    """Less is captured than by others on the same hills."""
    points = number(-stated.number("difference_points"), style, digits=2)
    return (
        f"On {counted(stated.count('n_hills'), 'hill', style=style)} that other bikes ride too, it captured {points} "
        "percentage points less of what braking had available than they did, at like speeds, temperatures and power; "
        f"the spread of {counted(stated.count('n_bikes'), 'other bike', style=style)} does not explain it."
    )


def cell_overcharged(stated: Stated, style: Style) -> str:
    """Charge into cells above full, on several rides."""
    highest = stated.maybe("highest_v") if "highest_v" in stated else None
    up_to = "" if highest is None else f", up to {amount(highest, VOLTAGE, style, decimals=3)}"
    return (
        f"Charge went in while cells were above full on {_rides(stated, 'n_rides', style)}{up_to}. {ASK}, and start "
        "such rides with less charge."
    )


def charged_cold(stated: Stated, style: Style) -> str:
    """Charge into a cold pack, on several rides."""
    lowest = stated.maybe("lowest_c") if "lowest_c" in stated else None
    down_to = "" if lowest is None else f", down to {degrees(lowest, style)}"
    return (
        f"Charge went into the battery while it was colder than charging needs on "
        f"{_rides(stated, 'n_rides', style)}{down_to}. {ASK} whether regen may be used at such temperatures."
    )


def charge_cut_out(stated: Stated, style: Style) -> str:
    """The charge path opened while braked, on several rides."""
    return (
        f"The current into the battery stopped at once while the bike rolled on, on "
        f"{_rides(stated, 'n_rides', style)}, as when a BMS opens the charge path. Rely on both friction brakes alone. "
        f"{ASK} before riding with regen on such a pack again."
    )


def not_enough_rides(stated: Stated, style: Style) -> str:
    """Too few rides to judge the bike by."""
    known, rides = stated.count("n_known"), stated.count("n_rides")
    needed = f"it takes {stated.count('n_needed')} to tell what is usual."
    if known == rides:
        return f"Only {_rides(stated, 'n_rides', style)}: {needed}"
    told = "None" if known == 0 else f"Only {known}"
    which = "the one ride" if rides == 1 else _rides(stated, "n_rides", style)
    return f"{told} of {which} {'shows' if known < 2 else 'show'} what was recovered: {needed}"


TEMPLATES: Mapping[str, Template] = {
    "charge-cut-out": charge_cut_out,
    "cell-overcharged": cell_overcharged,
    "charged-cold": charged_cold,
    "regen-lost": regen_lost,
    "regen-fading": regen_fading,
    "zero-drifting": zero_drifting,
    "resistance-rising": resistance_rising,
    "wheel-size-off": wheel_size_off,
    "below-others": below_others,
    "not-enough-rides": not_enough_rides,
}
