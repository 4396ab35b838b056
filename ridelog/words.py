"""Sentences and numbers for people, shared by the command line and the page."""

from math import floor, isfinite, log10

from ridelog.answer import Answer, Hill, Quantity

UNKNOWN = "–"
MOST_DECIMALS = 6


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
        if recovered is None:
            return f"Nothing was drawn; {number(returned.value)} {unit} came back."
        share = interval(recovered, unit="%")
        return f"Of {number(drawn.value)} {unit} drawn, {number(returned.value)} {unit} came back: {share}."
    return "What was drawn and returned is not known: no file holds battery current or battery power."


def share_of_hills(answer: Answer) -> str | None:
    """Which hill gave most of what came back; ``None`` where no hill gave any."""
    returned = answer.energy.returned_wh
    giving = [hill for hill in answer.hills if hill.returned_wh is not None and hill.returned_wh.value > 0]
    if returned is None or returned.value <= 0 or not giving:
        return None
    best = max(giving, key=lambda hill: hill.returned_wh.value if hill.returned_wh else 0.0)
    share_pct = 100 * (best.returned_wh.value if best.returned_wh else 0.0) / returned.value
    downs = [hill for hill in giving if hill.direction == "down"]
    all_pct = 100 * sum(hill.returned_wh.value for hill in downs if hill.returned_wh) / returned.value
    rest = f"; all descents together {all_pct:.0f} %" if len(downs) > 1 else ""
    return f"{_named(best)} gave {share_pct:.0f} % of it{rest}."


def _named(hill: Hill) -> str:
    return f"{hill.name} ({abs(hill.height_m.value):.0f} m in {hill.length_m:.0f} m)"
