"""Sentences and numbers for people, shared by the command line and the page."""

from math import floor, isfinite, log10

from ridelog.answer.hills import Hill
from ridelog.answer.ride import Answer
from ridelog.answer.worth import Benefit, Worth, WouldReturn
from ridelog.uncertain.quantity import Quantity

UNKNOWN = "–"
MOST_DECIMALS = 6
LOWER_M = 20.0  # a ride that ends so much lower is no measure of a year's rides


def number(value: float | None, *, digits: int = 3, thousands: str = "", minus: str = "-") -> str:
    """A number to ``digits`` significant digits, in full; zero is "0", and what is not known a dash.

    Nothing is shown in powers of ten, and digits before the point are never rounded away.
    """
    if value is None or not isfinite(value):
        return UNKNOWN
    if value == 0:
        return "0"
    decimals = decimals_of(value, digits)
    if float(f"{abs(value):.{decimals}f}") >= 10 ** (digits - decimals):  # 9.996 rounds to 10.00
        decimals = max(0, decimals - 1)
    return fixed(value, decimals, thousands=thousands, minus=minus)


def decimals_of(value: float, digits: int) -> int:
    """Decimals that show a value to ``digits`` significant digits."""
    return 0 if value == 0 else min(max(0, digits - 1 - floor(log10(abs(value)))), MOST_DECIMALS)


def fixed(value: float | None, decimals: int, *, thousands: str = "", minus: str = "-") -> str:
    """A number with a set number of decimals; what rounds to zero has no sign."""
    if value is None or not isfinite(value):
        return UNKNOWN
    shown = f"{abs(value):,.{decimals}f}"
    sign = minus if value < 0 and shown.strip("0.,") else ""
    return sign + shown.replace(",", thousands)


def duration(seconds: float) -> str:
    """``1 h 02 min``, ``12 min 05 s`` or ``42 s``."""
    whole = round(seconds)
    if whole >= 3600:
        return f"{whole // 3600} h {whole % 3600 // 60:02d} min"
    return f"{whole // 60} min {whole % 60:02d} s" if whole >= 60 else f"{whole} s"


def interval(value: Quantity, *, unit: str = "") -> str:
    """Value with its 95 % interval where there is one: ``6.7 % (6.3 to 7.0 %)``."""
    unit = f" {unit}" if unit else ""
    if value.low95 is None or value.high95 is None:
        return f"{number(value.value)}{unit}"
    return f"{number(value.value)}{unit} ({number(value.low95)} to {number(value.high95)}{unit})"


def cannot_be(answer: Answer) -> bool:
    """Whether the log shows a return that the bike's motor cannot have given."""
    return any(finding.code == "return-without-regen" for finding in answer.findings)


def headline(answer: Answer) -> str:
    """The one sentence that answers the question, in Wh, else in Ah, else why there is no answer."""
    for unit, drawn, returned, recovered in (
        ("Wh", answer.energy.drawn_wh, answer.energy.returned_wh, answer.energy.recovered_pct),
        ("Ah", answer.charge.drawn_ah, answer.charge.returned_ah, answer.charge.recovered_pct),
    ):
        if drawn is None:
            continue
        if returned is None:
            return f"{number(drawn.value)} {unit} drawn; what came back is not known, because the log cannot show it."
        if cannot_be(answer):
            cannot = "which this bike's motor cannot have returned by braking"
            return (
                f"{number(drawn.value)} {unit} drawn; {number(returned.value)} {unit} went into the battery, {cannot}."
            )
        if recovered is None:
            return f"Nothing was drawn; {number(returned.value)} {unit} came back."
        share = interval(recovered, unit="%")
        return f"Of {number(drawn.value)} {unit} drawn, {number(returned.value)} {unit} came back: {share}."
    return "What was drawn and returned is not known: no file holds battery current or battery power."


def share_of_hills(answer: Answer) -> str | None:
    """Which hill gave most of what came back; ``None`` where no hill gave any."""
    returned = answer.energy.returned_wh
    giving = [hill for hill in answer.hills if hill.returned_wh is not None and hill.returned_wh.value > 0]
    if returned is None or returned.value <= 0 or not giving or cannot_be(answer):
        return None
    best = max(giving, key=lambda hill: hill.returned_wh.value if hill.returned_wh else 0.0)
    share_pct = 100 * (best.returned_wh.value if best.returned_wh else 0.0) / returned.value
    downs = [hill for hill in giving if hill.direction == "down"]
    all_pct = 100 * sum(hill.returned_wh.value for hill in downs if hill.returned_wh) / returned.value
    rest = f"; all descents together {all_pct:.0f} %" if len(downs) > 1 else ""
    return f"{_named(best)} gave {share_pct:.0f} % of it{rest}."


