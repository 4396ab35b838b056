"""Simulated campaigns under whose second setting the rider is in a hurry: as ridden, and restated at one speed.

Every ride is simulated, and compared by what it really recovered, captured and used and by what its ledger would hold
if nothing were measured wrong: what is counted is the statistics and the correction. The truth is what the settings
differ by on other days of the same bike. The correction was made with an eye on other bikes of these worlds; those that
are counted, their days and seeds are held out.
``python -m tests.proof.hurry_study FILE --world other --bikes 6`` counts, and appends a line a row.
"""

import argparse
import gc
import json
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import timedelta
from functools import cache
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import numpy as np
import pandas as pd
from scipy import stats

from ridelog.analysis.braking.force import event_kind
from ridelog.answer.ledger import LedgerEntry
from ridelog.arrays import mask_runs
from ridelog.compare.conditions import braking_speed_mps
from ridelog.compare.correction import SPEEDS, restated
from ridelog.compare.differences import differences
from ridelog.compare.groups import way_speed_mps
from ridelog.compare.observations import Observations
from ridelog.compare.record import Difference
from ridelog.uncertain.quantity import Quantity
from sample_rides.campaign.plan import STRONG, WEAK, CampaignPlan
from sample_rides.campaign.rides import figures, outing
from sample_rides.fleet.bikes import FleetBike
from sample_rides.fleet.faults import Condition
from sample_rides.fleet.lockstep import QuickRide, ride_all
from sample_rides.fleet.roads import Way
from sample_rides.machine import GRAVITY_MPS2
from sample_rides.simulation import Scenario
from tests.compare.campaigns import Floats, observed
from tests.proof.compare_study import NOTHING_TO_SETTLE
from tests.proof.hurry_worlds import DRAWN, WORDS, World, bike_of, world_of

QUANTITIES = ("recovered_pct", "captured_pct", "net_wh_per_km")
TOGETHER = 3  # bikes whose rides are simulated at once
DAYS, TRIED = 100, 12  # to know the truth, and to find a setting
FASTER = CampaignPlan(speed_confounded=True).pace_ratio(STRONG)
WEAK_RATIO, RATIOS = 0.3, (0.3, 0.45, 0.6, 0.8, 1.0)
POINTS = 2.0
OWN_U = {"recovered_pct": 0.02, "captured_pct": 0.1, "net_wh_per_km": 0.02}  # of a ride: next to nothing


@dataclass(frozen=True)
class Count:
    """How much of a world is counted: bikes from the first one's seed on, and campaigns of each without a difference,
    and as many with one.
    """

    first: int
    bikes: int
    campaigns: int


COUNTS = {
    "usual": Count(13_000, 50, 20),
    "other": Count(13_000, 12, 20),
    "corner": Count(13_000, 6, 20),
    DRAWN: Count(95_000, 90, 6),  # many bikes: seven things are drawn of each
}
AS_RIDDEN, AS_RIDDEN_DAYS = Count(91_000, 40, 40), 160  # of every world, so that 95 % are known to 0.6


@dataclass(frozen=True)
class Told:
    """What a campaign was told of a quantity as ridden or corrected, and the truth.

    ``reach`` : how far from the value chance goes 95 times of 100 with every shared error at its end the worse way ·
    ``freedom`` : degrees of freedom of what is by chance
    """

    quantity: str
    corrected: bool
    points: float
    value: float
    low95: float
    high95: float
    verdict: str
    true: float
    reach: float
    freedom: float


Key = tuple[int, float, float, tuple[int, int, int]]  # bike, ratio of regen, pace, seeds of the day


