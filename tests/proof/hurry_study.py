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
from collections.abc import Iterator, Mapping, Sequence
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
from sample_rides.campaign.rides import campaign_bikes, figures, outing
from sample_rides.fleet.bikes import FleetBike
from sample_rides.fleet.faults import Condition
from sample_rides.fleet.lockstep import QuickRide, ride_all
from sample_rides.fleet.roads import Way, ways
from sample_rides.machine import GRAVITY_MPS2
from sample_rides.simulation import Scenario
from tests.compare.campaigns import Floats, observed
from tests.proof.compare_study import NOTHING_TO_SETTLE

QUANTITIES = ("recovered_pct", "captured_pct", "net_wh_per_km")
FIRST_BIKE, CAMPAIGNS = 13_000, 20
TOGETHER = 3  # bikes whose rides are simulated at once
DAYS, TRIED = 40, 12  # to know the truth, and to find a setting
FASTER = CampaignPlan(speed_confounded=True).pace_ratio(STRONG)
WEAK_RATIO, RATIOS = 0.3, (0.3, 0.45, 0.6, 0.8, 1.0)
POINTS = 2.0
OWN_U = {"recovered_pct": 0.02, "captured_pct": 0.1, "net_wh_per_km": 0.02}  # of a ride: next to nothing


@dataclass(frozen=True)
class World:
    """A world of rides.

    ``legs`` : power of legs goes with the pace to this; about 1.7 keeps their share of the work · ``limit`` : of torque
    and current that come back, over the usual one · ``road`` : another road than that of the campaigns, by its number
    """

    legs: float = 0.0
    limit: float = 1.0
    road: int | None = None


WORLDS = {
    "usual": World(),
    "other": World(legs=0.8, road=2),
    "corner": World(legs=1.7, limit=6.0, road=7),
}
DRAWN, SEED = "drawn", 7  # each bike has a world of its own, between the ends of what the correction does not know
ROADS = (None, WORLDS["other"].road, WORLDS["corner"].road)
WORDS = {
    "usual": "the road of the sample campaign; legs keep their power, and a controller limits what returns",
    "other": "another road, with stops of its own; legs do half of their share of what is more",
    "corner": "a third road; legs do all of their share, and hardly a limit of what returns: the far end of both",
    DRAWN: "these roads by turns; legs of each bike do from nothing to all of their share, and its limit is one to six "
    "times the usual one, drawn between them: what the correction says may be",
}
BIKES_OF = {"usual": 50, "other": 12, "corner": 6, DRAWN: 24}


@dataclass(frozen=True)
class Told:
    """What a campaign was told of a quantity as ridden or corrected, and the truth.

    ``reach`` : how far from the value chance goes 95 times of 100 with every shared error at its end the worse way
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


Key = tuple[int, float, float, tuple[int, int, int]]  # bike, ratio of regen, pace, seeds of the day


def world_of(name: str, bike: int) -> World:
    """The world of a bike; its own where it is drawn.

    Parameters
    ----------
    name : of the world
    bike : its seed

    Returns
    -------
    Legs drawn alike from 0 to 1.7, the limit from 1 to 6 by its logarithm.
    """
    if name != DRAWN:
        return WORLDS[name]
    rng, far = np.random.default_rng((bike, SEED)), WORLDS["corner"]
    legs = float(rng.uniform(0, far.legs))
    return World(legs, float(np.exp(rng.uniform(0, np.log(far.limit)))), ROADS[bike % len(ROADS)])


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
def _bike(seed: int) -> FleetBike:
    return campaign_bikes(seed)[0]


def _scenario(world: World, key: Key) -> tuple[Scenario, Way]:
    bike_seed, ratio, pace, seeds = key
    bike = _bike(bike_seed)
    if world.road is not None:
        bike = replace(bike, roads=(ways()[world.road],))
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
    return replace(made.scenario, rider=rider), bike.roads[0]


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
    as_ridden = [
        observed(values[:, at], names, quantity=name, own_u=np.full(len(names), OWN_U[name]))
        for at, name in enumerate(QUANTITIES)
    ]
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
                       true[quantity, corrected], _reach(one.told))  # fmt: skip


def _reach(told: Difference) -> float:
    """Student's half-width, and the half-widths of what does not cancel laid end to end."""
    assert told.by_chance_u is not None
    freedom = np.inf if told.degrees_of_freedom is None else told.degrees_of_freedom
    return float(stats.t.ppf(0.975, freedom) * told.by_chance_u + np.sqrt(3) * sum(told.shared.values()))


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


