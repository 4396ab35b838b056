"""What a ride's answer says in a sentence: the headline, the hills, the road, and what each chart shows."""

from __future__ import annotations

from typing import TYPE_CHECKING

from ridelog.findings import Finding, doubts_share
from ridelog.lazy import dataclass
from ridelog.tell.findings.log import why_no_flow
from ridelog.tell.findings.words import Stated
from ridelog.tell.kinds import CHARGE, DISTANCE, ENERGY, HEIGHT, LENGTH, PERCENTAGE, Kind
from ridelog.tell.numbers import METRIC, UNKNOWN, Style, amount, between, bounds, count, counted, measured, with_unit
from ridelog.tell.times import clock
from ridelog.uncertain.quantity import Quantity

if TYPE_CHECKING:
    from ridelog.answer.hills import Hill
    from ridelog.answer.ride import Answer, RideSummary

BRAKE_CAUTION = (
    "Regenerative braking fades at low speed, can stop working when the battery is full or cold, acts on one wheel "
    "only, and never replaces two independent friction brakes."
)
IMPOSSIBLE, NO_FLOW, SIGN_OPEN = "return-without-regen", "no-battery-current", "sign-open"
EITHER_WAY = "flow-while-braked"  # a log that drops the sign, of which part may have been return
# What puts the share in doubt, in the words that end the headline.
DOUBTS = {
    "sign-doubtful": "the sign of the current is in doubt",
    "sign-assumed": "only the amounts that flowed each way show the sign of the current",
    "recovered-unusually-high": "that is more than was drawn",
    "zero-beyond-limit": "the zero of the current sensor is in doubt",
}
DOUBTED_MAP = "the sign in the column map is in doubt"
# The findings that explain why there is no share, the most telling first.
NO_SHARE_CODES = (IMPOSSIBLE, SIGN_OPEN, "cannot-show-return", "motor-current-only", NO_FLOW, "no-voltage")


@dataclass(frozen=True)
class Headline:
    """The answer in one sentence: ``drawn``, ``returned``, ``share`` and ``interval`` carry their units.

    Where ``share`` is ``None``, ``reason`` says why in a sentence, and ``finding`` is what explains it further.
    ``doubt`` says why the share is in doubt, where it is.
    """

    drawn: str | None
    returned: str | None
    share: str | None
    interval: str | None
    reason: str | None
    finding: Finding | None = None
    doubt: str | None = None

    @property
    def sentence(self) -> str:
        """All of it as plain text."""
        if self.drawn and self.returned and self.share:
            within = f" ({self.interval})" if self.interval else ""
            return f"Of {self.drawn} drawn, {self.returned} came back: {self.share}{within}{self.but}."
        drawn = f"{self.drawn} was drawn. " if self.drawn else ""
        return f"{drawn}{self.reason or ''}"

    @property
    def but(self) -> str:
        """What ends the sentence where the share is in doubt."""
        return f", but {self.doubt}" if self.doubt else ""


def cannot_be(answer: Answer) -> bool:
    """Whether the log shows a return that the bike's motor cannot have given."""
    return any(finding.code == IMPOSSIBLE for finding in answer.findings)


def sign_is_open(answer: Answer) -> bool:
    """Whether nothing shows which way the current flows, so that drawn and returned may be each other."""
    return any(finding.code == SIGN_OPEN for finding in answer.findings)


def _doubt(answer: Answer) -> str | None:
    """What puts the share in doubt, the gravest first."""
    doubted = {finding.code: finding for finding in answer.findings if doubts_share(finding)}
    code = next((code for code in DOUBTS if code in doubted), None)
    if code is None:
        return None
    if doubted[code].facts.get("by_map") or doubted[code].facts.get("sign_by_map"):
        return DOUBTED_MAP
    return DOUBTS[code]


