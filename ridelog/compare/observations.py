"""What rides and hills give, ride by ride, with what of its uncertainty is the ride's own and what rides share.

An error is shared by the rides of its owner: the zero and gains of the current by those of one logger, masses and drags
by those of one bike, heights and wind by those over one road. A ride whose log shows no return is one at 0 where its
logger has shown one on another ride; a return of less than the zero of the current can be off stays unseen on all of
them alike. Of an answer that does not tell its errors apart nothing is known to cancel but between rides of one logger,
whose errors are taken as the same.
"""

import math
from collections.abc import Mapping, Sequence
from statistics import NormalDist

import numpy as np
from numpy.typing import NDArray

from ridelog.answer.ride import Answer
from ridelog.answer.shared_errors import HEIGHT, OF_THE_ROAD, Effects
from ridelog.arrays import Floats
from ridelog.compare.groups import Compared, ComparedRide
from ridelog.fleet.history.places import same_hills
from ridelog.fleet.history.returned import nothing_returned
from ridelog.fleet.history.routes import same_routes
from ridelog.lazy import dataclass
from ridelog.uncertain.quantity import Quantity
from ridelog.uncertain.shared import OWN

QUANTITIES = ("recovered_pct", "captured_pct", "net_wh_per_km")
UNSEEN = "unseen return"  # of a log that shows none: less than the zero of the current can be off
UNTOLD = "errors not told apart"  # by an answer of before: all that it has
OF_THE_LOGGER = frozenset(
    {"current zero", "current gain", "charge against discharge gain", "voltage gain", "speed scale", UNTOLD, UNSEEN}
)
COVERAGE_FACTOR = NormalDist().inv_cdf(0.975)


@dataclass(frozen=True, eq=False)
class Observations:
    """One quantity, of whole rides or of hills; arrays of one length, shape (n,).

    Attributes
    ----------
    quantity : its name: "recovered_pct", "captured_pct", "net_wh_per_km", ...
    group : name of the group that the ride is in
    ride : key of the ride
    start_s : when the ride began, UTC epoch; NaN where it states no time [s]
    route : which way the ride went, -1 where that is not known; see `fleet.history.routes`
    hill : identifier of the hill, "" for a whole ride; see `fleet.history.places`
    value : of the quantity
    own_u : standard uncertainty of what is the ride's own
    shared : (cause, owner) -> signed effect of one standard uncertainty on each value; 0 where the ride's owner is
        another. The errors are rectangular (limits), scaled to unit standard deviation.
    """

    quantity: str
    group: NDArray[np.object_]
    ride: NDArray[np.object_]
    start_s: Floats
    route: NDArray[np.intp]
    hill: NDArray[np.object_]
    value: Floats
    own_u: Floats
    shared: Mapping[tuple[str, str], Floats]


@dataclass(frozen=True)
class Observed:
    """One number of one ride; ``hill`` : "" for the whole ride; ``effects`` : of shared errors, by name."""

    hill: str
    value: float
    own_u: float
    effects: Effects


def observations_of(compared: Compared, ways: "Ways | None" = None) -> tuple[Observations, ...]:
    """What the rides of a comparison recovered, captured and used for each kilometre, and captured on each descent.

    Parameters
    ----------
    compared : the rides
    ways : that they went, where `ways_of` was asked before

    Returns
    -------
    observations : of `QUANTITIES` in whole rides, then of ``captured_pct`` on hills; rides in the order given, those
        that do not know a quantity left out
    """
    ways = ways if ways is not None else ways_of(compared)
    no_return = dict(zip(compared.table["key"], nothing_returned(compared.table), strict=True))
    nothing = {ride.key: bool(no_return[ride.key]) and not _cuts_off(ride.answer) for ride in compared.rides}
    by_energy = any(ride.answer.energy.recovered_pct is not None for ride in compared.rides)
    told: dict[tuple[str, bool], list[tuple[ComparedRide, Observed]]] = {(name, False): [] for name in QUANTITIES}
    told["captured_pct", True] = []
    for ride in compared.rides:
        found = _off(ride.answer) if nothing[ride.key] else _measured(ride.answer, by_energy=by_energy)
        for name, one in found.items():
            told[name, False].append((ride, one))
        told["captured_pct", True] += [(ride, one) for one in _on_hills(ride, ways.places, off=nothing[ride.key])]
    return tuple(put_together(name, rows, ways.routes) for (name, _), rows in told.items())


def _cuts_off(answer: Answer) -> bool:
    """Whether the log itself shows that something came back which it does not hold, whatever its logger can show."""
    return any(each.code == "cannot-show-return" and each.facts.get("cuts_off") for each in answer.findings)


