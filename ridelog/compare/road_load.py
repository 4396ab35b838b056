"""What a ride would have recovered, captured and used at another speed, with another mass, in other air.

The ledger of a ride says what air, rolling, height and speed took at the wheel, and what each braking event had
available. By the road load, air goes with density and the square of the speed, the energy of speed with mass and the
square of the speed, rolling and height with mass. With v, m, rho of the ride and v0, m0, rho0 in common::

    air' = air (v0/v)² rho0/rho         kinetic' = kinetic (v0/v)² m0/m
    rolling' = rolling m0/m             height' = height m0/m

and each event offers what its parts then leave. Seven things no log tells, and each lies between two ends, which
`Model` names: whether a limit of the current held back what returned, how even descents are, whether a motor held back
alone or friction brakes helped it, how hard legs would have worked, how much of what the battery gives the drive loses,
what that goes with, and how much of what a descent gives beside the braking was braking's.
"""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from statistics import NormalDist

import numpy as np

from ridelog.answer.ledger import LedgerEntry
from ridelog.answer.ride import Answer
from ridelog.arrays import Floats
from ridelog.lazy import dataclass
from ridelog.uncertain.quantity import Quantity

DRIVEN_SHARE = 0.1  # of what a descent gives, so much drawn on it at most is a descent that nobody drives (judgement)
LEAST_EFFICIENCY, MOST_EFFICIENCY = 0.6, 0.85  # from battery to wheel, climbs and all (judgement)
LEAST_GENERATING = 0.45  # from wheel to battery, on a descent: the lower end of what the ledger takes a generator to be
LOST: Mapping[str, int] = {"kinetic": -1, "potential": -1, "air": 1, "rolling": 1}  # of what the ledger says was gained


@dataclass(frozen=True)
class Model:
    """What no log tells of a ride at other conditions; as it stands, the middle of what may be.

    Attributes
    ----------
    limited : 1: a limit of the current held back all that returned, so that it goes with the time braked. 0: none did.
        Holding back on a descent the motor then brakes as hard at any speed, up to what a drive returns at best; and of
        a stop it returns a share that rises with the speed that it begins at, for what the winding loses goes with the
        time, and little returns from a walking pace [1]
    generating : where the drive's efficiency lies as it holds back on a descent, from wheel to battery: 0: at what it
        returned, or at `LEAST_GENERATING` if that is more: the motor held back alone then, with nothing of friction,
        and returns the same share of more or less force; 1: at `MOST_EFFICIENCY`, so that friction took the rest, and
        the motor's share of less force is larger. What returns is no larger share than this efficiency [1]
    even : 1: a descent is as steep all along, so that it takes less force to hold back where air takes more; 0: only
        its steepest parts are still braked then, with as much force [1]
    legs_steady : 0: legs keep their share of the work, as where a motor follows them; 1: they keep their power, so that
        they do less over each kilometre of a faster ride [1]
    efficient : where the drive's efficiency lies, from battery to wheel: 0: at `LEAST_EFFICIENCY`; 1: at
        `MOST_EFFICIENCY`, or where nothing of the work is left to legs, if that is less [1]
    loss_with_work : 0: the drive loses in its winding, by the square of the force for as long as it lasts, so that a
        climb that takes less time loses less; 1: in proportion to its work, as in gears and the controller [1]
    beside : share of what air takes and speed gains beside the braking of a descent that braking would have had
        otherwise; ``None`` : as much as the time before it is of the time beside it [1]
    """

    limited: float = 0.5
    even: float = 0.5
    legs_steady: float = 0.5
    efficient: float = 0.5
    loss_with_work: float = 0.5
    beside: float | None = None
    generating: float = 0.5


MIDDLE = Model()
ENDS: Mapping[str, tuple[Model, Model]] = {
    "limit of what comes back": (Model(limited=0.0), Model(limited=1.0)),
    "evenness of descents": (Model(even=0.0), Model(even=1.0)),
    "help of friction brakes": (Model(generating=0.0), Model(generating=1.0)),
    "work of legs": (Model(legs_steady=0.0), Model(legs_steady=1.0)),
    "efficiency of the drive": (Model(efficient=0.0), Model(efficient=1.0)),
    "loss of the drive": (Model(loss_with_work=0.0), Model(loss_with_work=1.0)),
    "descents beside the braking": (Model(beside=0.0), Model(beside=1.0)),
}