def headline(answer: Answer, style: Style = METRIC) -> Headline:
    """Drawn, returned and recovered: in Wh where energy is known, else in Ah, else why not."""
    for kind, drawn, returned, recovered in (
        (ENERGY, answer.energy.drawn_wh, answer.energy.returned_wh, answer.energy.recovered_pct),
        (CHARGE, answer.charge.drawn_ah, answer.charge.returned_ah, answer.charge.recovered_pct),
    ):
        if drawn is None:
            continue
        if returned is None or recovered is None or cannot_be(answer) or sign_is_open(answer):
            return _without_share(answer, drawn, returned, kind, style)
        within = bounds(recovered, PERCENTAGE, style)
        return Headline(
            _value(drawn, kind, style),
            _value(returned, kind, style),
            _value(recovered, PERCENTAGE, style),
            with_unit(within, "%", style) if within else None,
            None,
            doubt=_doubt(answer),
        )
    missing = next((finding for finding in answer.findings if finding.code == NO_FLOW), None)
    facts = {"n_values": None} if missing is None else missing.facts
    why = f"We cannot say what was drawn and what came back: {why_no_flow(Stated(NO_FLOW, facts), style)}."
    return Headline(None, None, None, None, why, _explains(answer))


def _value(quantity: Quantity, kind: Kind, style: Style) -> str:
    """A quantity as `measured` writes it, without its interval."""
    return measured(quantity, kind, style).partition(" (")[0]


def _without_share(answer: Answer, drawn: Quantity, returned: Quantity | None, kind: Kind, style: Style) -> Headline:
    """The headline of a ride of which no share can be given."""
    back = None if returned is None else _value(returned, kind, style)
    if sign_is_open(answer) and back is not None:
        ways = f"{_value(drawn, kind, style)} flowed one way and {back} the other"
        why = f"{ways}, and nothing shows which of them was drawn."
        return Headline(None, None, None, None, why, _explains(answer))
    if back is None:
        why = "We cannot say how much came back, because the log cannot show it."
    elif cannot_be(answer):
        why = f"{back} went into the battery, which this bike's motor cannot have returned by braking."
    else:
        why = f"Nothing was drawn, so there is no share to give; {back} came back."
    taken = _taken(answer, drawn, kind, style) if drawn.value > 0 else None
    return Headline(taken, None, None, None, why, _explains(answer))


def _taken(answer: Answer, drawn: Quantity, kind: Kind, style: Style) -> str:
    """What was drawn; where a log drops the sign and some of it may have been return, from the least to the most."""
    if is_the_most(answer, drawn):
        return f"At most {_value(drawn, kind, style)}"
    if not _drops_sign(answer) or drawn.low95 is None or drawn.high95 is None:
        return _value(drawn, kind, style)
    return between(drawn.low95, drawn.high95, kind, style)


def _drops_sign(answer: Answer) -> bool:
    """Whether the log drops the sign of a current that may have come back."""
    return any(finding.code == EITHER_WAY for finding in answer.findings)


def is_the_most(answer: Answer, drawn: Quantity) -> bool:
    """Whether what was drawn is the most that can have been: a log drops its sign, and heights do not bound that."""
    return _drops_sign(answer) and (drawn.low95 is None or drawn.high95 is None)


def _explains(answer: Answer) -> Finding | None:
    """The finding that says why there is no share."""
    found = {finding.code: finding for finding in reversed(answer.findings)}
    return next((found[code] for code in NO_SHARE_CODES if code in found), None)


def hill_mark(hill: Hill) -> str:
    """Short mark of a hill for charts: "▲ 2" ridden up, "▼ 2" ridden down."""
    mark = "▲" if hill.direction == "up" else "▼"
    head, _, tail = hill.id.partition("-")
    return f"{mark}\N{NO-BREAK SPACE}{head if tail == hill.direction else hill.name}"


def most_returned(answer: Answer) -> Hill | None:
    """The hill on which most came back; ``None`` where nothing came back on any, or where that cannot have been."""
    some = [(hill, share.value) for hill in answer.hills if (share := hill.share_of_returned_pct) and share.value > 0]
    if cannot_be(answer) or sign_is_open(answer):
        return None
    return max(some, key=lambda each: each[1], default=(None, 0.0))[0]


def best_hill(answer: Answer, style: Style = METRIC) -> str | None:
    """On which hill most came back; ``None`` where nothing came back on any."""
    hill = most_returned(answer)
    if hill is None:
        return None
    rise = amount(abs(hill.height_m.value), HEIGHT, style, decimals=0)
    run = amount(hill.length_m, LENGTH, style, decimals=0)
    most = hill.share_of_returned_pct
    share = (
        f"less than {_whole(Quantity(1.0), style)}" if most is not None and most.value < 1.0 else _whole(most, style)
    )
    n_descents = sum(each.direction == "down" for each in answer.hills)
    together = answer.energy.descents_share_of_returned_pct
    rest = f"; all descents together, {_whole(together, style)}" if n_descents > 1 and together is not None else ""
    return f"{hill.name} ({rise} over {run}) gave back the most, {share} of it{rest}."


