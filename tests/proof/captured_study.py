"""Available and captured against the truth, in worlds as ridelog assumes them and in worlds that are not.

In each world the rides are by chance; what differs is what the owner knows of his bike, and what air and heights do:

- ``steady``: mass, CdA and Crr within what he states; a wind of up to 1 m/s, always along the way, unknown to him
- ``weather``: the same, in a wind of up to 4 m/s from one side, with gusts and turns, partly in the shelter of others
- ``mass``: only the mass is in the bike file, in that weather
- ``bare``: nothing is; masses from 85 to 135 kg, within what is then assumed of a bike
- ``heights``: as ``steady``, but with heights by satellites, which err by 1.5 to 4 m and wander for one to ten minutes
"""

from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from ridelog.analysis.measure import measure
from ridelog.answer.braking import Braking, BrakingEvent
from ridelog.answer.hills import Hill
from ridelog.answer.ride import Answer
from ridelog.settings.bike import Bike, MotorSection
from ridelog.timeline.ride import join_recordings
from ridelog.uncertain.quantity import Quantity
from sample_rides.scenarios import random_scenario
from sample_rides.simulation import Scenario
from sample_rides.weather import Weather
from tests.proof.bench import Case, Log, TrueRide
from tests.proof.stated_rides import (
    TrueLedger,
    logged,
    offered_wh,
    stated_mass,
    stated_road,
    true_ledger,
    wide_span,
)
from tests.proof.study import Plan, Result, Row
from tests.proof.walk import impossible

World = Literal["steady", "weather", "mass", "bare", "heights"]
WORLDS: tuple[World, ...] = ("steady", "weather", "mass", "bare", "heights")
IMPOSSIBLE = "impossible"  # how the names of rows begin that tell it
LEAST_WH = 0.01  # of a share of less nothing can be said


@dataclass(frozen=True)
class Told:
    """A ride as it was told and as it was, ready for any question."""

    answer: Answer
    true: TrueLedger
    log: Log
    step_s: float


def scenario_of(seed: int, world: World, *, short: bool) -> Scenario:
    """The ride of a seed in a world."""
    rng = np.random.default_rng([seed, 1])
    hills, back = (1, False) if short else (None, None)
    scenario = random_scenario(rng, n_hills=hills, there_and_back=back)
    more = np.random.default_rng([seed, 8])
    machine = scenario.machine
    if world == "bare":
        machine = replace(machine, mass_kg=float(more.uniform(85, 135)))
    if world not in ("weather", "mass"):
        return replace(scenario, machine=machine)
    weather = Weather(
        mean_mps=float(more.uniform(0, 4)),
        from_deg=float(more.uniform(0, 360)),
        gust_ratio=float(more.uniform(0.15, 0.45)),
        gust_s=float(more.uniform(4, 25)),
        turn_deg=float(more.uniform(5, 35)),
        sheltered_share=float(more.choice([0.0, 0.0, 0.15, 0.35])),
        shelter_ratio=float(more.uniform(0.6, 0.85)),
        seed=int(more.integers(2**31)),
    )
    return replace(scenario, machine=replace(machine, wind_mps=0.0), weather=weather)


def bike_of(ride: TrueRide, case: Case, world: World, rng: np.random.Generator) -> Bike:
    """The bike file: off within what it states, or as good as empty."""
    machine, off = ride.sim.scenario.machine, rng.uniform(-1, 1, 3)
    sensor, motor = case.bike(ride).sensor, MotorSection(kind="direct-drive")
    if world == "bare":
        return Bike(motor=motor, sensor=sensor)
    bike = stated_mass(machine, off[0])
    if world == "mass":
        return Bike(bike=bike, motor=motor, sensor=sensor)
    return Bike(bike=bike, motor=motor, sensor=sensor, road=stated_road(machine, off[1], off[2]))


def told_ride(seed: int, world: World, *, short: bool = False) -> Told:
    """One ride with one logger, one track and one bike file by chance, measured."""
    ride = TrueRide(seed, scenario=scenario_of(seed, world, short=short))
    rng = np.random.default_rng([seed, 9])
    one = logged(ride, rng, rough=world == "heights")
    answer = measure(join_recordings([one.electrical, one.track], bike_of(ride, one.case, world, rng)))
    return Told(answer, true_ledger(ride.sim), one.log, one.case.step_s)


def measure_captured(seed: int, plan: Plan, *, world: World = "steady") -> Result:
    """What was available and captured on one ride, its hills and its events, as rows, and what of it cannot be."""
    return captured_rows(seed, world, told_ride(seed, world, short=plan.short_rides))


def captured_rows(seed: int, world: World, told: Told) -> Result:
    """The same of a ride that is measured already."""
    result = Result([Row(seed, f"{IMPOSSIBLE}: {line}", None, None, None, np.nan) for line in impossible(told.answer)])
    frame_s = told.log.frame["time_s"].to_numpy()
    events = told.answer.braking.events
    spans = [wide_span((one.start_s, one.end_s), frame_s, told.step_s) for one in events]

    def row(name: str, said: Quantity | None, truth: float) -> None:
        low, high = (said.low95, said.high95) if said is not None else (None, None)
        value = said.value if said is not None else None
        result.rows.append(Row(seed, f"{world} {name}", value, low, high, truth))

    def rows(name: str, one: Braking | BrakingEvent | Hill, offered: float, returned: float) -> None:
        if offered > LEAST_WH:
            row(f"{name} available", one.available_wh, offered)
            row(f"{name} captured", one.captured_pct, 100 * returned / offered)

    each = [_offered(told, span) for span in spans]
    for one, (offered, returned) in zip(events, each, strict=True):
        rows("event", one, offered, returned)
    if each:
        rows("ride", told.answer.braking, *np.sum(each, axis=0).tolist())
    for hill in told.answer.hills:
        if hill.direction == "down":
            inside = [(max(a, hill.start_s), min(b, hill.end_s)) for a, b in spans]
            offered = sum(_offered(told, span)[0] for span in inside if span[1] > span[0])
            rows("hill", hill, offered, _offered(told, (hill.start_s, hill.end_s))[1])
    return result


def _offered(told: Told, span: tuple[float, float]) -> tuple[float, float]:
    """What was available and what came back between two seconds of the log [Wh]."""
    true = told.true.between(told.log.first_s + span[0], told.log.first_s + span[1])
    return offered_wh(true), true["returned_wh"]