@dataclass(frozen=True, eq=False)
class Lost:
    """What braking events lost of speed and height, and what air and rolling took meanwhile; arrays (n,) [Wh]."""

    kinetic_wh: Floats
    height_wh: Floats
    air_wh: Floats
    rolling_wh: Floats

    def with_share(self, share: Floats | float, other: "Lost") -> "Lost":
        """These and a share of others."""
        return Lost(
            self.kinetic_wh + share * other.kinetic_wh,
            self.height_wh + share * other.height_wh,
            self.air_wh + share * other.air_wh,
            self.rolling_wh + share * other.rolling_wh,
        )


@dataclass(frozen=True, eq=False)
class Climbs:
    """The climbs of a ride; arrays (n,): brought to the wheel, taken by air [Wh], and share of the driven way [1]."""

    to_wheel_wh: Floats
    air_wh: Floats
    way_ratio: Floats


@dataclass(frozen=True, eq=False)
class Parts:
    """What a ride's quantities are made of [Wh]; the braking events' own as arrays, shape (n,).

    ``to_wheel_wh`` : brought to the wheel outside braking · ``air_wh``, ``rolling_wh``, ``height_wh``,
    ``kinetic_wh`` : taken over the whole ride · ``events`` : of each event · ``beside`` : of its part of a descent that
    nobody drives, beside the braking · ``before_ratio`` : how much of the time beside is before the braking [1] ·
    ``holds`` : which events hold back on a descent · ``available_wh``, ``back_wh`` : of each event · ``climbs`` : where
    a motor works hardest · ``rider_wh`` : at the pedals, ``None`` where it was not logged · ``air_u_ratio`` : standard
    uncertainty of what air took, of it [1]
    """

    drawn_wh: float
    returned_wh: float
    to_wheel_wh: float
    air_wh: float
    rolling_wh: float
    height_wh: float
    kinetic_wh: float
    events: Lost
    beside: Lost
    before_ratio: Floats
    holds: Floats
    available_wh: Floats
    back_wh: Floats
    climbs: Climbs
    rider_wh: float | None = None
    air_u_ratio: float = 0.0


@dataclass(frozen=True)
class Factors:
    """What is in common over what the ride had [1].

    ``speed`` : of the bike as it moved · ``stop_speed``, ``descent_speed`` : as braking began, for stops and on
    descents · ``mass`` · ``density`` : of the air
    """

    speed: float = 1.0
    stop_speed: float = 1.0
    descent_speed: float = 1.0
    mass: float = 1.0
    density: float = 1.0


@dataclass(frozen=True)
class Shares:
    """By what factor a ride's quantities change [1]."""

    recovered_pct: float
    captured_pct: float
    net_wh_per_km: float


def changed(parts: Parts, factors: Factors, model: Model = MIDDLE) -> Shares:
    """By what factor a ride's quantities change at other speed, mass and air.

    Parameters
    ----------
    parts : of the ride
    factors : in common over its own
    model : of what no log tells

    Returns
    -------
    factors : 1 each where nothing is other
    """
    speeds = np.where(parts.holds, factors.descent_speed, factors.stop_speed)
    available = _available(parts, factors, speeds, model)
    as_heavy = _available(parts, factors, np.ones_like(speeds), model)
    back = parts.back_wh * _ratio(available, parts.available_wh) * _kept(parts, speeds, as_heavy, model)
    drawn = _drawn(parts, factors, _to_wheel(parts, factors, speeds, available), model)
    returned = parts.returned_wh + float((back - parts.back_wh).sum())
    before = float(parts.back_wh.sum()), float(parts.available_wh.sum())
    captured = 1.0
    if before[0] > 0 and available.sum() > 0:
        captured = float(back.sum() / available.sum()) / (before[0] / before[1])
    share = (returned / drawn) / (parts.returned_wh / parts.drawn_wh) if parts.returned_wh > 0 else 1.0
    return Shares(share, captured, (drawn - returned) / (parts.drawn_wh - parts.returned_wh))


