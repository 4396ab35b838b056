"""The rides of a campaign: the bike, how strong its regen is under each setting, and every ride as it went."""

import itertools
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from functools import cache

import numpy as np

from sample_rides import quillmoor
from sample_rides.campaign.plan import OFF, STRONG, WEAK, CampaignPlan
from sample_rides.fleet.bikes import FleetBike, Outing, drawn_bike
from sample_rides.fleet.faults import Condition
from sample_rides.fleet.lockstep import QuickRide, ride_all
from sample_rides.fleet.roads import Way, way
from sample_rides.fleet.truth import hills_truth
from sample_rides.machine import Machine
from sample_rides.route import Floats, Stop

QUANTITIES = ("recovered_pct", "captured_pct", "net_wh_per_km", "hill_captured_pct")  # the last: mean of descents
_REGEN_NM, _REGEN_LIMIT_A, _WEAK_RATIO = 30.0, 9.0, 0.3
_STRONGER = np.linspace(_WEAK_RATIO, 1.0, 8)
_DAYS_TRIED, _DAYS_KNOWN = 20, 80  # to find a setting, and to know the differences


@dataclass(frozen=True)
class Ridden:
    """One ride as it went, under which setting and on which bike."""

    setting: str
    bike: FleetBike
    outing: Outing
    condition: Condition
    ride: QuickRide


@dataclass(frozen=True)
class Known:
    """What is known of a bike's settings.

    Attributes
    ----------
    regen_ratios : torque and current of regen under each setting against those of the motor [1]
    differences : a row a quantity and pair of settings: ``difference`` as it is ridden, ``at_equal_speed`` where both
        are ridden at the speeds of either, and ``standard_error`` of both, for they are means over days by chance
    """

    regen_ratios: Mapping[str, float]
    differences: tuple[Mapping[str, str | float], ...]


@cache
def the_way() -> Way:
    """From the harbour over Chandler's Brae and Long Hill to the Ridge, and home again."""
    school = quillmoor.commute().route
    ridge = replace(school, stretches=school.stretches[:10], stops=(), bends=())
    return way("to the Ridge and home", ridge.there_and_back(), seed=11)


def campaign_bikes(seed: int) -> tuple[FleetBike, FleetBike]:
    """The bike with its logger, and the same bike with another logger."""
    rng = np.random.default_rng([seed, 0])
    drawn = drawn_bike(0, rng)
    bike = replace(
        drawn,
        name="Kittiwake",
        motor=replace(drawn.motor, regen_nm=_REGEN_NM, regen_limit_a=_REGEN_LIMIT_A),
        roads=(the_way(),),
        with_air_temperature=True,
    )
    return bike, replace(bike, errors=drawn_bike(0, rng).errors, logs="merged")


def outing(
    bike: FleetBike, about: datetime, condition: Condition, pace_ratio: float, seeds: tuple[int, int, int]
) -> Outing:
    """One ride before it is ridden; ``seeds`` of campaign, day and ride.

    Rides of one day share the wind; each has its own lights, bag, charge and legs.
    """
    rng = np.random.default_rng(seeds)
    day_mps = float(np.random.default_rng(seeds[:2]).uniform(-0.5, 0.5))
    one = bike.outing(about + timedelta(seconds=int(rng.integers(0, 3600))), condition, rng)
    scenario, turn_m = one.scenario, the_way().road.route.length_m / 2
    turn = Stop(turn_m, float(round(rng.uniform(20, 60))), 1.1)
    machine: Machine = replace(
        scenario.machine,
        mass_kg=scenario.machine.mass_kg + float(rng.uniform(-1.0, 1.0)),
        wind_mps=day_mps + float(rng.uniform(-0.2, 0.2)),
    )
    rider = scenario.rider
    return replace(
        one,
        scenario=replace(
            scenario,
            route=replace(scenario.route, stops=(*scenario.route.stops, turn)),
            machine=machine,
            rider=replace(rider, cruise_mps=rider.cruise_mps * pace_ratio, descent_mps=rider.descent_mps * pace_ratio),
            lead_s=float(rng.integers(20, 40)),
        ),
    )


def loggers(plan: CampaignPlan, seed: int) -> tuple[FleetBike, FleetBike]:
    """The bike of a campaign with the one logger and with the other."""
    drawn = campaign_bikes(seed)
    if plan.bike is None:
        return drawn
    bike, other = campaign_bikes(plan.bike)  # the same bike, but loggers of the campaign's own
    return replace(bike, errors=drawn[0].errors), replace(other, errors=drawn[1].errors)


def ridden(plan: CampaignPlan, seed: int, known: Known) -> list[Ridden]:
    """All rides of a campaign, in the order of its plan."""
    return ridden_together(plan, [seed], known)[0]


def ridden_together(plan: CampaignPlan, seeds: Sequence[int], known: Known) -> list[list[Ridden]]:
    """The rides of several campaigns of one plan, simulated at once, which takes little longer than one campaign.

    Parameters
    ----------
    plan : of all of them
    seeds : one a campaign
    known : of the plan's bike

    Returns
    -------
    rides : of each campaign, in the order of its plan
    """
    plans = [_planned(plan, seed, known) for seed in seeds]
    together = [one for planned in plans for one in planned]
    rides = iter(ride_all([outing.scenario for _, _, outing, _ in together], [the_way().road] * len(together)))
    return [[Ridden(*one, next(rides)) for one in planned] for planned in plans]


