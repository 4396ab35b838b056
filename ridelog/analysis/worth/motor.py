"""Can this bike regenerate at all, is what the log shows believable, and what was available to it?"""

from collections.abc import Iterable, Mapping, Sequence
from types import MappingProxyType

from ridelog.analysis.road.drag import can_regenerate
from ridelog.answer.braking import EventKind
from ridelog.answer.worth import BrakingToCapture
from ridelog.findings import Fact, Finding
from ridelog.uncertain.quantity import Quantity
from ridelog.uncertain.seeds import stream
from ridelog.uncertain.trials import Uncertain, rectangular

# What share of the braking energy reached the battery, by kind of braking: a little wider than what the measured sample
# rides show (stops 22 to 26 %, slowing 29 to 30 %, holding 26 to 61 %). They are simulated; a user's own are better.
CAPTURED_SHARES: Mapping[EventKind, tuple[float, float]] = MappingProxyType(
    {"stop": (0.15, 0.35), "slowing": (0.2, 0.4), "holding": (0.25, 0.65)}
)
USUAL_PCT = 5.0  # an ordinary e-bike ride rarely returns more (common practice, no source)
WHOLE_PCT = 100.0  # beyond it, more came back than was drawn
STRIKING_PCT = 20.0  # what hilly rides reach at most (judgement); beyond, look for another cause


def contradiction(kind: str | None, returned: Quantity | None, unit: str, *, regen_seen: bool) -> list[Finding]:
    """A return in the log of a motor that cannot return anything.

    Parameters
    ----------
    kind : of the motor, from the bike file
    returned : of the ride, in ``unit``
    unit : "Ah" or "Wh"
    regen_seen : some stretch shows more than the sensor's zero and noise into the battery

    Returns
    -------
    One finding at most.
    """
    if can_regenerate(kind) is not False or returned is None or not regen_seen:
        return []
    if returned.value <= 0 or (returned.low95 is not None and returned.low95 <= 0):
        return []
    facts: dict[str, Fact] = {f"returned_{unit.lower()}": returned.value, "motor_kind": kind}
    return [Finding("return-without-regen", "warning", facts)]


def plausibility(
    recovered_pct: Quantity | None,
    drop_m: float | None,
    *,
    sign_by_map: bool = False,
    striking_pct: float = STRIKING_PCT,
) -> list[Finding]:
    """A note where far more came back than usual, a warning where it was more than was drawn; no number changes.

    Parameters
    ----------
    recovered_pct : by energy, else by charge [%]
    drop_m : how much lower the ride ends than it begins; ``None`` where not known [m]
    sign_by_map : the sign of the current is that of a column map
    striking_pct : the whole interval must lie above it for a note [%]

    Returns
    -------
    One finding at most.
    """
    if recovered_pct is None:
        return []
    beyond = recovered_pct.value > WHOLE_PCT
    if not beyond and (recovered_pct.low95 is None or recovered_pct.low95 <= striking_pct):
        return []
    lower_m = drop_m if drop_m is not None and drop_m > 20 else None  # less explains nothing
    facts: dict[str, Fact] = {
        "recovered_pct": recovered_pct.value,
        "usual_pct": USUAL_PCT,
        "lower_m": lower_m,
        "beyond_drawn": beyond,
        "sign_by_map": sign_by_map,
    }
    return [Finding("recovered-unusually-high", "warning" if beyond else "note", facts)]


def available_by_kind(
    available: Iterable[tuple[EventKind | None, Uncertain]],
    captured: Mapping[EventKind, tuple[float, float]] = CAPTURED_SHARES,
) -> tuple[BrakingToCapture, ...]:
    """What braking had available, by kind, with the share of it that regeneration is assumed to capture.

    Parameters
    ----------
    available : kind of each braking event and what it had available [Wh]
    captured : lowest and highest share by kind, from measured rides
    """
    events = [(kind, part.value) for kind, part in available if part.known]
    kinds = []
    for kind, (low, high) in captured.items():
        known = [value for its_kind, value in events if its_kind == kind]
        if known:
            kinds.append(BrakingToCapture(kind, len(known), sum(known), 100 * low, 100 * high))
    return tuple(kinds)


def would_return(available: Uncertain, captured_range: tuple[float, float]) -> Uncertain:
    """What would have come back of what was available, were the captured share in a range [Wh].

    Parameters
    ----------
    available : of the ride, or of one kind of braking, at the wheel [Wh]
    captured_range : lowest and highest captured share, from 0 to 1; any between is as likely

    Raises
    ------
    ValueError : a range that is none
    """
    low, high = captured_range
    if not 0 <= low <= high <= 1:
        raise ValueError(f"a captured share lies between 0 and 1, and its limits in order, not {low} to {high}")
    return available.at_least(0.0) * rectangular(low, high, stream("would return"), source="captured share")


def captured_overall(kinds: Sequence[BrakingToCapture]) -> tuple[float, float] | None:
    """The captured range of all kinds together, weighed by what each had available; ``None`` where nothing was."""
    whole_wh = sum(each.available_wh for each in kinds)
    if whole_wh <= 0:
        return None
    low, high = (
        sum(each.available_wh * share for each, share in zip(kinds, shares, strict=True)) / whole_wh / 100
        for shares in ([each.captured_low_pct for each in kinds], [each.captured_high_pct for each in kinds])
    )
    return low, high