def _kept(parts: Parts, speeds: Floats, as_heavy: Floats, model: Model) -> Floats:
    """By what factor each event's share of what it offers changes [1]."""
    now = _ratio(parts.back_wh, parts.available_wh)
    held = parts.holds > 0
    as_hard = _force(parts, speeds, _available(parts, Factors(), speeds, model)) ** -model.even
    heavier = _ratio(as_heavy, parts.available_wh)  # more is offered, in the same time
    with np.errstate(divide="ignore"):
        at_limit = np.where(held, as_hard, 1.0) / speeds * np.where(heavier > 0, 1 / heavier, 1.0)
    unlimited = np.where(held, as_hard, speeds)
    best = _up_to(MOST_EFFICIENCY, now)
    with_friction = np.minimum(unlimited, best), np.minimum(at_limit, best)
    least = np.where(held, _up_to(LEAST_GENERATING, now), best)
    by_motor = held & (now >= LEAST_GENERATING)
    alone = np.where(by_motor, 1.0, np.minimum(unlimited, least)), np.minimum(at_limit, least)
    ends = [free ** (1 - model.limited) * bound**model.limited for free, bound in (alone, with_friction)]
    kept: Floats = ends[0] ** (1 - model.generating) * ends[1] ** model.generating
    return kept


def _up_to(efficiency: float, now: Floats) -> Floats:
    """By what factor a share can rise to an efficiency; 1 where it is there already [1]."""
    return np.maximum(np.divide(efficiency, now, out=np.ones_like(now), where=now > 0), 1.0)


def _force(parts: Parts, speeds: Floats, available: Floats) -> Floats:
    """What holds back on a descent at other speeds, over what did [1].

    Air takes more of a faster ride. As what is available is force times the way braked, which is then no longer, the
    force is between that of before and as much less as what is available.
    """
    offered = _ratio(available, parts.available_wh)
    more_air = (speeds**2 - 1) * parts.events.air_wh
    force = 1 - np.divide(more_air, parts.available_wh, out=np.zeros_like(more_air), where=parts.available_wh > 0)
    least, most = np.minimum(offered, 1.0), np.maximum(offered, 1.0)
    bounded: Floats = np.maximum(np.clip(force, least, most), 0.01)
    return bounded


def _ratio(value: Floats, of: Floats) -> Floats:
    return np.divide(value, of, out=np.ones_like(value), where=of > 0)


def _available(parts: Parts, factors: Factors, speeds: Floats, model: Model) -> Floats:
    """What each event offers [Wh]: what its parts leave."""
    lost = parts.events.with_share(parts.before_ratio if model.beside is None else model.beside, parts.beside)
    squares = speeds**2
    more = (
        (squares * factors.mass - 1) * lost.kinetic_wh
        + (factors.mass - 1) * (lost.height_wh - lost.rolling_wh)
        - (squares * factors.density - 1) * lost.air_wh
    )
    return np.maximum(parts.available_wh + more, 0.0)


def _to_wheel(parts: Parts, factors: Factors, speeds: Floats, available: Floats) -> float:
    """What battery and legs bring to the wheel [Wh]: what the whole ride takes, with what is available in braking."""
    driven, braked_air = factors.speed**2, parts.events.air_wh + parts.beside.air_wh
    return (
        parts.to_wheel_wh
        + (driven * factors.density - 1) * (parts.air_wh - float(braked_air.sum()))
        + float(((speeds**2 * factors.density - 1) * braked_air).sum())
        + (factors.mass - 1) * (parts.rolling_wh + parts.height_wh)
        + (driven * factors.mass - 1) * parts.kinetic_wh
        + float((available - parts.available_wh).sum())
    )