def counted_in_hurry(
    worlds: Mapping[str, int], first: int = FIRST_BIKE, campaigns: int = CAMPAIGNS
) -> Iterator[dict[str, Any]]:
    """Campaigns of worlds, bikes a few at a time.

    Parameters
    ----------
    worlds : bikes of each
    first : seed of the first bike
    campaigns : of each bike without a difference, and as many with one

    Yields
    ------
    rows : one a quantity of a campaign: ``world``, ``bike`` and the fields of `Told`
    """
    for name, bikes in worlds.items():
        together = 1 if name == DRAWN else TOGETHER
        for at in range(first, first + bikes, together):
            some = range(at, min(at + together, first + bikes))
            for bike, told in campaigns_of(world_of(name, at), some, campaigns).items():
                yield from ({"world": name, "bike": bike, **vars(one)} for one in told)


@dataclass(frozen=True)
class Hurried:
    """Shares of campaigns [%]: intervals as ridden and corrected that hold the truth, those corrected that would with
    each error at its end, verdicts where the setting does nothing, and those of 2 points; in how many of each kind.
    """

    held: float
    held_corrected: float
    reached_corrected: float
    false: float
    false_corrected: float
    told_corrected: float
    wrong_corrected: float
    n: tuple[int, int]


def hurried(rows: pd.DataFrame) -> dict[tuple[str, str], Hurried]:
    """The shares by world and quantity."""
    told = {}
    for (world, quantity), some in rows.groupby(["world", "quantity"], sort=False):
        held = (some["low95"] <= some["true"]) & (some["true"] <= some["high95"])
        corrected, nothing = some["corrected"].astype(bool), some["points"] == 0
        is_told = some["verdict"] != "not-told"
        reached = (some["value"] - some["true"]).abs() <= some["reach"]
        way = some["verdict"].map({"first-higher": -1, "second-higher": 1, "not-told": 0})
        wrong = (way != 0) & (way * np.sign(some["true"]) < 0)

        def share(mask: pd.Series, of: pd.Series) -> float:
            return 100 * float(mask[of].mean())

        told[str(world), str(quantity)] = Hurried(
            share(held, ~corrected), share(held, corrected), share(reached, corrected),
            share(is_told, ~corrected & nothing), share(is_told, corrected & nothing),
            share(is_told & ~wrong, corrected & ~nothing), share(wrong, corrected & ~nothing),
            (int((corrected & nothing).sum()), int((corrected & ~nothing).sum())),
        )  # fmt: skip
    return told


def hurry_table(rows: Mapping[tuple[str, str], Hurried]) -> list[str]:
    """What was counted, as lines of a document."""
    counts = ", ".join(
        f"{row.n[0]:,} and {row.n[1]:,} ({world})"
        for (world, quantity), row in rows.items() if quantity == QUANTITIES[0]
    )  # fmt: skip
    told = [
        "## In a hurry",
        "",
        f"Simulated campaigns without and with 2 points between the settings: {counts};",
        f"{100 * (FASTER - 1):.0f} % faster under the second setting, {CAMPAIGNS} of a bike and kind. *Held* are",
        "intervals that hold the difference: as ridden, that of settings and speed together; corrected, that of the",
        "settings at one speed, by what no log tells as a rectangle between two ends: 95 % are what they hold over all",
        "that may be, which is the *drawn* world, and not at one place of it. *Reached* is the difference where chance",
        "gets to from there with each of these errors at its end the worse way, which ends have to allow in any world.",
        "*Different* are verdicts where the settings do nothing: as ridden they are right about",
        "the rides, and would be wrong about the settings. All bikes, days and seeds are held out; the worlds are not:",
        "earlier models were counted in them ([how](campaigns.md)).",
        "",
        *(f"- *{name}*: {words}" for name, words in WORDS.items()),
        "",
        "| world | quantity | held as ridden % | held corrected % | reached corrected % | different as ridden % "
        "| different corrected % | 2 points told, corrected % | wrong sign % |",
        "| --- | --- | --- | --- | --- | --- | --- | --- | --- |",
        *(
            f"| {world} | {quantity} | {row.held:.1f} | {row.held_corrected:.1f} | {row.reached_corrected:.1f} "
            f"| {row.false:.1f} | {row.false_corrected:.1f} | {row.told_corrected:.1f} | {row.wrong_corrected:.1f} |"
            for (world, quantity), row in rows.items()
        ),
        "",
    ]
    return [line.replace(" nan ", " – ") for line in told]


def main(arguments: Sequence[str] | None = None) -> None:
    """Count, a line a quantity of a campaign."""
    parser = argparse.ArgumentParser(description="Simulated campaigns in a hurry, beside their truth.")
    parser.add_argument("file", type=Path)
    parser.add_argument("--world", choices=WORDS, default="usual")
    parser.add_argument("--bikes", type=int, default=TOGETHER)
    parser.add_argument("--first", type=int, default=FIRST_BIKE)
    parser.add_argument("--campaigns", type=int, default=CAMPAIGNS)
    asked = parser.parse_args(arguments)
    with asked.file.open("a", encoding="utf-8") as out:
        for row in counted_in_hurry({asked.world: asked.bikes}, asked.first, asked.campaigns):
            print(json.dumps(row), file=out, flush=True)


if __name__ == "__main__":
    main()