@dataclass(frozen=True, eq=False)
class Ways:
    """Which way the rides went: ``routes`` by key of the ride, ``places`` the hill of each pass by (key, start)."""

    routes: Mapping[str, int]
    places: Mapping[tuple[str, float], str]


def ways_of(compared: Compared) -> Ways:
    """The routes and the hills that the rides of a comparison have in common, whichever bike they are of."""
    passes = compared.passes.assign(place=same_hills(compared.passes))
    table = compared.table.sort_values(["ride_start", "key"], na_position="last")
    routes = same_routes(table, passes)
    known = passes.dropna(subset=["place"])
    starts = known["start_s"].astype(float)
    return Ways(
        dict(zip(table["key"], (int(route) for route in routes), strict=True)),
        dict(zip(zip(known["key"], starts, strict=True), known["place"], strict=True)),
    )


def _owner(cause: str, ride: ComparedRide, route: int, hill: str) -> str:
    """Who has an error; "" where no other ride can have it.

    The wind that was entered for a road is wrong on all rides of it alike, as far as it blows every day. So are heights
    of one place by devices of one kind, as far as maps, satellites or the weather make them so; what of both is other
    from ride to ride shows in how rides differ.
    """
    if cause in OF_THE_LOGGER:
        return ride.logger
    if cause not in OF_THE_ROAD:
        return ride.bike
    if route < 0:
        return ""
    if cause != HEIGHT:
        return f"route {route}"
    kinds = sorted({source.format for source in ride.answer.sources if source.role != "electrical"})
    return f"{hill or f'route {route}'} by {', '.join(kinds)}"


def put_together(
    quantity: str, rows: Sequence[tuple[ComparedRide, Observed]], routes: Mapping[str, int]
) -> Observations:
    """Numbers of rides as observations.

    Parameters
    ----------
    quantity : that they are of
    rows : each with its ride
    routes : by key of the ride

    Returns
    -------
    observations : in the order given
    """
    rides, ones = [ride for ride, _ in rows], [one for _, one in rows]
    shared: dict[tuple[str, str], Floats] = {}
    own_u = np.array([one.own_u for one in ones])
    for at, (ride, one) in enumerate(rows):
        for cause, effect in one.effects.items():
            owner = _owner(cause, ride, routes.get(ride.key, -1), one.hill)
            if owner:
                shared.setdefault((cause, owner), np.zeros(len(rows)))[at] = effect
            else:
                own_u[at] = math.hypot(own_u[at], effect)
    return Observations(
        quantity=quantity,
        group=_objects([ride.group for ride in rides]),
        ride=_objects([ride.key for ride in rides]),
        start_s=np.array([np.nan if ride.start is None else ride.start.timestamp() for ride in rides]),
        route=np.array([routes.get(ride.key, -1) for ride in rides], dtype=np.intp),
        hill=_objects([one.hill for one in ones]),
        value=np.array([one.value for one in ones]),
        own_u=own_u,
        shared=shared,
    )


def _objects(values: Sequence[str]) -> NDArray[np.object_]:
    made = np.empty(len(values), dtype=object)
    made[:] = values
    return made


def _measured(answer: Answer, *, by_energy: bool) -> dict[str, Observed]:
    """The numbers of a ride whose log shows what came back."""
    known = {
        "recovered_pct": answer.energy.recovered_pct if by_energy else answer.charge.recovered_pct,
        "captured_pct": answer.braking.captured_pct,
        "net_wh_per_km": answer.energy.net_wh_per_km,
    }
    effects = answer.shared_errors.ride
    return {name: _observed(told, effects.get(name, {})) for name, told in known.items() if told is not None}


def _observed(told: Quantity, effects: Effects, hill: str = "") -> Observed:
    """A number with its errors; one that does not say which are shared may err by all of them, alike on each ride."""
    own_u = effects.get(OWN)
    if own_u is None:
        return Observed(hill, told.value, _u(told), {UNTOLD: _u(told)})
    return Observed(hill, told.value, own_u, {cause: effect for cause, effect in effects.items() if cause != OWN})


def _u(told: Quantity | None) -> float:
    """Standard uncertainty by the interval, as if it were normal; 0 where it was not evaluated."""
    if told is None or told.low95 is None or told.high95 is None:
        return 0.0
    return (told.high95 - told.low95) / (2 * COVERAGE_FACTOR)


