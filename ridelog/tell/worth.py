"""What regeneration is worth on a ride, in words: a verdict, and a word and a sentence for each thing it rests on."""

from ridelog.answer.ride import Answer
from ridelog.answer.worth import Benefit, BrakingToCapture, Worth, WouldReturn
from ridelog.tell.assumptions import benefit_assumptions
from ridelog.tell.kinds import (
    CONSUMPTION,
    DISTANCE,
    ENERGY,
    ENERGY_OF_A_YEAR,
    FORCE,
    HEIGHT,
    PERCENTAGE,
    RANGE,
    RATIO,
    TORQUE,
    Kind,
)
from ridelog.tell.numbers import METRIC, Style, amount, between, measured, plain, with_unit
from ridelog.uncertain.quantity import Quantity

LOWER_M = 20.0  # a ride that ends so much lower says little about a year's rides
VERDICTS = {
    "gains": "Regeneration gained energy on this ride: more came back than the motor's drag can have cost.",
    "loses": "Regeneration lost energy on this ride: the motor's drag cost more than came back.",
}
UNDECIDED = (
    "We cannot say whether regeneration gained or lost energy on this ride: the motor's drag may have cost as much as "
    "came back."
)
OUTLOOKS = {"gains": "it would gain energy", "loses": "it would lose energy"}
WAYS = {"stop": "from stopping", "slowing": "from slowing down", "holding": "from holding back on descents"}
NEEDED = (
    "a motor that turns with the wheel (direct-drive, or geared and locked), a controller that regenerates, and a "
    "battery whose maker allows charging through the discharge terminals; that is work for a qualified technician"
)
WHY_UNKNOWN = {
    "freewheel": "the drive freewheels, so it neither returns anything nor drags",
    "return-unknown": "we do not know how much came back",
    "energy-unknown": "without battery voltage, Wh are not known",
    "distance-unknown": "the distance is not known, or too short",
    "drag-unknown": "nothing came back, and we do not know whether the motor drags; enter kind under [motor]",
}
WHAT_FOR = {
    "pack.capacity_ah": "the range on a full battery, and how hard regeneration works the battery",
    "cost.km_per_year": "what a year brings",
    "cost.price_per_kwh": "what the electricity is worth",
    "cost.regen_premium": "when the extra price is paid back",
    "cost.currency": "the currency of the prices",
}
Row = tuple[str, str]


def verdict(worth: Worth) -> str:
    """The sentence that answers whether regeneration gained anything on the ride."""
    why = WHY_UNKNOWN[worth.why or "return-unknown"]
    if worth.can_regenerate is False:
        return f"This bike cannot regenerate: {why}."
    if worth.benefit is None:
        return f"We cannot say whether regeneration gained or lost energy on this ride: {why}."
    return VERDICTS.get(worth.benefit.verdict, UNDECIDED)


def rows(answer: Answer, style: Style = METRIC) -> list[Row]:
    """What regeneration is worth, a word and a sentence a row; empty where nothing is known of it."""
    worth = answer.worth
    if worth is None:
        return []
    told = [*_what_came_of_it(answer, worth, style), *_range(worth, style), *_year(worth, style)]
    told += _no_outlook(answer, worth, style)
    captured = answer.braking.captured_pct
    if worth.would is None and captured is not None:
        share = measured(captured, PERCENTAGE, style)
        told.append(
            (
                "braking",
                f"{share} of the available energy went into the battery; brakes and losses took the rest",
            )
        )
    if worth.cycled_pct is not None:
        told.append(("battery", _cycled(worth, worth.cycled_pct, style)))
    benefit = worth.benefit or (worth.would.benefit if worth.would is not None else None)
    if benefit is not None:
        assumed = benefit_assumptions(benefit.assumed, style)
        told += [("assumed", f"{assumed}; {_where_it_drags(benefit, style)}"), *_lower(answer, style)]
    if worth.missing:
        told.append(("to enter", "; ".join(f"{key} for {WHAT_FOR[key]}" for key in worth.missing)))
    return told


def _what_came_of_it(answer: Answer, worth: Worth, style: Style) -> list[Row]:
    """What came back was worth so much, or would have been."""
    told = [] if worth.benefit is None else _benefit(worth.benefit, style)
    if worth.would is not None:
        return told + _would(worth, worth.would, style)
    returned_unknown = answer.charge.returned_ah is None and answer.energy.returned_wh is None
    if worth.benefit is None and (worth.can_regenerate is False or returned_unknown):
        told.append(("available", "we do not know how much energy braking had available: that takes speed and height"))
    return told


def _cycled(worth: Worth, cycled_pct: Quantity, style: Style) -> str:
    text = f"{_about(cycled_pct, PERCENTAGE, style)} of its capacity came back on this ride"
    if worth.full_charges_per_year is None:
        return text
    return f"{text}; in a year, as much as {_in(worth.full_charges_per_year, 'full charges', style)}"


def _where_it_drags(benefit: Benefit, style: Style) -> str:
    low, high = (amount(each, PERCENTAGE, style, decimals=0) for each in (benefit.unpowered_pct, benefit.unbraked_pct))
    return (
        f"drag costs energy on between {low} of the way (rolling without power) and {high} (wherever you are "
        "not braking)"
    )


def _lower(answer: Answer, style: Style) -> list[Row]:
    lower_m = answer.ride.ends_lower_m
    no_outlook = answer.worth is not None and answer.worth.no_outlook is not None  # which says so itself
    if lower_m is None or lower_m.value <= LOWER_M or no_outlook:
        return []
    lower = amount(lower_m.value, HEIGHT, style, decimals=0)
    return [
        (
            "but",
            f"this ride ends {lower} lower than it starts: a round trip gains less per km, and its range is shorter",
        )
    ]