def _whole(share: Quantity | None, style: Style) -> str:
    """A share in whole per cent, with its interval where that is wider."""
    if share is None:
        return UNKNOWN
    value, low, high = (None if each is None else round(each) for each in (share.value, share.low95, share.high95))
    told = amount(value, PERCENTAGE, style, decimals=0)
    return told if low is None or high is None or low == high else f"{told} ({low} to {high})"


def hill_sentence(answer: Answer, style: Style = METRIC) -> str:
    """On which hill most came back and how much of its braking energy was captured, or why no hill can be named."""
    best, hill = best_hill(answer, style), most_returned(answer)
    if best is None or hill is None:
        return _no_hill(answer)
    if hill.captured_pct is None or hill.direction == "up":
        return best
    captured = measured(hill.captured_pct, PERCENTAGE, style, digits=2)
    return f"{best} On {hill.name}, {captured} of the available braking energy was captured."


def _no_hill(answer: Answer) -> str:
    if answer.ride.ascent_m is None:
        return "No file holds heights, so we do not know where the hills are."
    if not answer.hills:
        return "There was no hill on this ride."
    if sign_is_open(answer):
        return "We do not know on which hill most came back, because nothing shows which way the current flows."
    if all(hill.returned_wh is None for hill in answer.hills):
        return "We do not know how many Wh came back on each hill."
    return "Nothing came back on any hill."


def road(ride: RideSummary, style: Style = METRIC) -> str:
    """How far and how high, in one line."""
    if ride.distance_m is None:
        way = "distance not known"
    else:
        way = amount(ride.distance_m.value, DISTANCE, style, digits=max(style.digits, 3))
    if ride.ascent_m is None or ride.descent_m is None:
        return f"{way}, height not known"
    up, down = (amount(each.value, HEIGHT, style, decimals=0) for each in (ride.ascent_m, ride.descent_m))
    return f"{way}, {up} up, {down} down"


def known_part(answer: Answer, style: Style = METRIC) -> str:
    """Which part of a ride the numbers that need heights are of, to stand after them; empty where it is all of it."""
    found = next((finding for finding in answer.findings if finding.code == "height-partial"), None)
    covered_pct = found.facts.get("covered_pct") if found is not None else None
    if not isinstance(covered_pct, float | int):
        return ""
    return f" where the height is known ({amount(covered_pct, PERCENTAGE, style, decimals=0)} of the ride)"


def power_label(start_s: float, end_s: float, answer: Answer, style: Style = METRIC) -> str:
    """What the power chart shows, for those who do not see it.

    Parameters
    ----------
    start_s, end_s : the stretch of the ride that is shown [s]
    answer : of the ride
    style : how its numbers are written

    Returns
    -------
    text : sentences
    """
    return (
        f"Battery power from {clock(start_s, style)} to {clock(end_s, style)}: drawn above zero, returned below. "
        f"{headline(answer, style).sentence} The braking events are in the table below."
    )


def profile_label(answer: Answer, style: Style = METRIC) -> str:
    """What the height profile shows, for those who do not see it."""
    n_up = sum(hill.direction == "up" for hill in answer.hills)
    hills = f"{counted(n_up, 'hill')} ridden up and {count(len(answer.hills) - n_up)} ridden down"
    return f"Height along {_length(answer, style)} of road, with {hills}, marked by number. The table below lists them."


def track_label(answer: Answer, style: Style = METRIC) -> str:
    """What the track shows, for those who do not see it."""
    events = counted(len(answer.braking.events), "braking event", style=style)
    return (
        f"The track seen from above, {_length(answer, style)} long. The stretches where charge came back are drawn "
        f"thick. The table below lists {events}."
    )


def ledger_label(answer: Answer, style: Style = METRIC) -> str:
    """What the chart of the ledger shows, for those who do not see it."""
    return (
        "Bars from the energy that the battery gave to the energy that came back, one for each thing that took some. "
        f"{headline(answer, style).sentence} The same numbers are in the table below."
    )


def _length(answer: Answer, style: Style) -> str:
    way = answer.ride.distance_m
    return amount(None if way is None else way.value, DISTANCE, style)