def _off(answer: Answer) -> dict[str, Observed]:
    """The numbers of a ride on which nothing came back, as its logger proves: 0, and the use per kilometre as drawn."""
    found: dict[str, Observed] = {}
    drawn, way = answer.energy.drawn_wh, answer.ride.distance_m
    unseen = unseen_wh(answer)
    if drawn is not None and drawn.value > 0:
        found["recovered_pct"] = Observed("", 0.0, 0.0, {UNSEEN: 100 * unseen / drawn.value})
    elif (charge := answer.charge.drawn_ah) is not None and charge.value > 0:
        found["recovered_pct"] = Observed("", 0.0, 0.0, {UNSEEN: 100 * unseen_ah(answer) / charge.value})
    available = answer.braking.available_wh
    if available is not None and available.value > 0:
        found["captured_pct"] = Observed("", 0.0, 0.0, {UNSEEN: 100 * unseen / available.value})
    if drawn is not None and way is not None and way.value > 0:
        found["net_wh_per_km"] = _drawn_per_km(answer, drawn, way, unseen)
    return found


def _drawn_per_km(answer: Answer, drawn: Quantity, way: Quantity, unseen: float) -> Observed:
    """The use of a ride on which nothing came back: by its gains, which rides share, and what is left of both."""
    value = 1000 * drawn.value / way.value
    gains = {"current gain": "current_gain_limit_pct", "voltage gain": "voltage_gain_limit_pct"}
    effects = {cause: -value * _limit(answer, key) / 100 / math.sqrt(3) for cause, key in gains.items()}
    relative = math.hypot(_u(drawn) / drawn.value if drawn.value else 0.0, _u(way) / way.value)
    left = max((value * relative) ** 2 - sum(effect**2 for effect in effects.values()), 0.0)
    return Observed("", value, math.sqrt(left), {**effects, UNSEEN: -1000 * unseen / way.value})


def unseen_ah(answer: Answer, start_s: float = -math.inf, end_s: float = math.inf) -> float:
    """Standard uncertainty of what may have come back unseen: up to the limit of the zero while it was braked.

    Parameters
    ----------
    answer : of a ride on which nothing came back
    start_s, end_s : of a span of it [s]

    Returns
    -------
    Charge [Ah].
    """
    events = answer.braking.events
    braked_s = sum(max(min(event.end_s, end_s) - max(event.start_s, start_s), 0.0) for event in events)
    return _limit(answer, "current_zero_limit_a") * braked_s / 3600 / math.sqrt(3)


def unseen_wh(answer: Answer, start_s: float = -math.inf, end_s: float = math.inf) -> float:
    """`unseen_ah` as energy, at the mean voltage of what was drawn.

    Parameters
    ----------
    answer, start_s, end_s : as there

    Returns
    -------
    Energy; 0 where the voltage is not known [Wh].
    """
    drawn_wh, drawn_ah = answer.energy.drawn_wh, answer.charge.drawn_ah
    if drawn_wh is None or drawn_ah is None or not drawn_ah.value > 0:
        return 0.0
    return unseen_ah(answer, start_s, end_s) * drawn_wh.value / drawn_ah.value


def _limit(answer: Answer, key: str) -> float:
    """A limit of the sensor as it was used; 0 where the answer does not tell it."""
    used = answer.bike.sensor.get(key)
    return float(used.value) if used is not None and isinstance(used.value, (int, float)) else 0.0


def _on_hills(ride: ComparedRide, places: Mapping[tuple[str, float], str], *, off: bool) -> list[Observed]:
    """What a ride captured on each descent that has a place; of several passes the mean."""
    hills = ride.answer.hills
    effects = [*ride.answer.shared_errors.hills, *[{}] * len(hills)]
    by_place: dict[str, list[Observed]] = {}
    for hill, of_hill in zip(hills, effects, strict=False):
        place = places.get((ride.key, float(hill.start_s)))
        if place is None or hill.direction != "down":
            continue
        if hill.captured_pct is not None:
            by_place.setdefault(place, []).append(_observed(hill.captured_pct, of_hill.get("captured_pct", {}), place))
        elif off and hill.available_wh is not None and hill.available_wh.value > 0:
            unseen = 100 * unseen_wh(ride.answer, hill.start_s, hill.end_s) / hill.available_wh.value
            by_place.setdefault(place, []).append(Observed(place, 0.0, 0.0, {UNSEEN: unseen}))
    return [_mean(passes) for passes in by_place.values()]


def _mean(passes: Sequence[Observed]) -> Observed:
    """The mean of several passes of one ride: what is their own averages out, what they share does not."""
    n = len(passes)
    causes = dict.fromkeys(cause for one in passes for cause in one.effects)
    effects = {cause: sum(one.effects.get(cause, 0.0) for one in passes) / n for cause in causes}
    own_u = math.sqrt(sum(one.own_u**2 for one in passes)) / n
    return Observed(passes[0].hill, sum(one.value for one in passes) / n, own_u, effects)
