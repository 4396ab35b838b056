"""How the pack was treated. Every sentence keeps its caution, and none calls anything harmless."""

from collections.abc import Mapping

from ridelog.tell.findings.words import (
    ASK,
    DISTRESS,
    Stated,
    Template,
    case,
    degrees,
    give_or_take,
    sentences,
    trimmed,
)
from ridelog.tell.kinds import CHARGE, CURRENT, PERCENTAGE, VOLTAGE
from ridelog.tell.numbers import Style, amount, count
from ridelog.tell.times import clock, duration


def charge_path(stated: Stated, style: Style) -> str:
    """Charge that the bike file forbids, or does not speak of."""
    flowed = f"Up to {amount(stated.number('highest_charge_a'), CURRENT, style, decimals=1)} flowed into the battery"
    flowed = f"{flowed} through its discharge terminals"
    if stated.text("charge_path") == "blocked":
        return (
            f"{flowed}, and your bike file says that charge must not enter this pack there. Its BMS may not watch over "
            f"such charge. {ASK} before riding with regen again. {DISTRESS}"
        )
    says = "says it is unknown" if stated.flag("stated") else "does not say"
    return (
        f"{flowed}. Your bike file {says} whether this pack allows that (`charge_path`). Not every BMS watches over "
        "charge that comes in there. Ask the pack's maker."
    )


def charge_cut_out(stated: Stated, style: Style) -> str:
    """The charge path opened while the bike was braked."""
    before_v, after_v = stated.maybe("before_v"), stated.maybe("after_v")
    volts = ""
    if before_v is not None and after_v is not None:
        way = "jumped" if stated.flag("voltage_jumped") else "went"
        shown = [amount(each, VOLTAGE, style, decimals=1) for each in (before_v, after_v)]
        volts = f"; the voltage {way} from {shown[0]} to {shown[1]}"
    n = stated.count("n_times")
    again = (
        f"It happened {count(n, style)} times, the last at {clock(stated.number('last_s'), style)}." if n > 1 else None
    )
    return sentences(
        (
            f"At {clock(stated.number('first_s'), style)} the current into the battery stopped at once, from "
            f"{amount(stated.number('returned_a'), CURRENT, style, decimals=1)}{volts}, and the bike rolled on.",
            *_why(stated, style),
            "That is how it looks when a BMS opens the charge path: regen braking is gone without warning, and the "
            "controller alone may have to deal with the motor's voltage.",
            again,
            f"Rely on both friction brakes alone. {ASK} before riding with regen on such a pack again. {DISTRESS}",
        )
    )


def _why(stated: Stated, style: Style) -> list[str]:
    reasons = []
    cell_v = stated.maybe("cell_v")
    if stated.flag("cells_full") and cell_v is not None:
        at_v = amount(cell_v, VOLTAGE, style, decimals=2)
        reasons.append(f"Cells stood at {at_v} before that; full is {_full(stated, style)}.")
    if stated.flag("too_cold"):
        least = degrees(stated.number("min_charge_temperature_c"), style)
        reasons.append(f"The battery was colder than the {least} that charging needs.")
    return reasons


def regen_weakened(stated: Stated, style: Style) -> str:
    """Regen that was taken back as the pack filled up."""
    before, after = (amount(stated.number(name), CURRENT, style, decimals=1) for name in ("before_a", "after_a"))
    return (
        f"At {clock(stated.number('first_s'), style)} the current into the battery fell from {before} to {after} "
        f"within {duration(stated.number('lasted_s'), style)} of braking at a steady speed, while cells were held at "
        f"{amount(stated.number('cell_v'), VOLTAGE, style, decimals=2)}; full is {_full(stated, style)}. Controllers "
        "cut regen back as a pack fills up. Expect less braking from it there."
    )


_ABOVE = {
    "above": "Above full, cells age faster. {ask}, and start such a ride with less charge.",
    "harmful": "So far above full, cells lose much of their life. {ask} before charging it like that again. {distress}",
    "dangerous": "From about {dangerous} on, such cells can catch fire, even later. Do not charge or ride with this "
    "pack until its maker or a qualified technician has checked it. {distress}",
}


