"""The bikes of a made-up fleet: what each is made of, how it is ridden, and what its devices write."""

import math
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from typing import Literal

import numpy as np

from sample_rides.bike_files import bike_file
from sample_rides.fleet.faults import Condition
from sample_rides.fleet.roads import Way, ways
from sample_rides.fleet.seasons import air_density, air_temperature_c, pack_temperature_c, resistance_at
from sample_rides.machine import Machine, Motor, Pack, Rider
from sample_rides.scenarios import random_machine, random_motor, random_pack, random_rider
from sample_rides.simulation import Scenario

LogKind = Literal["wall-time-and-gpx", "merged", "elapsed-and-fit", "elapsed-and-gpx"]
LOG_KINDS: tuple[LogKind, ...] = ("wall-time-and-gpx", "merged", "elapsed-and-fit", "elapsed-and-gpx")
_WINTER_MONTHS, _WINTER_CRR = (11, 12, 1, 2, 3), 0.001  # studded tyres roll a little harder
_BIRDS = (
    "Gannet", "Fulmar", "Dunlin", "Curlew", "Puffin", "Storm petrel", "Razorbill", "Turnstone", "Snow bunting",
    "Arctic tern", "Lapwing", "Redshank", "Kittiwake", "Whimbrel", "Eider", "Plover", "Sanderling", "Guillemot",
    "Shearwater", "Ærfugl",
)  # fmt: skip


@dataclass(frozen=True)
class Errors:
    """What a bike's electrical logger makes of the truth: reading = gain · true + zero + noise.

    All are drawn within the limits that the bike file states; ``wheel_gain`` is the logged over the true speed.
    """

    current_gain: float
    charge_gain: float
    current_zero_a: float
    voltage_gain: float
    wheel_gain: float
    current_noise_a: float = 0.03
    voltage_noise_v: float = 0.01


@dataclass(frozen=True)
class Outing:
    """One ride before it is ridden: which way, in which air, on which tyres ("summer" or "winter"), and the rest."""

    way: Way
    air_temperature_c: float
    tyres: str
    scenario: Scenario


@dataclass(frozen=True)
class FleetBike:
    """A bike as it left the workshop.

    Attributes
    ----------
    folder : its folder's name
    machine, motor, pack, rider : as they are, not as the bike file has them
    errors : of its logger
    logs : which files it writes
    with_air_temperature : whether the air's temperature is logged
    roads : which ways its rider takes
    entered : what the rider took the machine for when he wrote the bike file
    with_controls : whether the cadence and the brake's switch are logged
    """

    folder: str
    name: str
    machine: Machine
    motor: Motor
    pack: Pack
    rider: Rider
    errors: Errors
    logs: LogKind
    with_air_temperature: bool
    roads: tuple[Way, ...]
    entered: Machine
    with_controls: bool = False

    def outing(self, start: datetime, condition: Condition, rng: np.random.Generator) -> Outing:
        """One ride of the bike: which way, the season's air and pack, what faults left of it, the rider's day."""
        way = self.roads[int(rng.integers(len(self.roads)))]
        air_c = air_temperature_c(start, rng)
        pack_c = pack_temperature_c(air_c)
        ratio = condition.regen_ratio
        day = float(rng.normal(1.0, 0.05))
        winter = start.month in _WINTER_MONTHS
        scenario = Scenario(
            way.route(rng),
            machine=replace(
                self.machine,
                mass_kg=self.machine.mass_kg + float(rng.uniform(-1.0, 1.0)),
                crr=self.machine.crr + (_WINTER_CRR if winter else 0.0),
                air_density=air_density(air_c),
                wind_mps=float(rng.uniform(-0.7, 0.7)),
            ),
            motor=replace(
                self.motor, regen_nm=self.motor.regen_nm * ratio, regen_limit_a=self.motor.regen_limit_a * ratio
            ),
            pack=replace(
                self.pack,
                resistance_ohm=resistance_at(self.pack.resistance_ohm, pack_c) * condition.resistance_ratio,
                start_soc=float(rng.uniform(0.5, 0.88)),
                start_temperature_c=pack_c,
            ),
            rider=replace(self.rider, power_w=self.rider.power_w * day, cruise_mps=self.rider.cruise_mps * day),
            start=start,
            lead_s=float(rng.integers(8, 25)),
            tail_s=float(rng.integers(8, 25)),
            seed=int(rng.integers(1, 2**31)),
        )
        return Outing(way, round(air_c, 1), "winter" if winter else "summer", scenario)

    @property
    def toml(self) -> str:
        """Its bike file."""
        known = Scenario(self.roads[0].road.route, machine=self.entered, pack=self.pack)
        return bike_file(
            self.name, known, max_charge_a=math.ceil(self.motor.regen_limit_a + 1), air_c=15.0,
            total_mass_limit_kg=4.0, crr_limit=0.003,
        )  # fmt: skip


def drawn_bike(number: int, rng: np.random.Generator) -> FleetBike:
    """The bike of that number (from 0) by chance; every fourth writes the same kind of files."""
    bird, round_ = _BIRDS[number % len(_BIRDS)], number // len(_BIRDS)
    name = f"{bird} {round_ + 1}" if round_ else bird
    machine, pack = random_machine(rng), random_pack(rng)
    entered = Machine(
        mass_kg=round(machine.mass_kg + float(rng.uniform(-1.5, 1.5)), 1),
        rotating_kg=machine.rotating_kg,
        cda_m2=round(machine.cda_m2 + float(rng.uniform(-0.06, 0.06)), 2),
        crr=round(machine.crr + float(rng.uniform(-0.001, 0.001)), 4),
        motor_drag_n=round(machine.motor_drag_n, 1),
    )
    all_ways = ways()
    taken = rng.permutation(len(all_ways))[: int(rng.integers(2, 5))]
    return FleetBike(
        folder=name.lower().replace(" ", "-"),
        name=name,
        machine=machine,
        motor=random_motor(rng),
        pack=replace(pack, standby_a=round(pack.standby_a, 2), capacity_ah=round(pack.capacity_ah, 1)),
        rider=random_rider(rng),
        errors=_errors(rng),
        logs=LOG_KINDS[number % len(LOG_KINDS)],
        with_air_temperature=bool(number % 3),
        roads=tuple(all_ways[int(index)] for index in sorted(taken)),
        entered=entered,
    )


def _errors(rng: np.random.Generator) -> Errors:
    return Errors(
        current_gain=1 + float(rng.uniform(-0.01, 0.01)),
        charge_gain=1 + float(rng.uniform(-0.002, 0.002)),
        current_zero_a=float(rng.uniform(-0.05, 0.05)),
        voltage_gain=1 + float(rng.uniform(-0.005, 0.005)),
        wheel_gain=1 + float(rng.normal(0.0, 0.004)),
    )


def ride_starts(n: int, first_day: datetime, n_days: int, rng: np.random.Generator) -> list[datetime]:
    """When a bike's rides begin: in the morning or in the afternoon of days by chance, in order, never two at a time.

    Raises
    ------
    ValueError : more rides than mornings and afternoons
    """
    if n > 2 * n_days:
        raise ValueError(f"{n} rides need more than {n_days} days")
    halves = np.sort(rng.permutation(2 * n_days)[:n])
    starts = []
    for half in halves.tolist():
        hour = 7.0 if half % 2 == 0 else 15.0
        seconds = round(86_400 * (half // 2) + 3600 * (hour + float(rng.uniform(0, 3))))
        starts.append(datetime.fromtimestamp(first_day.timestamp() + seconds, UTC))
    return starts