def _named(hill: Hill) -> str:
    return f"{hill.name} ({abs(hill.height_m.value):.0f} m in {hill.length_m:.0f} m)"


BRAKE_CAUTION = (
    "Regenerative braking fades at low speed, can vanish with a full or a cold pack, acts on one wheel, and never "
    "replaces two independent friction brakes."
)
VERDICTS = {
    "gains": "Regeneration gained energy on this ride: more came back than the motor's drag can have cost.",
    "loses": "Regeneration lost energy on this ride: the motor's drag cost more than came back.",
    "cannot be told": "Whether regeneration gained or lost energy on this ride cannot be told: the motor's drag may "
    "have cost as much as came back.",
}
KINDS = {"stop": "by stopping", "slowing": "by slowing down", "holding": "by holding back on descents"}
NEEDED = (
    "a motor that turns with the wheel (direct-drive, or geared and locked), a controller that regenerates, and a pack "
    "whose maker allows charge through the discharge terminals; that is work for a qualified technician"
)


def sure(value: Quantity, unit: str, *, minus: str = "-") -> str:
    """Value and interval, rounded to two digits of the narrower half: ``0.33 (0.03 to 0.58) Wh/km``."""
    low, high = value.low95, value.high95
    if low is None or high is None or high <= low:
        return f"{number(float(f'{value.value:.2g}'), digits=2, minus=minus)} {unit}"
    half = min(each for each in (value.value - low, high - value.value) if each > 0)  # the sharper of its sides
    decimals = min(1 - floor(log10(half)), decimals_of(max(abs(low), abs(high)), 3))
    shown = [fixed(round(each, decimals), max(decimals, 0), minus=minus) for each in (value.value, low, high)]
    return f"{shown[0]} ({shown[1]} to {shown[2]}) {unit}"


def worth_verdict(worth: Worth) -> str:
    """The sentence that answers whether regeneration gained anything on the ride."""
    if worth.can_regenerate is False:
        return f"This bike cannot regenerate: {worth.why}."
    if worth.benefit is None:
        return f"Whether regeneration gained or lost energy is not known: {worth.why}."
    return VERDICTS[worth.benefit.verdict]


def worth_rows(answer: Answer, *, minus: str = "-") -> list[tuple[str, str]]:
    """What regeneration is worth, a word and a sentence a row; empty where nothing is known of it."""
    worth = answer.worth
    if worth is None:
        return []
    rows = []
    returned_unknown = answer.charge.returned_ah is None and answer.energy.returned_wh is None
    if worth.benefit is not None:
        rows += _benefit_rows(worth.benefit, minus)
    if worth.would is not None:
        rows += _would_rows(worth, worth.would, minus)
    elif worth.benefit is None and (worth.can_regenerate is False or returned_unknown):
        rows.append(("offered", "what braking offered is not known: that takes speed and height"))
    rows += [*_range_row(worth), *_year_row(worth, minus)]
    captured = answer.braking.captured_pct
    if worth.would is None and captured is not None:
        share = sure(captured, "%", minus=minus)
        rows.append(("brakes", f"{share} of what braking offered went into the battery, not into brakes and losses"))
    if worth.cycled_pct is not None:
        charges = worth.full_charges_per_year
        year = f"; in a year as much as {sure(charges, 'full charges')}" if charges is not None else ""
        rows.append(("pack", f"{sure(worth.cycled_pct, '%')} of its capacity came back on this ride{year}"))
    told = worth.benefit or (worth.would.benefit if worth.would is not None else None)
    if told is not None:
        rows.append(("assumed", "; ".join((*told.assumed, _where_it_drags(told)))))
    ascent, descent = answer.ride.ascent_m, answer.ride.descent_m
    if told is not None and ascent is not None and descent is not None and descent.value - ascent.value > LOWER_M:
        lower = f"this ride ends {descent.value - ascent.value:.0f} m lower than it begins"
        rows.append(("but", f"{lower}: a round trip gives less per km, and has less range"))
    if worth.missing:
        rows.append(("to enter", "; ".join(worth.missing)))
    return rows