def _no_outlook(answer: Answer, worth: Worth, style: Style) -> list[Row]:
    """Why nothing is said of a full battery or a year."""
    if worth.no_outlook is None:
        return []
    ridden_m, lower_m = (None if q is None else q.value for q in (answer.ride.distance_m, answer.ride.ends_lower_m))
    if worth.no_outlook == "too-short":
        why = f"{amount(ridden_m, DISTANCE, style)} is too short for that"
    else:
        apart = amount(None if lower_m is None else abs(lower_m), HEIGHT, style, decimals=0)
        way = "lower" if worth.no_outlook == "ends-lower" else "higher"
        why = f"it ends {apart} {way} than it starts. Log a ride that ends where it began"
    return [("but", f"no range and no year is worked out from this ride: {why}")]


def _about(value: Quantity, kind: Kind, style: Style) -> str:
    """A number of which two digits are enough where its interval is not known."""
    return measured(value, kind, style, digits=2 if value.low95 is None else None)


def _benefit(benefit: Benefit, style: Style) -> list[Row]:
    net, best, back, cost, other, own = (
        _about(each, CONSUMPTION, style)
        for each in (
            benefit.net_wh_per_km,
            benefit.unpowered_net_wh_per_km,
            benefit.returned_wh_per_km,
            benefit.drag_wh_per_km,
            benefit.freewheeling_wh_per_km,
            benefit.use_wh_per_km,
        )
    )
    rolls = amount(benefit.unpowered_pct, PERCENTAGE, style, decimals=0)
    told = [
        ("net gain", f"{net} at the battery: {back} came back, less storage losses and {cost} for the motor's drag"),
        ("at best", f"{best}, if drag costs energy only while the bike rolls without power ({rolls} of the way)"),
        ("use", f"{own} with this drive, {other} with one that freewheels, storage losses included"),
    ]
    if benefit.break_even_n is not None and benefit.break_even_nm is not None:
        even, drag = (_about(each, FORCE, style) for each in (benefit.break_even_n, benefit.drag_n))
        torque = _about(benefit.break_even_nm, TORQUE, style)
        told.append(
            (
                "break-even",
                f"a drag of {even}, or {torque} at the wheel, would use up all that came back if it cost energy "
                f"wherever you are not braking; this motor's drag is {drag}",
            )
        )
    return told


def _would(worth: Worth, would: WouldReturn, style: Style) -> list[Row]:
    kinds = ", ".join(_to_capture(braking, style) for braking in would.kinds)
    source = "shares a little wider than those of the simulated sample rides; your own rides would be a better guide"
    told = [
        ("available", kinds or "nothing: no braking was found"),
        ("would return", f"{_about(would.returned_wh, ENERGY, style)} on this ride; {source}"),
    ]
    if (benefit := would.benefit) is not None:
        net, drag = (_about(each, CONSUMPTION, style) for each in (benefit.net_wh_per_km, benefit.drag_wh_per_km))
        outlook = OUTLOOKS.get(benefit.verdict, "we cannot say whether it would gain or lose energy")
        told.append(("net gain", f"{net} after {drag} for the motor's drag: {outlook}"))
    if worth.can_regenerate is not True:
        told.append(("it needs", NEEDED))
    return told


def _to_capture(braking: BrakingToCapture, style: Style) -> str:
    """What one kind of braking had available, and how much of it regeneration usually captures."""
    share = between(braking.captured_low_pct, braking.captured_high_pct, PERCENTAGE, style, digits=2)
    return f"{amount(braking.available_wh, ENERGY, style)} {WAYS[braking.kind]} ({share} of it usually captured)"


def _range(worth: Worth, style: Style) -> list[Row]:
    if worth.range_km is None or worth.range_without_km is None or worth.range_freewheeling_km is None:
        return []
    own, without, other = (
        _about(each, RANGE, style) for each in (worth.range_km, worth.range_without_km, worth.range_freewheeling_km)
    )
    return [
        (
            "range",
            f"{own} on a full battery, ridden like this; {without} if nothing had come back; {other} with a drive that "
            "freewheels",
        )
    ]


def _year(worth: Worth, style: Style) -> list[Row]:
    if worth.kwh_per_year is None:
        return []
    way = f" in {amount(worth.km_per_year, RANGE, style)} ridden like this" if worth.km_per_year is not None else ""
    text = f"{_about(worth.kwh_per_year, ENERGY_OF_A_YEAR, style)}{way}"
    if worth.saved_per_year is None:
        return [("a year", text)]
    currency = worth.currency or "(currency not given)"
    text += f", or {_in(worth.saved_per_year, currency, style)}"
    if not worth.premium:
        return [("a year", text)]
    price = with_unit(plain(worth.premium, style=style), worth.currency or "", style)
    text += f"; from electricity alone, the extra price of {price} is paid back"
    if worth.payback_years is not None:
        when = f"in {_in(worth.payback_years, 'years', style)}"
    elif worth.soonest_payback_years is not None:
        when = f"no sooner than in {_in(Quantity(worth.soonest_payback_years), 'years', style)}, if ever"
    else:
        when = "never"
    return [("a year", f"{text} {when}")]


def _in(value: Quantity, unit: str, style: Style) -> str:
    """A quantity in a unit that has no other system: years, a currency."""
    told = _about(value, RATIO, style)
    head, bracket, tail = told.partition(" (")
    return f"{with_unit(head, unit, style)}{bracket}{tail}"
