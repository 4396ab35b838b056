"""Rides by chance: a road with hills, stops and bends, a bike and its rider, for studies over many of them."""

from dataclasses import replace

import numpy as np

from sample_rides.machine import Machine, Motor, Pack, Rider
from sample_rides.route import Bend, Route, Stop, Stretch
from sample_rides.simulation import Scenario


def random_scenario(
    rng: np.random.Generator, *, n_hills: int | None = None, there_and_back: bool | None = None
) -> Scenario:
    """A ride of some 10 to 25 minutes that recovers between about 1 and 15 % by energy (of 120 rides, nine in ten).

    Every hill is at least 8 m high and at least 2.5 % steep all the way, and next to it the road is all but level, or
    a hill of the other direction begins after a level piece: foot and top leave no doubt.

    Parameters
    ----------
    rng : the source of chance; the same state gives the same ride
    n_hills : rises and falls on the way out; by chance 0 to 5 where ``None``
    there_and_back : whether the same road is ridden back; by chance where ``None``
    """
    hills = int(rng.integers(0, 6)) if n_hills is None else n_hills
    back = bool(rng.random() < 0.5) if there_and_back is None else there_and_back
    route = _with_halts(rng, _road(rng, hills))
    if back:
        turn = Stop(float(round(route.length_m)), wait_s=float(rng.uniform(20, 90)), decel_mps2=1.1)
        way_out = replace(route, stops=(*route.stops, turn))
        route = way_out.there_and_back(_halts(rng, route.length_m))
    return Scenario(
        route,
        machine=random_machine(rng),
        motor=random_motor(rng),
        pack=random_pack(rng),
        rider=random_rider(rng),
        seed=int(rng.integers(1, 2**31)),
    )


def random_machine(rng: np.random.Generator) -> Machine:
    """A bike and its rider as the road feels them, by chance."""
    return Machine(
        mass_kg=float(rng.uniform(85, 170)),
        cda_m2=float(rng.uniform(0.45, 0.75)),
        crr=float(rng.uniform(0.006, 0.011)),
        motor_drag_n=float(rng.uniform(0.3, 3.0)),
        wind_mps=float(rng.uniform(-1.0, 1.0)),
    )


def random_motor(rng: np.random.Generator) -> Motor:
    """A hub motor by chance."""
    return Motor(
        torque_constant=float(rng.uniform(0.8, 1.3)),
        resistance_ohm=float(rng.uniform(0.15, 0.35)),
        regen_nm=float(rng.uniform(7, 24)),
        regen_limit_a=float(rng.uniform(2.5, 8)),
        drive_nm=float(rng.uniform(36, 55)),
        drive_limit_a=float(rng.uniform(15, 22)),
    )


def random_pack(rng: np.random.Generator) -> Pack:
    """A battery by chance, from half to nine tenths full."""
    return Pack(
        cells_in_series=int(rng.choice([10, 13, 14])),
        capacity_ah=float(rng.uniform(10, 22)),
        resistance_ohm=float(rng.uniform(0.08, 0.2)),
        start_soc=float(rng.uniform(0.5, 0.9)),
        standby_a=float(rng.uniform(0.02, 0.12)),
    )


def random_rider(rng: np.random.Generator) -> Rider:
    """A rider by chance."""
    return Rider(
        power_w=float(rng.uniform(45, 100)),
        cruise_mps=float(rng.uniform(5.5, 7.2)),
        descent_mps=float(rng.uniform(7.4, 9.5)),
        start_mps2=float(rng.uniform(0.6, 1.0)),
        coast_s=float(rng.uniform(1.0, 4.0)),
    )


def _level(rng: np.random.Generator, low_m: float, high_m: float) -> list[Stretch]:
    """Two level pieces in a gentle curve."""
    return [
        Stretch(
            float(round(rng.uniform(low_m, high_m) / 2)), float(rng.uniform(-0.4, 0.4)), float(rng.uniform(-70, 70))
        )
        for _ in range(2)
    ]


def _road(rng: np.random.Generator, n_hills: int) -> Route:
    """Level road with ``n_hills`` slopes, up and down in turn; no fall is higher than the rise before it.

    A road that falls on the whole could give back more than was ever drawn, which no share describes.
    """
    if not n_hills:
        return Route(tuple(piece for _ in range(4) for piece in _level(rng, 500, 900)))
    stretches = _level(rng, 300, 700)
    direction, rise_m = 1, 0.0
    lowest = height = 0.0
    for _ in range(n_hills):
        rise_m = float(rng.uniform(12, 40)) if direction > 0 else max(9.0, rise_m * float(rng.uniform(0.4, 0.9)))
        pieces = int(rng.integers(1, 4))
        for _ in range(pieces):
            grade = float(rng.uniform(2.7, 8.0))
            length = float(round(max(60.0, 100 * rise_m / pieces / grade)))
            stretches.append(Stretch(length, direction * grade, float(rng.uniform(-60, 60))))
            height += direction * length * grade / 100
        lowest, direction = min(lowest, height), -direction
        stretches += _level(rng, 250, 600)
    return Route(tuple(stretches), start_height_m=5.0 - lowest, start_heading_deg=float(rng.uniform(0, 360)))


def _halts(rng: np.random.Generator, length_m: float) -> tuple[Stop, ...]:
    """Stops 250 to 900 m apart."""
    stops, at_m = [], float(rng.uniform(200, 600))
    while at_m < length_m - 150:
        stops.append(Stop(float(round(at_m)), float(rng.uniform(4, 25)), float(rng.uniform(0.8, 1.8))))
        at_m += float(rng.uniform(250, 900))
    return tuple(stops)


def _with_halts(rng: np.random.Generator, route: Route) -> Route:
    """The road with stops and bends, no bend within 60 m of a stop."""
    stops = _halts(rng, route.length_m)
    bends = [
        Bend(float(round(at_m)), float(rng.uniform(3.5, 5.5)), decel_mps2=float(rng.uniform(0.8, 1.4)))
        for at_m in rng.uniform(150, route.length_m - 150, int(rng.integers(2, 9)))
        if all(abs(at_m - stop.at_m) > 60 for stop in stops)
    ]
    return replace(route, stops=stops, bends=tuple(bends))
