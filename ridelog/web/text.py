"""Sentences and numbers for people, from an answer's records."""

import math
from collections.abc import Iterable
from dataclasses import dataclass

from ridelog.answer.hills import Hill
from ridelog.answer.ride import Answer
from ridelog.findings import SEVERITIES, Finding
from ridelog.tell.ride import UNKNOWN as UNKNOWN
from ridelog.tell.ride import cannot_be, decimals_of, share_of_hills
from ridelog.tell.ride import fixed as plain_fixed
from ridelog.tell.ride import number as plain_number
from ridelog.uncertain.quantity import Quantity

NBSP = "\N{NO-BREAK SPACE}"
MINUS = "\N{MINUS SIGN}"
THOUSANDS = "\N{NARROW NO-BREAK SPACE}"
NO_ANSWER_CODES = (
    "return-without-regen",
    "cannot-show-return",
    "motor-current-only",
    "no-battery-current",
    "no-voltage",
)


@dataclass(frozen=True)
class Headline:
    """The answer in one sentence: ``drawn``, ``returned`` and ``share`` carry their units.

    Where ``share`` is ``None``, ``reason`` says why in words.
    """

    drawn: str | None
    returned: str | None
    share: str | None
    interval: str | None
    reason: str | None

    @property
    def sentence(self) -> str:
        """All of it as plain text."""
        if self.drawn and self.returned and self.share:
            more = f" ({self.interval})" if self.interval else ""
            return f"Of {self.drawn} drawn, {self.returned} came back: {self.share}{more}"
        lead = f"{self.drawn} was drawn; what came back is not known. " if self.drawn else ""
        return f"{lead}{self.reason or ''}".strip()


def number(value: float | None, digits: int = 3) -> str:
    """`ridelog.tell.ride.number` as a page sets it: thousands apart, and a true minus sign."""
    return plain_number(value, digits=digits, thousands=THOUSANDS, minus=MINUS)


def count(n: int) -> str:
    """A whole number with its thousands set apart."""
    return f"{n:,}".replace(",", THOUSANDS)


def decimals_for(values: Iterable[float | None], digits: int = 3) -> int:
    """Decimals that show the largest of a column's values to ``digits`` digits, so that its points line up."""
    largest = max((abs(value) for value in values if value is not None and math.isfinite(value)), default=0.0)
    return decimals_of(largest, digits)


def fixed(value: float | None, decimals: int) -> str:
    """`ridelog.tell.ride.fixed` as a page sets it."""
    return plain_fixed(value, decimals, thousands=THOUSANDS, minus=MINUS)


def value_of(quantity: Quantity | None) -> float | None:
    """The value of a quantity that may be unknown."""
    return None if quantity is None else quantity.value


def interval(quantity: Quantity | None, factor: float = 1.0, digits: int = 3) -> str | None:
    """The 95 % interval as "6.1 to 7.3", or ``None`` where it was not evaluated."""
    if quantity is None or quantity.low95 is None or quantity.high95 is None:
        return None
    return f"{number(quantity.low95 * factor, digits)} to {number(quantity.high95 * factor, digits)}"


def measured(quantity: Quantity | None, unit: str, factor: float = 1.0, digits: int = 3) -> str:
    """A quantity with its unit: "14.1 Wh", or a dash where it is not known."""
    if quantity is None:
        return UNKNOWN
    return f"{number(quantity.value * factor, digits)}{NBSP}{unit}"


def length(metres: Quantity | float | None) -> str:
    """A distance for people: metres below one kilometre, kilometres above."""
    value = metres.value if isinstance(metres, Quantity) else metres
    if value is None:
        return UNKNOWN
    return f"{number(value / 1000)}{NBSP}km" if abs(value) >= 1000 else f"{value:.0f}{NBSP}m"


def clock(seconds: float, *, decimals: int = 0) -> str:
    """Elapsed time as "0:12:30" (hours, minutes, seconds)."""
    ticks = round(abs(seconds) * 10**decimals)
    whole, rest = divmod(ticks, 10**decimals)
    fraction = f".{rest:0{decimals}d}" if decimals else ""
    sign = MINUS if seconds < 0 and ticks else ""
    return f"{sign}{whole // 3600}:{whole // 60 % 60:02d}:{whole % 60:02d}{fraction}"


