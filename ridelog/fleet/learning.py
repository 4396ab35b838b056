"""What the rides of a bike in a store teach of it: values for its bike file, and what a ride gains by them.

Nothing of it is used by itself. What a ride gains is shown on the latest one whose files are still there: measured by
its bike file as it is, and by that file with what was learned.
"""

import contextlib
import math
from collections.abc import Mapping
from datetime import datetime
from pathlib import Path

import pandas as pd

from ridelog import load_ride, measure
from ridelog.answer.provenance import BikeUsed, BikeValue
from ridelog.constants import STANDARD_GRAVITY
from ridelog.errors import RidelogError
from ridelog.fleet.folders import BIKE_FILE, COLUMN_MAP
from ridelog.fleet.history.bike.drag import Drag, Known, learned_drag
from ridelog.fleet.history.bike.learned import Learned, learned
from ridelog.fleet.history.bike.start_charge import StartCharge, start_charge
from ridelog.fleet.history.places import same_hills
from ridelog.fleet.history.routes import same_routes
from ridelog.fleet.store.store import Store
from ridelog.lazy import dataclass
from ridelog.settings.bike import Bike, read_bike
from ridelog.tell.refusals import fleet as refusals
from ridelog.tell.times import day
from ridelog.uncertain.quantity import Quantity

TURNS = ("wheel_speed_rpm", "wheel_revolutions")
# Where none was entered: 0.5 ± 0.5 N m at a wheel of 0.34 m, from freewheeling to a stiff hub motor (judgement) [N]
USUAL_MOTOR_DRAG_N, USUAL_MOTOR_DRAG_LIMIT_N = 1.5, 1.5
MOTOR_DRAG_LIMIT_RATIO = 0.3  # where one was; as `ridelog coastdown` has it
KELVIN_AT_0_C, USUAL_AIR_C, USUAL_AIR_HPA = 273.15, 15.0, 1013.25
Values = Mapping[str, Mapping[str, float]]  # section of the bike file -> key -> value


@dataclass(frozen=True)
class RouteStart:
    """How full to start a route: its first ride, and the charge.

    ``since`` : when the route was first ridden; ``None`` where no ride of it states a time
    """

    name: str
    since: datetime | None
    start: StartCharge


@dataclass(frozen=True)
class Gain:
    """What a ride's answer gains by what was learned: the same shares before and after."""

    ride: str
    recovered_pct: tuple[Quantity | None, Quantity | None]
    captured_pct: tuple[Quantity | None, Quantity | None]


@dataclass(frozen=True)
class Teaching:
    """What the rides of one bike teach.

    Attributes
    ----------
    bike, rides : its name, and how many rides the store holds of it
    learned : values with the interval in which the next ride will measure them
    values : those that a bike file has a key for, by section and key
    starts : how full to start each route that was ridden often enough
    gain : of the latest ride; ``None`` where its files are gone, or there is nothing to enter
    drag : by the coasting of all rides; ``None`` where that was too little, or pedals and brake are not logged
    drag_limit_m2 : half-width of CdA as the latest ride was measured, to hold it against
    """

    bike: str
    rides: int
    learned: tuple[Learned, ...]
    values: Values
    starts: tuple[RouteStart, ...]
    gain: Gain | None
    drag: Drag | None = None
    drag_limit_m2: float | None = None


def teaching_of(store: Store, bike: str, *, with_gain: bool = True) -> Teaching:
    """What the rides of a bike in a store teach of it.

    Parameters
    ----------
    store : of measured rides
    bike : its name
    with_gain : measure the latest ride twice, to say what it gains

    Returns
    -------
    What was learned, and on the latest ride what it is worth.

    Raises
    ------
    StoreError : the store cannot be read, or holds no ride of that bike
    """
    rides = store.answers(bikes=[bike])
    if rides.empty:
        raise refusals.no_such_bike(store.address, bike, sorted(store.answers(columns=["bike"])["bike"].unique()))
    latest = store.answer(str(rides["key"].iloc[-1]))
    entered = latest.bike
    circumference = entered.wheel_circumference_m
    turned = any(use.channel in TURNS for source in latest.sources for use in source.columns)  # else it is the device's
    known_m = (
        float(circumference.value) if turned and circumference.source == "entered" and circumference.value else None
    )
    told = learned(rides, wheel_circumference_m=known_m)
    known = _known_drag(entered)
    drag = None if known is None else learned_drag(rides, known)
    limit_m2 = _road(entered, "cda_m2").limit
    values = _for_bike_file(told, drag if drag and limit_m2 and drag.cda_limit_m2 < limit_m2 else None)
    capacity = entered.pack.get("capacity_ah")
    capacity_ah = float(capacity.value) if capacity is not None and isinstance(capacity.value, (int, float)) else None
    starts = () if capacity_ah is None else _starts(rides, store.hills(bikes=[bike]), capacity_ah)
    gain = _gain(store, rides, values) if with_gain else None
    return Teaching(bike, len(rides), told, values, starts, gain, drag, limit_m2)