def _drawn(parts: Parts, factors: Factors, wheel_wh: float, model: Model) -> float:
    """What the battery gives [Wh], between legs that keep their share and legs that keep their power."""
    alone = parts.to_wheel_wh / parts.drawn_wh  # the efficiency of a drive that did all of it
    most = min(MOST_EFFICIENCY, alone)
    least = min(LEAST_EFFICIENCY, most)
    motor_wh = (least + model.efficient * (most - least)) * parts.drawn_wh
    legs_wh = parts.to_wheel_wh - motor_wh if parts.rider_wh is None else parts.rider_wh
    more_wh = wheel_wh - parts.to_wheel_wh
    following_wh = motor_wh * more_wh / parts.to_wheel_wh
    steady_wh = more_wh + legs_wh * (1 - 1 / factors.speed)
    then_wh = motor_wh + following_wh + model.legs_steady * (steady_wh - following_wh)
    work_ratio, winding_ratio = then_wh / motor_wh, _winding(parts, factors, wheel_wh, motor_wh, then_wh)
    loss_ratio = winding_ratio + model.loss_with_work * (work_ratio - winding_ratio)
    return then_wh + (parts.drawn_wh - motor_wh) * loss_ratio


def _winding(parts: Parts, factors: Factors, wheel_wh: float, motor_wh: float, then_wh: float) -> float:
    """By what factor the loss in the motor's winding changes: square of the force, for as long as it lasts [1].

    Each climb has a force of its own, and all that is driven beside them has one. Legs push as hard everywhere.
    """
    climbs = parts.climbs
    way_ratio = np.append(climbs.way_ratio, 1 - climbs.way_ratio.sum())
    more = (factors.speed**2 * factors.density - 1) * climbs.air_wh
    climbs_wh = climbs.to_wheel_wh + more + (factors.mass - 1) * (climbs.to_wheel_wh - climbs.air_wh)
    own = np.append(climbs.to_wheel_wh, parts.to_wheel_wh - climbs.to_wheel_wh.sum())
    then = np.append(climbs_wh, wheel_wh - climbs_wh.sum())
    squares = [
        float((np.maximum(wh - legs_wh * way_ratio, 0.0) ** 2 / way_ratio).sum())
        for wh, legs_wh in ((own, parts.to_wheel_wh - motor_wh), (then, wheel_wh - then_wh))
    ]
    return squares[1] / squares[0] / factors.speed


def parts_of(answer: Answer) -> Parts | None:
    """The parts of a ride; ``None`` where its ledger does not tell them."""
    ledger = answer.ledger
    if ledger is None:
        return None
    entry = ledger.ride
    needed = (entry.drawn_wh, entry.to_wheel_wh, entry.air_wh, entry.rolling_wh, entry.potential_wh, entry.kinetic_wh)
    values = [None if one is None else one.value for one in needed]
    if any(value is None for value in values):
        return None
    drawn, to_wheel, air, rolling, height, kinetic = (float(value) for value in values if value is not None)
    returned = 0.0 if entry.returned_wh is None else entry.returned_wh.value
    if not (drawn > returned >= 0 and to_wheel > 0):
        return None
    events = [event for event in ledger.events if event.available_wh is not None and event.kinetic_wh is not None]
    kinds = {event.start_s: event.kind for event in answer.braking.events}
    own = {name: sign * _column(events, f"{name}_wh") for name, sign in LOST.items()}
    beside, before_ratio = _on_descents(events, ledger.hills, own)
    return Parts(
        drawn,
        returned,
        to_wheel,
        air,
        rolling,
        height,
        kinetic,
        events=_lost(own),
        beside=_lost(beside),
        before_ratio=before_ratio,
        holds=np.array([kinds.get(event.start_s) == "holding" for event in events], dtype=float),
        available_wh=_column(events, "available_wh"),
        back_wh=_column(events, "caught_wh"),
        climbs=_climbs(ledger.hills, events, rolling),
        rider_wh=None if entry.rider_wh is None else entry.rider_wh.value,
        air_u_ratio=_u_ratio(entry.air_wh),
    )


