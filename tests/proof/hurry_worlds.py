"""Worlds that hurried campaigns are ridden in: roads, legs, limits and losses, fixed or drawn for each bike.

What no log tells of a ride at another speed lies between ends (`ridelog.compare.road_load.ENDS`). A world of all that
may be draws each of them, by what the simulation does and not by what the correction makes of it: what legs do of the
work that is more; torque and current of regen each by itself, so that on descents the motor holds back alone, or
friction helps one that brakes as hard as before or one at its limit of current; how the force that holds back is spread
along descents, from as much all along to an exponential distribution, and where on them the steepest parts are; how
much of what the battery gives the drive loses, and how much of that in proportion to its work.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import cache

import numpy as np
from scipy import stats

from ridelog.compare.road_load import LEAST_EFFICIENCY, MOST_EFFICIENCY
from sample_rides.campaign.rides import campaign_bikes
from sample_rides.fleet.bikes import FleetBike
from sample_rides.fleet.lockstep import QuickRide
from sample_rides.fleet.roads import Way, ways
from sample_rides.machine import GRAVITY_MPS2
from sample_rides.route import Road, Stretch

DRAWN, SEED = "drawn", 11  # of each bike, whose own seed comes first
DOWN_PCT, PIECE_M = 2.0, 50.0  # a descent is steeper than this all along; its grade changes after about so much
LEAST_BRAKED_PCT = 0.5  # steeper than where air and tyres hold the bike by less than this: left as it is
LEAST_OHM, PASSES = 0.005, 2  # of a winding; and how often it is set by what rides lost, which it changes
STANDBY_V = 45.0  # of a pack, to take what stands by from what it gave


@dataclass(frozen=True)
class World:
    """A world of rides.

    ``legs`` : power of legs goes with the pace to this; about 1.7 keeps their share of the work · ``limit`` : of the
    current that comes back, over the usual one · ``torque`` : of the torque, likewise; ``None`` for as much ·
    ``road`` : another road than that of the campaigns, by its number · ``even`` : 1 less the square of the relative
    spread of the force that holds back along descents; ``None`` for descents as they are · ``order`` : of the parts of
    a descent: 0 by chance, 1 steepest last, -1 steepest first · ``efficient`` : of the drive over a ride, from battery
    to wheel · ``with_work`` : share of what it loses that goes with its work; ``None`` of both for the motor as it is
    """

    legs: float = 0.0
    limit: float = 1.0
    torque: float | None = None
    road: int | None = None
    even: float | None = None
    order: int = 0
    efficient: float | None = None
    with_work: float | None = None


WORLDS = {
    "usual": World(),
    "other": World(legs=0.8, road=2),
    "corner": World(legs=1.7, limit=6.0, road=7),
}
ROADS = (None, WORLDS["other"].road, WORLDS["corner"].road)
WORDS = {
    "usual": "the road of the sample campaign; legs keep their power, and a controller limits what returns",
    "other": "another road, with stops of its own; legs do half of their share of what is more",
    "corner": "a third road; legs do all of their share, and hardly a limit of what returns: the far end of both",
    DRAWN: "these roads by turns, and each bike with all seven of its own, drawn alike between the ends that the "
    "correction says may be: what legs do, torque and current of regen (one to six times the usual, each by itself, so "
    "that friction helps or not, at a limit or not), how the force is spread along descents and where their steepest "
    "parts are (so what lies beside the braking), the drive's efficiency, and how much of its loss goes with its work",
}


def world_of(name: str, bike: int) -> World:
    """The world of a bike; its own where it is drawn.

    Parameters
    ----------
    name : of the world
    bike : its seed

    Returns
    -------
    world : its legs drawn alike from 0 to 1.7, limits from 1 to 6 by their logarithms, all else alike between its ends
    """
    if name != DRAWN:
        return WORLDS[name]
    rng, far = np.random.default_rng((bike, SEED)), WORLDS["corner"]
    current, torque = np.exp(rng.uniform(0, np.log(far.limit), 2)).tolist()
    return World(
        legs=float(rng.uniform(0, far.legs)), limit=current, torque=torque, road=ROADS[bike % len(ROADS)],
        even=float(rng.uniform(0, 1)), order=int(rng.integers(-1, 2)),
        efficient=float(rng.uniform(LEAST_EFFICIENCY, MOST_EFFICIENCY)), with_work=float(rng.uniform(0, 1)),
    )  # fmt: skip


def bike_of(world: World, seed: int, try_rides: Callable[[FleetBike], Sequence[QuickRide]]) -> FleetBike:
    """The bike of a campaign in a world, on the road that it rides there.

    Parameters
    ----------
    world : that it is ridden in
    seed : of the bike
    try_rides : rides a bike a few times, to know what its drive loses

    Returns
    -------
    bike : its torque of regen is that of the world over the world's limit, by which settings multiply both
    """
    bike = _with_road(world, seed)
    if world.torque is not None:
        bike = replace(bike, motor=replace(bike.motor, regen_nm=bike.motor.regen_nm * world.torque / world.limit))
    if world.efficient is not None and world.with_work is not None:
        for _ in range(PASSES):
            bike = _losing(bike, try_rides(bike), world.efficient, world.with_work)
    return bike


def _losing(bike: FleetBike, rides: Sequence[QuickRide], efficient: float, with_work: float) -> FleetBike:
    """The bike with the losses of a drive, by what it lost on some rides."""
    motor = bike.motor
    drive_wh, drawn_wh = (sum(ride.totals[name] for ride in rides) for name in ("motor_drive_wh", "drawn_wh"))
    standby_wh = sum(ride.duration_s for ride in rides) * bike.pack.standby_a * STANDBY_V / 3600
    winding_wh = (drawn_wh - standby_wh) * motor.controller_ratio - drive_wh
    through = 1 - with_work * (1 - efficient)
    wanted_wh = (drive_wh / efficient - standby_wh) * through - drive_wh
    ohm = max(motor.resistance_ohm * wanted_wh / winding_wh, LEAST_OHM)
    return replace(bike, motor=replace(motor, controller_ratio=through, resistance_ohm=ohm))


@cache
def _with_road(world: World, seed: int) -> FleetBike:
    bike = campaign_bikes(seed)[0]
    way = bike.roads[0] if world.road is None else ways()[world.road]
    return replace(bike, roads=(way if world.even is None else uneven(way, bike, world.even, world.order, seed),))


def uneven(way: Way, bike: FleetBike, even: float, order: int, seed: int) -> Way:
    """A way whose descents are steeper here and less steep there, as high as before on the whole.

    Parameters
    ----------
    way : as it is
    bike : by which it is known how steep a descent is that air and tyres hold back
    even, order : as of `World`
    seed : of chance

    Returns
    -------
    way : of the force that a descent leaves to brakes, parts have gamma-distributed multiples of its mean, whose shape
        1 / (1 - even) gives the relative spread: exponential where ``even`` is 0
    """
    machine, speed = bike.machine, bike.rider.descent_mps
    held_n = float(machine.air_n(speed)) + machine.crr * machine.mass_kg * GRAVITY_MPS2 + machine.motor_drag_n
    held_pct = 100 * held_n / (machine.mass_kg * GRAVITY_MPS2)
    route, rng = way.road.route, np.random.default_rng((seed, SEED, 1))
    numbers = [_pieces(one) if -one.grade_pct > held_pct + LEAST_BRAKED_PCT else 0 for one in route.stretches]
    n = sum(numbers)
    if not n:
        return way
    multiples = rng.permutation(stats.gamma.ppf((np.arange(n) + 0.5) / n, 1 / max(1 - even, 1e-3)))
    multiples, at = multiples / multiples.mean(), 0
    stretches: list[Stretch] = []
    for one, pieces in zip(route.stretches, numbers, strict=True):
        own, at = multiples[at : at + pieces], at + pieces
        if order:
            own = np.sort(own)[::order]
        more_pct = -one.grade_pct - held_pct
        grades = [-(held_pct + more_pct * each) for each in own.tolist()] or [one.grade_pct]
        stretches += [
            replace(one, length_m=one.length_m / len(grades), grade_pct=grade, turn_deg=one.turn_deg / len(grades))
            for grade in grades
        ]
    return replace(way, road=Road(replace(route, stretches=tuple(stretches))))


def _pieces(stretch: Stretch) -> int:
    return max(2, round(stretch.length_m / PIECE_M)) if -stretch.grade_pct >= DOWN_PCT else 0