def _road(bike: BikeUsed, key: str) -> BikeValue:
    return bike.road.get(key, BikeValue())


def _known_drag(bike: BikeUsed) -> Known | None:
    """What is known of the drag without the rides; ``None`` where they were measured without a road."""
    mass, crr, motor = bike.total_mass_kg, _road(bike, "crr"), _road(bike, "motor_drag_n")
    if not isinstance(mass.value, float) or not isinstance(crr.value, float) or crr.limit is None:
        return None
    weight_n = mass.value * STANDARD_GRAVITY
    motor_n, motor_limit_n = USUAL_MOTOR_DRAG_N, USUAL_MOTOR_DRAG_LIMIT_N
    if isinstance(motor.value, (int, float)):
        motor_n, motor_limit_n = float(motor.value), MOTOR_DRAG_LIMIT_RATIO * float(motor.value)
    air = [
        (_road(bike, "air_temperature_c").limit or 0.0) / (KELVIN_AT_0_C + USUAL_AIR_C),
        (_road(bike, "air_pressure_hpa").limit or 0.0) / USUAL_AIR_HPA,
    ]
    return Known(
        crr.value * weight_n + motor_n,
        math.hypot(crr.limit * weight_n, motor_limit_n) / math.sqrt(3),
        math.hypot((mass.limit or 0.0) / mass.value, *air) / math.sqrt(3),
    )


def _for_bike_file(told: tuple[Learned, ...], drag: Drag | None) -> Values:
    """What a bike file has a key for: a zero error beyond nothing widens its limit, as it is not taken off.

    Crr is not among them: it is what tells CdA from the rest, and stays what was known of it beforehand.
    """
    by_name = {each.name: each for each in told}
    values: dict[str, dict[str, float]] = {}
    if (wheel := by_name.get("wheel_circumference_m")) is not None:
        values["bike"] = {"wheel_circumference_m": wheel.value.value}
    if (zero := by_name.get("current_zero_a")) is not None:
        values["sensor"] = {"current_zero_limit_a": abs(zero.value.value) + zero.limit}
    if drag is not None:
        values["road"] = {"cda_m2": drag.cda_m2.value, "cda_limit_m2": drag.cda_limit_m2}
    return values


def _starts(rides: pd.DataFrame, hills: pd.DataFrame, capacity_ah: float) -> tuple[RouteStart, ...]:
    """How full to start each route."""
    passes = hills.assign(place=same_hills(hills)) if len(hills) else hills
    routes = same_routes(rides, passes)
    found = []
    for route, own in rides.groupby(routes):
        start = start_charge(own, capacity_ah) if int(str(route)) >= 0 else None
        if start is not None:
            first = own["ride_start"].iloc[0]
            since = None if pd.isna(first) else first.floor("us").to_pydatetime()
            found.append(RouteStart(str(own["name"].iloc[0]), since, start))
    return tuple(found)


def _gain(store: Store, rides: pd.DataFrame, values: Values) -> Gain | None:
    """The latest ride by its bike file, and by that file with what was learned."""
    if not values or store.catalogue is None:
        return None
    attempts = store.catalogue.attempts()
    for key, name, start in reversed(list(zip(rides["key"], rides["name"], rides["ride_start"], strict=True))):
        attempt = attempts.get(str(key))
        paths = [] if attempt is None else [Path(path) for path in attempt.paths.split("\n")]
        home = next((each for path in paths[:1] for each in path.parents if (each / BIKE_FILE).is_file()), None)
        if home is None or not all(path.is_file() for path in paths):
            continue
        with contextlib.suppress(RidelogError):
            before = read_bike(home / BIKE_FILE)
            columns = home / COLUMN_MAP if (home / COLUMN_MAP).is_file() else None
            shown = str(name) if pd.isna(start) else f"{name} ({day(start.to_pydatetime())})"
            first, second = (
                measure(load_ride(paths, bike=bike, columns=columns)) for bike in (before, _with(before, values))
            )
            return Gain(
                shown,
                (first.energy.recovered_pct, second.energy.recovered_pct),
                (first.braking.captured_pct, second.braking.captured_pct),
            )
    return None


def _with(bike: Bike, values: Values) -> Bike:
    """The bike file with what was learned."""
    sections = {name: getattr(bike, name).model_copy(update=dict(own)) for name, own in values.items()}
    return bike.model_copy(update=sections)