def span(start_s: float | None, end_s: float | None) -> str | None:
    """The time span of a finding: "at 0:12:30" or "0:12:30 to 0:13:00"; ``None`` for the whole ride."""
    if start_s is None and end_s is None:
        return None
    if start_s is None or end_s is None or clock(start_s) == clock(end_s):
        return f"at {clock(start_s if start_s is not None else end_s or 0.0)}"
    return f"{clock(start_s)} to {clock(end_s)}"


def headline(answer: Answer) -> Headline:
    """Drawn, returned and recovered: in Wh where energy is known, otherwise in Ah, otherwise why not."""
    energy, charge = answer.energy, answer.charge
    for drawn, returned, share, unit in (
        (energy.drawn_wh, energy.returned_wh, energy.recovered_pct, "Wh"),
        (charge.drawn_ah, charge.returned_ah, charge.recovered_pct, "Ah"),
    ):
        if not cannot_be(answer) and drawn is not None and returned is not None and share is not None:
            within = interval(share)
            return Headline(
                measured(drawn, unit),
                measured(returned, unit),
                f"{number(share.value)}{NBSP}%",
                f"{within}{NBSP}%" if within else None,
                None,
            )
    best = energy.drawn_wh, "Wh"
    if best[0] is None:
        best = charge.drawn_ah, "Ah"
    shown = measured(*best) if best[0] is not None and best[0].value > 0 else None
    return Headline(shown, None, None, None, _reason(answer))


def _reason(answer: Answer) -> str:
    """Why there is no share, in a finding's own words where one speaks of it."""
    for code in NO_ANSWER_CODES:
        for finding in answer.findings:
            if finding.code == code:
                return finding.message
    drawn = answer.energy.drawn_wh or answer.charge.drawn_ah
    if drawn is not None and drawn.value <= 0:
        return "Nothing was drawn on this ride, so there is no share to speak of."
    return "These files hold nothing that shows what left the battery and what came back."


def hill_label(hill: Hill) -> str:
    """Short mark of a hill for charts: "▲2" ridden up, "▼2" ridden down."""
    mark = "▲" if hill.direction == "up" else "▼"
    head, _, tail = hill.id.partition("-")
    return f"{mark}{NBSP}{head if tail == hill.direction else hill.name}"


def hill_sentence(answer: Answer) -> str:
    """Which hill gave most, and how much of what braking there had to offer was caught."""
    shared = share_of_hills(answer)
    if shared is None:
        if answer.ride.ascent_m is None:
            return "No file holds height, so that this ride’s hills are not known."
        if not answer.hills:
            return "No hill was found on this ride."
        if all(hill.returned_wh is None for hill in answer.hills):
            return "What each hill gave back is not known in Wh."
        return "No hill gave anything back."
    gave = [hill for hill in answer.hills if hill.returned_wh is not None]
    best = max(gave, key=lambda hill: value_of(hill.returned_wh) or 0.0)
    if best.captured_pct is None or best.direction == "up":
        return shared
    caught = f"{number(best.captured_pct.value, 2)}{NBSP}%"
    if (within := interval(best.captured_pct, digits=2)) is not None:
        caught = f"{caught} ({within}{NBSP}%)"
    return f"{shared} On {best.name}, {caught} of what braking had to offer was captured."


def split_findings(findings: tuple[Finding, ...]) -> dict[str, tuple[Finding, ...]]:
    """The findings by severity, gravest first; severities without any are empty."""
    return {each: tuple(f for f in findings if f.severity == each) for each in SEVERITIES}


def power_label(start_s: float, end_s: float, answer: Answer) -> str:
    """What the power chart shows, for those who do not see it."""
    return (
        f"Battery power from {clock(start_s)} to {clock(end_s)}: drawn above zero, returned below. "
        f"{headline(answer).sentence}. The braking events are in the table below."
    )


def profile_label(answer: Answer) -> str:
    """What the height profile shows, for those who do not see it."""
    up = sum(hill.direction == "up" for hill in answer.hills)
    return (
        f"Height along {length(answer.ride.distance_m)} of road with {up} hills ridden up and "
        f"{len(answer.hills) - up} ridden down marked by number. The same hills are in the table below."
    )


def track_label(answer: Answer) -> str:
    """What the track shows, for those who do not see it."""
    return (
        f"The track seen from above, {length(answer.ride.distance_m)} long, with the stretches where charge "
        f"returned drawn thick. {len(answer.braking.events)} braking events are in the table."
    )