def _planned(plan: CampaignPlan, seed: int, known: Known) -> list[tuple[str, FleetBike, Outing, Condition]]:
    """Each ride before it is ridden."""
    bike, other = loggers(plan, seed)
    plans = []
    for number, (setting, about) in enumerate(plan.order):
        condition = Condition(regen_ratio=known.regen_ratios[setting])
        on = other if plan.two_loggers and setting == WEAK else bike
        seeds = (seed, *divmod(number, len(plan.settings)))
        plans.append((setting, on, outing(bike, about, condition, plan.pace_ratio(setting), seeds), condition))
    return plans


def figures(ride: QuickRide) -> tuple[float, float, float, float]:
    """The `QUANTITIES` of one ride as it really went; of hills, those on which braking had something available.

    NaN of hills where it had on none: a bike with much drag is held back by air and tyres alone on a mild descent.
    """
    drawn_wh, returned_wh, available_wh = (ride.totals[name] for name in ("drawn_wh", "returned_wh", "available_wh"))
    net_wh_per_km = float((drawn_wh - returned_wh) / ride.distance_m[-1] * 1000)
    down = [hill for hill in hills_truth(ride) if hill["direction"] == "down"]
    shares_pct = [100 * hill["returned_wh"] / hill["available_wh"] for hill in down if hill["available_wh"] > 0]
    on_hills_pct = float(np.mean(shares_pct)) if shares_pct else math.nan
    return 100 * returned_wh / drawn_wh, 100 * returned_wh / available_wh, net_wh_per_km, on_hills_pct


@cache
def known_settings(seed: int, difference_pct: float, *, speed_confounded: bool, with_off: bool) -> Known:
    """Find how strong strong regen has to be, then what the settings differ by, on days that are not the campaign's.

    Parameters
    ----------
    seed : of the bike
    difference_pct : as in `CampaignPlan`, and so are the others
    speed_confounded, with_off : of the plan

    Raises
    ------
    ValueError : this bike's settings cannot differ by so much
    """
    plan = CampaignPlan(difference_pct, with_off=with_off, speed_confounded=speed_confounded)
    bike, _ = campaign_bikes(seed)
    reached = _reached(seed)
    if not 0 <= difference_pct <= reached.max():
        raise ValueError(f"on this bike the settings can differ by 0 to {reached.max():.1f} points")
    rising = slice(0, int(np.argmax(reached)) + 1)
    strong = float(np.interp(difference_pct, reached[rising], _STRONGER[rising]))
    ratios = {OFF: 0.0, WEAK: _WEAK_RATIO, STRONG: strong}
    paces = sorted({plan.pace_ratio(setting) for setting in plan.settings})
    keys = [(setting, pace) for setting in plan.settings for pace in paces]
    table = _on_days(bike, [(ratios[setting], pace) for setting, pace in keys], seed + 1, _DAYS_KNOWN)
    by = dict(zip(keys, table, strict=True))
    rows = [
        row
        for first, second in itertools.combinations(plan.settings, 2)
        for row in _differences(plan, first, second, by)
    ]
    return Known({name: ratios[name] for name in plan.settings}, tuple(rows))


@cache
def _reached(seed: int) -> Floats:
    """By how much the recovered share of each of the stronger settings lies above that of weak regen, in points."""
    bike, _ = campaign_bikes(seed)
    tried = _on_days(bike, [(float(ratio), 1.0) for ratio in _STRONGER], seed, _DAYS_TRIED)[:, :, 0].mean(axis=1)
    reached: Floats = tried - tried[0]
    return reached


def _on_days(bike: FleetBike, ratios_and_paces: Sequence[tuple[float, float]], seed: int, n_days: int) -> Floats:
    """The `QUANTITIES` of each setting and pace on the same days, shape (settings, days, quantities)."""
    about = CampaignPlan().order[0][1]
    scenarios = [
        outing(
            bike, about + timedelta(days=day % 12), Condition(regen_ratio=ratio), pace, (seed, 1000 + day, 0)
        ).scenario
        for ratio, pace in ratios_and_paces
        for day in range(n_days)
    ]
    rides = ride_all(scenarios, [the_way().road] * len(scenarios))
    table: Floats = np.array([figures(ride) for ride in rides])
    return table.reshape(len(ratios_and_paces), n_days, len(QUANTITIES))


def _differences(
    plan: CampaignPlan, first: str, second: str, by: Mapping[tuple[str, float], Floats]
) -> list[dict[str, str | float]]:
    """What two settings differ by, a row a quantity; none where a day did not tell it."""
    paces = (plan.pace_ratio(first), plan.pace_ratio(second))
    as_ridden = by[second, paces[1]] - by[first, paces[0]]
    alike = np.mean([by[second, pace] - by[first, pace] for pace in paces], axis=0)
    return [
        {
            "quantity": quantity,
            "first": first,
            "second": second,
            "difference": float(as_ridden[:, at].mean()),
            "at_equal_speed": float(alike[:, at].mean()),
            "standard_error": float(as_ridden[:, at].std(ddof=1) / math.sqrt(len(as_ridden))),
        }
        for at, quantity in enumerate(QUANTITIES)
        if np.isfinite(as_ridden[:, at]).all() and np.isfinite(alike[:, at]).all()
    ]