def _where_it_drags(benefit: Benefit) -> str:
    low, high = f"{benefit.unpowered_pct:.0f} %", f"{benefit.unbraked_pct:.0f} %"
    return f"the drag counts on {low} of the way (rolling unpowered) to {high} (all that is not braked)"


def _benefit_rows(benefit: Benefit, minus: str) -> list[tuple[str, str]]:
    net, best, back, cost, other, own = (
        sure(each, "Wh/km", minus=minus)
        for each in (
            benefit.net_wh_per_km,
            benefit.unpowered_net_wh_per_km,
            benefit.returned_wh_per_km,
            benefit.drag_wh_per_km,
            benefit.freewheeling_wh_per_km,
            benefit.use_wh_per_km,
        )
    )
    rolls = f"{benefit.unpowered_pct:.0f} %"
    rows = [
        ("net", f"{net} at the battery: {back} came back, less what storing loses and {cost} for the motor's drag"),
        ("unpowered", f"{best}, did the drag cost only where the bike rolls unpowered, {rolls} of the way"),
        ("against", f"{other} with a drive that freewheels, {own} with this one, what storing loses counted"),
    ]
    if benefit.break_even_n is not None and benefit.break_even_nm is not None:
        even, torque = sure(benefit.break_even_n, "N"), sure(benefit.break_even_nm, "N m")
        drag = sure(benefit.drag_n, "N")
        eaten = "would eat all that came back, did it cost on all the way that is not braked"
        rows.append(("break-even", f"a drag of {even}, or {torque} at the wheel, {eaten}; here {drag}"))
    return rows


def _would_rows(worth: Worth, would: WouldReturn, minus: str) -> list[tuple[str, str]]:
    kinds = ", ".join(
        f"{number(offer.available_wh)} Wh {KINDS[offer.kind]} (of it captured: "
        f"{offer.captured_low_pct:.0f} to {offer.captured_high_pct:.0f} %)"
        for offer in would.offers
    )
    source = "captured shares a little wider than on the simulated sample rides; your own rides tell better"
    rows = [("offered", kinds), ("would give", f"{sure(would.returned_wh, 'Wh')} on this ride; {source}")]
    if (benefit := would.benefit) is not None:
        drag = sure(benefit.drag_wh_per_km, "Wh/km")
        word = {"gains": "it would gain", "loses": "it would lose"}.get(benefit.verdict, "it cannot be told")
        net = sure(benefit.net_wh_per_km, "Wh/km", minus=minus)
        rows.append(("net", f"{net} after {drag} for the motor's drag: {word}"))
    if worth.can_regenerate is not True:
        rows.append(("it needs", NEEDED))
    return rows


def _range_row(worth: Worth) -> list[tuple[str, str]]:
    own, without, other = (worth.range_km, worth.range_without_km, worth.range_freewheeling_km)
    if own is None or without is None or other is None:
        return []
    text = f"{sure(own, 'km')} on a full pack, ridden like this; {sure(without, 'km')} had nothing come back"
    return [("range", f"{text}; {sure(other, 'km')} with a drive that freewheels")]


def _year_row(worth: Worth, minus: str) -> list[tuple[str, str]]:
    if worth.kwh_per_year is None:
        return []
    text = f"{sure(worth.kwh_per_year, 'kWh', minus=minus)} in {worth.km_per_year:g} km like these"
    if worth.saved_per_year is not None:
        text += f", or {sure(worth.saved_per_year, worth.currency or '(currency not given)', minus=minus)}"
    if not worth.premium or worth.saved_per_year is None:
        return [("a year", text)]
    price = f"{worth.premium:.12g}{f' {worth.currency}' if worth.currency else ''}"
    text += f"; by electricity alone the premium of {price} is back"
    most = worth.saved_per_year.high95
    if worth.payback_years is not None:
        when = f"in {sure(worth.payback_years, 'years')}"
    elif most is not None and most > 0:
        when = f"not before {sure(Quantity(worth.premium / most), 'years')}, if ever"
    else:
        when = "never"
    return [("a year", f"{text} {when}")]