def campaigns_of(world: World, bikes: Sequence[int], n: int) -> dict[int, list[Told]]:
    """Campaigns of some bikes without and with 2 points between the settings, the second in a hurry.

    Parameters
    ----------
    world : that they are ridden in
    bikes : their seeds
    n : campaigns of each kind and bike; none of a kind that a bike's settings cannot do

    Returns
    -------
    told : by bike, a row a campaign and quantity, as ridden and corrected
    """
    strong = _strong(world, bikes)
    order = [setting for setting, _ in CampaignPlan().order]
    kinds = [(bike, points, ratio) for bike in bikes for points, ratio in ((0.0, WEAK_RATIO), (POINTS, strong[bike]))
             if ratio is not None]  # fmt: skip
    days = [(one, pace, (bike, 1000 + day, 0)) for bike in bikes for one in (WEAK_RATIO, strong[bike] or 1.0)
            for pace in (1.0, FASTER) for day in range(DAYS)]  # fmt: skip
    keys: list[Key] = [(seeds[0], one, pace, seeds) for one, pace, seeds in days]
    for bike, points, ratio in kinds:
        keys += [
            (bike, *ridden, (bike + 1, (int(points) * 1000 + each) * 6 + at // 2, at % 2))
            for each in range(n)
            for at, ridden in enumerate((WEAK_RATIO, 1.0) if one == WEAK else (ratio, FASTER) for one in order)
        ]  # fmt: skip
    rides = _ridden(world, keys)
    known = np.array([figures(ride)[:3] for ride in rides[: len(days)]]).reshape(len(bikes), 4, DAYS, 3).mean(axis=2)
    gc.freeze()  # Holm's correction collects garbage at each call
    told: dict[int, list[Told]] = {bike: [] for bike in bikes}
    left = iter(rides[len(days) :])
    for bike, points, _ in kinds:
        weak, weak_fast, strong_slow, strong_fast = known[list(bikes).index(bike)]
        true = _truth(weak, weak_fast, *((weak, weak_fast) if points == 0 else (strong_slow, strong_fast)))
        for _ in range(n):
            told[bike] += _compared([next(left) for _ in order], order, points, true)
    gc.unfreeze()
    return told


@cache
def _bike(world: World, seed: int) -> FleetBike:
    def try_rides(bike: FleetBike) -> list[QuickRide]:
        made = [_outing(world, bike, (seed, WEAK_RATIO, 1.0, (seed, 1200 + day, 0))) for day in range(TRIED)]
        return ride_all(made, [bike.roads[0].road] * len(made))

    return bike_of(world, seed, try_rides)


def _scenario(world: World, key: Key) -> tuple[Scenario, Way]:
    bike = _bike(world, key[0])
    return _outing(world, bike, key), bike.roads[0]


def _outing(world: World, bike: FleetBike, key: Key) -> Scenario:
    _, ratio, pace, seeds = key
    limit = Condition(regen_ratio=ratio * world.limit)
    about = CampaignPlan().order[0][1] + timedelta(days=seeds[1] % 12)
    if world.road is not None:
        made = bike.outing(about, limit, np.random.default_rng(seeds))
        rider = made.scenario.rider
        faster = replace(rider, cruise_mps=rider.cruise_mps * pace, descent_mps=rider.descent_mps * pace)
        made = replace(made, scenario=replace(made.scenario, rider=faster))
    else:
        made = outing(bike, about, limit, pace, seeds)
    rider = made.scenario.rider
    more = pace**world.legs
    rider = replace(rider, power_w=rider.power_w * more, push_n=rider.push_n * more)
    return replace(made.scenario, rider=rider)


def _ridden(world: World, keys: Sequence[Key]) -> list[QuickRide]:
    made = [_scenario(world, key) for key in keys]
    return ride_all([scenario for scenario, _ in made], [way.road for _, way in made])


def _strong(world: World, bikes: Sequence[int]) -> dict[int, float | None]:
    """The setting that recovers 2 points more than the weak one at one pace; None where none does."""
    days = range(1100, 1100 + TRIED)
    rides = _ridden(world, [(bike, ratio, 1.0, (bike, day, 0)) for bike in bikes for ratio in RATIOS for day in days])
    recovered = np.array([figures(ride)[0] for ride in rides]).reshape(len(bikes), len(RATIOS), TRIED).mean(axis=2)
    more = np.maximum.accumulate(recovered - recovered[:, :1], axis=1)
    return {
        bike: float(np.interp(POINTS, row, RATIOS)) if row[-1] > POINTS else None
        for bike, row in zip(bikes, more, strict=True)
    }


def _truth(weak: Floats, weak_fast: Floats, strong: Floats, strong_fast: Floats) -> dict[tuple[str, bool], float]:
    """What the settings differ by, as ridden and at the speeds of either."""
    alike = ((strong - weak) + (strong_fast - weak_fast)) / 2
    return {
        (name, corrected): float(each[at])
        for corrected, each in ((False, strong_fast - weak), (True, alike))
        for at, name in enumerate(QUANTITIES)
    }


def _compared(
    rides: Sequence[QuickRide], names: Sequence[str], points: float, true: Mapping[tuple[str, bool], float]
) -> Iterator[Told]:
    answers = [_answer(ride) for ride in rides]
    table = pd.DataFrame({
        "group": names,
        "way_speed_mps": [way_speed_mps(np.arange(float(len(ride.speed_mps))), ride.speed_mps) for ride in rides],
        "stop_speed_mps": [braking_speed_mps(answer, "stop") for answer in answers],
        "descent_speed_mps": [braking_speed_mps(answer, "holding") for answer in answers],
    })  # fmt: skip
    values = np.array([figures(ride)[:3] for ride in rides])
    as_ridden = _observed(values, names)
    of_rides: Any = SimpleNamespace(
        rides=[
            SimpleNamespace(key=key, answer=one, bike="one")
            for key, one in zip(as_ridden[0].ride, answers, strict=True)
        ]
    )
    told = restated(of_rides, as_ridden, table, SPEEDS)
    assert told is not None
    kinds: tuple[tuple[bool, Sequence[Observations]], ...] = ((False, as_ridden), (True, told.observations))
    for corrected, these in kinds:
        for one in differences(these, (WEAK, STRONG), NOTHING_TO_SETTLE):
            found = one.told.difference
            assert found is not None
            assert found.low95 is not None
            assert found.high95 is not None
            quantity = one.told.quantity
            yield Told(quantity, corrected, points, found.value, found.low95, found.high95, one.told.verdict,
                       true[quantity, corrected], _reach(one.told), _freedom(one.told))  # fmt: skip


def _reach(told: Difference) -> float:
    """Student's half-width, and the half-widths of what does not cancel laid end to end."""
    assert told.by_chance_u is not None
    return float(stats.t.ppf(0.975, _freedom(told)) * told.by_chance_u + np.sqrt(3) * sum(told.shared.values()))


def _freedom(told: Difference) -> float:
    return np.inf if told.degrees_of_freedom is None else told.degrees_of_freedom


# --- what an answer would hold if nothing were measured wrong ---------------------------------------------------------


def _answer(ride: QuickRide) -> Any:
    """The ledger and the braking events of a ride, from what really happened."""
    n, height = len(ride.distance_m), ride.road.height_m(ride.distance_m)
    entries, events = [], []
    for first, end in mask_runs(ride.braking[:-1] > 0):
        last = min(end + 1, n - 1)
        entry = _entry(ride, "event", first, last)
        assert entry.available_wh is not None
        if entry.available_wh.value <= 0:
            continue
        start_mps, end_mps = float(ride.speed_mps[first]), float(ride.speed_mps[last])
        kind = event_kind(start_mps, end_mps, float(height[first] - height[last]))
        entries.append(entry)
        events.append(SimpleNamespace(start_s=float(first), kind=kind, start_speed_mps=start_mps))
    hills = []
    for hill in ride.road.hills():
        first, last = np.searchsorted(ride.distance_m, [hill.start_m, hill.end_m])
        if hill.height_m >= 5 and last < n:
            hills.append(_entry(ride, "hill", int(first), int(last)))
    whole = replace(
        _entry(ride, "ride", 0, n - 1), to_wheel_wh=Quantity(ride.totals["rider_wh"] + ride.totals["motor_drive_wh"])
    )  # fmt: skip
    ledger = SimpleNamespace(ride=whole, hills=hills, events=entries)
    return SimpleNamespace(ledger=ledger, braking=SimpleNamespace(events=events))


def _entry(ride: QuickRide, kind: Any, first: int, last: int) -> LedgerEntry:
    """What is in the ledger of the seconds from the one to the other."""
    machine, here = ride.scenario.machine, slice(first, last + 1)
    distance, speed = ride.distance_m[here], ride.speed_mps[here]
    way, middle = np.diff(distance), (speed[1:] + speed[:-1]) / 2
    sine = ride.road.sine((distance[1:] + distance[:-1]) / 2)
    height = ride.road.height_m(distance)
    told: dict[str, float] = {
        "kinetic": machine.effective_mass_kg * (speed[-1] ** 2 - speed[0] ** 2) / 2 / 3600,
        "potential": machine.mass_kg * GRAVITY_MPS2 * (height[-1] - height[0]) / 3600,
        "air": float(machine.air_n(middle) @ way) / 3600,
        "rolling": float((machine.rolling_n(sine) + machine.motor_drag_n) @ way) / 3600,
        "drawn": ride.drawn_wh[last] - ride.drawn_wh[first],
        "returned": ride.returned_wh[last] - ride.returned_wh[first],
        "available": ride.available_wh[last] - ride.available_wh[first],
    }
    told["caught"] = told["returned"]
    told["to_wheel"] = sum(told[name] for name in ("kinetic", "potential", "air", "rolling", "available"))
    names = [name for name in LedgerEntry.__dataclass_fields__ if name.endswith("_wh") and name != "closing_wh"]
    values = {name: told.get(name.removesuffix("_wh")) for name in names}
    quantities: dict[str, Any] = {
        name: None if value is None else Quantity(float(value)) for name, value in values.items()
    }
    return LedgerEntry(kind, kind, float(first), float(last), **quantities, closing_wh=None)


# --- counted ----------------------------------------------------------------------------------------------------------


def counted_in_hurry(worlds: Mapping[str, Count]) -> Iterator[dict[str, Any]]:
    """Campaigns of worlds, bikes a few at a time.

    Parameters
    ----------
    worlds : how much of each

    Yields
    ------
    rows : one a quantity of a campaign: ``world``, ``bike`` and the fields of `Told`
    """
    for name, count in worlds.items():
        together, end = 1 if name == DRAWN else TOGETHER, count.first + count.bikes
        for at in range(count.first, end, together):
            some = range(at, min(at + together, end))
            for bike, told in campaigns_of(world_of(name, at), some, count.campaigns).items():
                yield from ({"world": name, "bike": bike, **vars(one)} for one in told)


def counted_as_ridden(worlds: Iterable[str], count: Count = AS_RIDDEN) -> Iterator[dict[str, Any]]:
    """Campaigns as ridden whose settings do nothing: what is told of them is the hurry alone.

    Parameters
    ----------
    worlds : by name
    count : how much of each

    Yields
    ------
    rows : one a quantity of a campaign: ``world``, ``bike``, ``quantity``, ``low95``, ``high95``, ``true``
    """
    order = [setting for setting, _ in CampaignPlan().order]
    for name in worlds:
        for bike in range(count.first, count.first + count.bikes):
            keys: list[Key] = [
                (bike, WEAK_RATIO, pace, (bike, 1000 + day, 0))
                for pace in (1.0, FASTER)
                for day in range(AS_RIDDEN_DAYS)
            ]
            keys += [
                (bike, WEAK_RATIO, 1.0 if one == WEAK else FASTER, (bike + 1, each * 6 + at // 2, at % 2))
                for each in range(count.campaigns)
                for at, one in enumerate(order)
            ]
            values = np.array([figures(ride)[:3] for ride in _ridden(world_of(name, bike), keys)])
            slow, fast = values[: 2 * AS_RIDDEN_DAYS].reshape(2, AS_RIDDEN_DAYS, 3).mean(axis=1)
            for rides in values[2 * AS_RIDDEN_DAYS :].reshape(count.campaigns, len(order), 3):
                for found in differences(_observed(rides, order), (WEAK, STRONG), NOTHING_TO_SETTLE):
                    inside, quantity = found.told.difference, found.told.quantity
                    assert inside is not None
                    true = float((fast - slow)[QUANTITIES.index(quantity)])
                    yield {"world": name, "bike": bike, "quantity": quantity, "low95": inside.low95,
                           "high95": inside.high95, "true": true}  # fmt: skip


def _observed(values: Floats, names: Sequence[str]) -> list[Observations]:
    """The quantities of rides, with next to nothing measured wrong."""
    return [
        observed(values[:, at], names, quantity=name, own_u=np.full(len(names), OWN_U[name]))
        for at, name in enumerate(QUANTITIES)
    ]


def main(arguments: Sequence[str] | None = None) -> None:
    """Count, a line a quantity of a campaign."""
    parser = argparse.ArgumentParser(description="Simulated campaigns in a hurry, beside their truth.")
    parser.add_argument("file", type=Path)
    parser.add_argument("--world", choices=WORDS, default="usual")
    parser.add_argument("--bikes", type=int, default=TOGETHER)
    parser.add_argument("--first", type=int, help="seed of the first bike")
    parser.add_argument("--campaigns", type=int, help="of each bike and kind")
    parser.add_argument("--as-ridden", action="store_true", help="as ridden alone, and no difference of the settings")
    asked = parser.parse_args(arguments)
    usual = AS_RIDDEN if asked.as_ridden else COUNTS[asked.world]
    count = Count(asked.first or usual.first, asked.bikes, asked.campaigns or usual.campaigns)
    told = counted_as_ridden([asked.world], count) if asked.as_ridden else counted_in_hurry({asked.world: count})
    with asked.file.open("a", encoding="utf-8") as out:
        for row in told:
            print(json.dumps(row), file=out, flush=True)


if __name__ == "__main__":
    main()