def _climbs(hills: Sequence[LedgerEntry], events: Sequence[LedgerEntry], rolling_wh: float) -> Climbs:
    """The climbs of a ride; rolling goes with the way, and neither descents nor braking are driven."""
    told = [hill for hill in hills if hill.potential_wh is not None and hill.to_wheel_wh is not None]
    up = [hill for hill in told if hill.potential_wh is not None and hill.potential_wh.value > 0]
    down = [hill for hill in told if hill not in up]
    apart = [one for one in events if not any(hill.start_s <= one.start_s < hill.end_s for hill in told)]
    driven_wh = rolling_wh - float(_column([*down, *apart], "rolling_wh").sum())
    if float(_column(up, "rolling_wh").sum()) >= driven_wh:
        up = []  # nothing is left beside them: all of the ride is one stretch
    return Climbs(_column(up, "to_wheel_wh"), _column(up, "air_wh"), _column(up, "rolling_wh") / driven_wh)


def _lost(by_name: Mapping[str, Floats]) -> Lost:
    return Lost(by_name["kinetic"], by_name["potential"], by_name["air"], by_name["rolling"])


def _on_descents(
    events: Sequence[LedgerEntry], hills: Sequence[LedgerEntry], own: Mapping[str, Floats]
) -> tuple[dict[str, Floats], Floats]:
    """Each event's part of its descent beside the braking [Wh], and how much of the time beside is before it [1].

    Where nobody drives, the road gives all there is: what air takes until the braking begins, and the speed that the
    bike gains meanwhile, braking would have had otherwise. What comes after the last braking is lost to it anyway.
    """
    beside, ratio = {name: np.zeros(len(events)) for name in LOST}, np.zeros(len(events))
    available = _column(events, "available_wh")
    for hill in hills:
        height, drawn = (0.0 if told is None else told.value for told in (hill.potential_wh, hill.drawn_wh))
        on = np.array([hill.start_s <= (event.start_s + event.end_s) / 2 <= hill.end_s for event in events], dtype=bool)
        offered = float(available[on].sum())
        if height >= 0 or drawn > DRIVEN_SHARE * -height or offered <= 0:
            continue
        for name, sign in LOST.items():
            whole = sign * float(_column([hill], f"{name}_wh")[0])
            beside[name][on] += (whole - float(own[name][on].sum())) * available[on] / offered
        ratio[on] = _before(hill, [event for event, is_on in zip(events, on, strict=True) if is_on])
    return beside, ratio


def _before(hill: LedgerEntry, events: Sequence[LedgerEntry]) -> float:
    """How much of the time that a descent was not braked lies before the end of the last braking [1]."""
    braked_s = sum(min(event.end_s, hill.end_s) - max(event.start_s, hill.start_s) for event in events)
    free_s = hill.end_s - hill.start_s - braked_s
    after_s = max(hill.end_s - max(event.end_s for event in events), 0.0)
    return max(free_s - after_s, 0.0) / free_s if free_s > 0 else 0.0


def _column(events: Sequence[LedgerEntry], name: str) -> Floats:
    values = (getattr(event, name) for event in events)
    return np.array([0.0 if value is None else value.value for value in values], dtype=float)


def _u_ratio(told: Quantity | None) -> float:
    """Standard uncertainty over the value, by the interval."""
    if told is None or told.low95 is None or told.high95 is None or not told.value > 0:
        return 0.0
    return (told.high95 - told.low95) / (2 * NormalDist().inv_cdf(0.975)) / told.value


def with_more_air(parts: Parts) -> Parts:
    """The parts if the air took more by one standard uncertainty, with the work at the wheel and the events."""
    more = 1 + parts.air_u_ratio
    taken = (more - 1) * parts.events.air_wh
    available = np.maximum(parts.available_wh - taken, 0.0)
    to_wheel = parts.to_wheel_wh + (more - 1) * parts.air_wh + float((available - parts.available_wh).sum())
    climbs = parts.climbs
    on_climbs = climbs.to_wheel_wh + (more - 1) * climbs.air_wh
    return replace(
        parts,
        to_wheel_wh=to_wheel,
        air_wh=more * parts.air_wh,
        events=replace(parts.events, air_wh=more * parts.events.air_wh),
        beside=replace(parts.beside, air_wh=more * parts.beside.air_wh),
        available_wh=available,
        climbs=replace(climbs, to_wheel_wh=on_climbs, air_wh=more * climbs.air_wh),
    )