def cell_overcharged(stated: Stated, style: Style) -> str:
    """Charge put into cells that were above full."""
    logged, lasted = stated.flag("cells_logged"), duration(stated.number("lasted_s"), style)
    above = (
        f"up to {amount(stated.number('highest_v'), VOLTAGE, style, decimals=3)} "
        f"({'the highest cell' if logged else 'the mean of the cells'}) for {lasted}"
    )
    hidden = None if logged else f"Single cells may lie above their mean. {_mean_of(stated, style)}".strip()
    error = f"an error of {give_or_take(stated.number('voltage_gain_limit_pct'), PERCENTAGE, style)} in the voltage"
    full = _full(stated, style)
    if stated.text("verdict") == "within-error":
        told = f"Cells may have been above full while charge went in: {above}. Full is {full}."
        return sentences((told, f"But {error} would explain that.", hidden))
    told = f"Charge went into cells that were above full: {above}. Full is {full}."
    advice = case(stated, "verdict", _ABOVE).format(
        ask=ASK, distress=DISTRESS, dangerous=amount(stated.number("dangerous_v"), VOLTAGE, style, decimals=1)
    )
    return sentences((told, f"{error[0].upper()}{error[1:]} does not explain it.", hidden, advice))


def _mean_of(stated: Stated, style: Style) -> str:
    """What a mean of cells rests on: a slip there looks like a ruined pack."""
    if stated.maybe("cells_in_series") is None:
        return ""
    n = count(stated.count("cells_in_series"), style)
    return f"The mean is the pack's voltage over {n} cells in series (`cells_in_series` in the bike file)."


def charged_cold(stated: Stated, style: Style) -> str:
    """Charge put into a pack that was too cold for it."""
    given = stated.flag("min_charge_temperature_given")
    source = (
        "from the bike file" if given else "usual for lithium-ion; your bike file gives no `min_charge_temperature_c`"
    )
    doubt = "The difference is no more than the usual error of such sensors." if stated.flag("within_error") else None
    return sentences(
        (
            f"{amount(stated.number('charge_ah'), CHARGE, style, decimals=3)} went into the battery while it was "
            f"colder than the {degrees(stated.number('min_charge_temperature_c'), style)} that charging needs "
            f"({source}), down to {degrees(stated.number('lowest_c'), style)}. In the cold, lithium plates out in the "
            f"cells; that costs capacity and may short-circuit them later. {ASK} whether regen may be used at this "
            "temperature.",
            doubt,
        )
    )


def charge_current_high(stated: Stated, style: Style) -> str:
    """Charge current above what the pack may take."""
    mean_a = stated.maybe("mean_10_s_a")
    steady = f", and {amount(mean_a, CURRENT, style, decimals=1)} over the hardest 10 s" if mean_a is not None else ""
    within = stated.flag("within_error")
    limit = trimmed(stated.number("limit_a"), CURRENT, style)
    told = (
        f"The current into the battery {'may have been' if within else 'was'} above the limit of {limit} in the bike "
        f"file for {duration(stated.number('lasted_s'), style)}: "
        f"{amount(stated.number('highest_a'), CURRENT, style, decimals=1)} at most{steady}."
    )
    if within:
        return f"{told} The sensor's possible error explains that much."
    return (
        f"{told} Only the pack's maker can say whether it takes short pulses above its limit; otherwise, turn regen "
        "down."
    )


def start_charge(stated: Stated, style: Style) -> str:
    """The state of charge at which such a ride may be begun."""
    capacity_ah = stated.maybe("capacity_ah")
    told = (
        f"At its fullest, the battery held {amount(stated.number('headroom_ah'), CHARGE, style, decimals=2)} more "
        "than at the start of the ride. That much room must be free when you leave."
    )
    advice = None
    if stated.flag("too_full"):
        advice = (
            "This time it was not enough: charging broke off, or cells rose above full. Leave with less charge than "
            "then."
        )
    elif capacity_ah is not None:
        advice = (
            f"With a capacity of {trimmed(capacity_ah, CHARGE, style)}, leave at {stated.count('leave_at_pct')} % or "
            "less."
        )
    return sentences((told, advice))


def _full(stated: Stated, style: Style) -> str:
    given = stated.flag("full_cell_given")
    source = "from the bike file" if given else "usual for lithium-ion; your bike file gives no `full_cell_v`"
    return f"{amount(stated.number('full_cell_v'), VOLTAGE, style, decimals=2)} ({source})"


TEMPLATES: Mapping[str, Template] = {
    "charge-path": charge_path,
    "charge-cut-out": charge_cut_out,
    "regen-weakened": regen_weakened,
    "cell-overcharged": cell_overcharged,
    "charged-cold": charged_cold,
    "charge-current-high": charge_current_high,
    "start-charge": start_charge,
}
