"""Many rides simulated at once: bike, rider and road as in `sample_rides.simulation`, all moved on step by step.

Each number of a ride's state is one element of an array over the rides, so that a step costs little more for a hundred
rides than for one. Steps are 0.1 s, five times those of the fine simulation; what flows in a step is constant over it,
so that sums over the steps are the exact integrals of this waveform too. There is no weather and no tripping BMS here.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, fields
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from sample_rides.driver import LAST_M, LEAVE_N, NEAR_STOP_M, TOUCH_N, WANDER_RATES
from sample_rides.fleet.ceilings import SpeedCeilings
from sample_rides.fleet.motors import battery_w, largest_drive_n, largest_regen_n
from sample_rides.machine import GRAVITY_MPS2, OPEN_CELL_V, SOC, Machine, Motor, Pack, Rider
from sample_rides.route import Floats, Road
from sample_rides.simulation import BRAKE_LAG_S, MOTOR_LAG_S, RIDER_LAG_S, Scenario
from sample_rides.truth import TruthSettings

STEPS_PER_SAMPLE = 10
STEP_S = 1.0 / STEPS_PER_SAMPLE
_BRAKE_N = TruthSettings().brake_n
_Record = TypeVar("_Record", Machine, Motor, Pack, Rider)
_Flags = NDArray[np.bool_]
_STATES = (
    "distance_m",
    "speed_mps",
    "current_a",
    "voltage_v",
    "temperature_c",
    "rider_n",
    "braking",
    "drawn_wh",
    "returned_wh",
    "available_wh",
)


@dataclass(frozen=True)
class QuickRide:
    """One ride, a sample a second, and what really happened.

    Arrays of shape (n,): ``distance_m`` and ``speed_mps`` hold at the start of each second, ``current_a`` and
    ``voltage_v`` over its first step, ``rider_n`` is what the pedals push with at the wheel [N] and ``braking`` 1 while
    the lever is held, ``drawn_wh``, ``returned_wh`` and ``available_wh`` count up to its start.

    Attributes
    ----------
    duration_s : from the first moment to the end of the last step [s]
    totals : ``drawn_ah``, ``returned_ah``, ``drawn_wh``, ``returned_wh``, ``available_wh`` (what brakes and motor drag
        took while braking), and at the wheel ``rider_wh``, ``motor_drive_wh``, ``motor_brake_wh``, ``friction_wh``,
        ``air_wh``, ``rolling_wh``, ``motor_drag_wh``
    """

    scenario: Scenario
    road: Road
    distance_m: Floats
    speed_mps: Floats
    current_a: Floats
    voltage_v: Floats
    temperature_c: Floats
    rider_n: Floats
    braking: Floats
    drawn_wh: Floats
    returned_wh: Floats
    available_wh: Floats
    duration_s: float
    totals: dict[str, float]


def ride_all(scenarios: Sequence[Scenario], roads: Sequence[Road], *, longest_s: float = 3600.0) -> list[QuickRide]:
    """Ride each scenario from its start to the end of its route.

    Parameters
    ----------
    scenarios : the rides; best of like length, since all wait for the longest
    roads : the worked out road of each, without regard to its stops and bends
    longest_s : no ride may take longer [s]

    Returns
    -------
    rides : one a scenario, in the same order

    Raises
    ------
    ValueError : a scenario has weather, a BMS that trips or a rolling start, or a ride does not end in time
    """
    if any(s.weather is not None or s.pack.trip_cell_v is not None or s.start_mps for s in scenarios):
        raise ValueError("rides in step have no weather, no tripping BMS and no rolling start")
    state = _Rides(scenarios, roads)
    samples: list[tuple[Floats, ...]] = []
    for second in range(int(longest_s)):
        for part in range(STEPS_PER_SAMPLE):
            state.step(second + part * STEP_S)
            if part == 0:
                samples.append(state.sample)
        if state.finished_s is not None and np.isfinite(state.finished_s).all():
            break
    else:
        raise ValueError(f"a ride is not over after {longest_s:g} s")
    return _apart(scenarios, roads, state, np.array(samples))


def _apart(scenarios: Sequence[Scenario], roads: Sequence[Road], state: "_Rides", table: Floats) -> list[QuickRide]:
    """The rides one by one, each up to its own end."""
    rides = []
    for number, (scenario, road) in enumerate(zip(scenarios, roads, strict=True)):
        duration_s = float(state.finished_s[number])
        n = math.ceil(duration_s - 1e-6)
        columns = dict(zip(_STATES, table[:n, :, number].T.copy(), strict=True))
        totals = {name: float(values[number]) for name, values in state.totals.items()}
        rides.append(QuickRide(scenario, road, **columns, duration_s=duration_s, totals=totals))
    return rides


def stacked(records: Sequence[_Record]) -> _Record:
    """One record whose every field is an array over the records; its formulas then work on all of them at once."""
    kind = type(records[0])
    columns = {
        entry.name: np.array([getattr(record, entry.name) for record in records], dtype=float) for entry in fields(kind)
    }
    return kind(**columns)  # type: ignore[arg-type] # arrays in the place of numbers, on purpose


class _Rides:
    """The state of all rides, moved on step by step; the rules are those of `driver.Driver` and of the simulation."""

    def __init__(self, scenarios: Sequence[Scenario], roads: Sequence[Road]) -> None:
        n = len(scenarios)
        self._machine = stacked([s.machine for s in scenarios])
        self._motor = stacked([s.motor for s in scenarios])
        self._pack = stacked([s.pack for s in scenarios])
        self._rider = stacked([s.rider for s in scenarios])
        self._mass = np.asarray(self._machine.effective_mass_kg)
        machine = self._machine
        self._air_n = 0.5 * machine.air_density * machine.cda_m2  # at an air speed of 1 m/s
        self._weight_n = machine.mass_kg * GRAVITY_MPS2
        self._rolling_n = machine.crr * machine.mass_kg * GRAVITY_MPS2
        self._ceilings = SpeedCeilings(scenarios, roads)
        self._next = np.zeros(n, dtype=int)
        self._halt_m, self._wait_s = self._ceilings.halt(self._next)
        self._held_until_s = np.array([s.lead_s for s in scenarios])
        self._clear_m = np.full(n, -1.0)
        self._braking: _Flags = np.zeros(n, dtype=bool)
        self._phases = np.array([np.random.default_rng(s.seed).uniform(0, 2 * math.pi, (2, 4)) for s in scenarios])
        self._distance, self._speed, self._motor_n, self._rider_n, self._friction_n = np.zeros((5, n))
        self._soc = np.array(self._pack.start_soc)
        self._temperature_c = np.array(self._pack.start_temperature_c)
        self._shares = tuple(1 - math.exp(-STEP_S / lag) for lag in (MOTOR_LAG_S, RIDER_LAG_S, BRAKE_LAG_S))
        self.finished_s = np.full(n, np.inf)
        self.totals = {
            name: np.zeros(n)
            for name in (
                "drawn_ah", "returned_ah", "drawn_wh", "returned_wh", "available_wh", "rider_wh", "motor_drive_wh",
                "motor_brake_wh", "friction_wh", "air_wh", "rolling_wh", "motor_drag_wh",
            )
        }  # fmt: skip
        self._slow(0.0)

    def step(self, time_s: float) -> None:
        """One step of all rides, those that are over standing still."""
        second = not round(time_s * STEPS_PER_SAMPLE) % STEPS_PER_SAMPLE
        if second:
            self._slow(time_s)
        over = (self._next == self._ceilings.n_halts) & (time_s >= self._held_until_s)
        self.finished_s[over & np.isinf(self.finished_s)] = time_s
        stands = self._stands(time_s)
        speed, distance = self._speed, self._distance
        sine = self._ceilings.sine(distance)
        resist = self._resist_n(speed, sine)
        self._act(speed, distance, sine, resist, stands)
        middle = self._move(resist, stands)
        self._serve(middle, over, speed, distance, sampled=second)

    def _slow(self, time_s: float) -> None:
        """What changes so slowly that once a second is enough: wavering and the open-circuit voltage."""
        waves = 0.5 * np.sin(np.array(WANDER_RATES) * time_s + self._phases).sum(axis=2)
        self._speed_waver, self._effort_waver = np.asarray(self._rider.waver) * waves.T
        self._open_v = self._pack.cells_in_series * np.interp(self._soc, SOC, OPEN_CELL_V)

    def _stands(self, time_s: float) -> _Flags:
        """Which riders keep their bike standing now."""
        waiting: _Flags = (time_s < self._held_until_s) | (self._next == self._ceilings.n_halts)
        arrives = ~waiting & (self._speed <= 0) & (self._halt_m - self._distance < NEAR_STOP_M)
        if not arrives.any():
            return waiting
        self._held_until_s = np.where(arrives, time_s + self._wait_s, self._held_until_s)
        self._clear_m = np.where(arrives, self._halt_m + 1.0, self._clear_m)
        self._next = self._next + arrives
        self._halt_m, self._wait_s = self._ceilings.halt(self._next)
        self._braking = self._braking & ~arrives
        stands: _Flags = waiting | arrives
        return stands

    def _resist_n(self, speed: Floats, sine: Floats) -> Floats:
        drag_n: Floats = (
            self._air(speed) + self._rolling(sine) + self._weight_n * sine + np.asarray(self._machine.motor_drag_n)
        )
        return drag_n

    def _air(self, speed: Floats) -> Floats:
        """As `Machine.air_n`, whose products of what a ride keeps are formed once [N]."""
        air_speed = speed + self._machine.wind_mps
        air_n: Floats = self._air_n * air_speed * abs(air_speed)
        return air_n

    def _rolling(self, sine: Floats) -> Floats:
        """As `Machine.rolling_n` [N]."""
        rolling_n: Floats = self._rolling_n * np.sqrt(1 - sine * sine)
        return rolling_n

    def _act(self, speed: Floats, distance: Floats, sine: Floats, resist: Floats, stands: _Flags) -> None:
        """Let riders, motors and brakes follow what is wanted."""
        force, pedals, brake = self._wants(speed, distance, sine, resist)
        most_drive = largest_drive_n(self._motor, speed, self._open_v)
        most_regen = largest_regen_n(self._motor, speed, self._open_v)
        braking = brake > 0
        driven = np.minimum((force - pedals) * self._rider.motor_share, most_drive)
        aim = np.where(braking, -np.minimum(brake, most_regen), driven)
        motor_share, rider_share, brake_share = self._shares
        moved = self._motor_n + motor_share * (aim - self._motor_n)
        moving = np.where(stands, 0.0, 1.0)
        self._motor_n = moving * np.minimum(np.maximum(moved, -most_regen), most_drive)
        self._rider_n = moving * (self._rider_n + rider_share * (pedals - self._rider_n))
        left = np.where(braking, np.maximum(brake + self._motor_n, 0.0), 0.0)
        friction = self._friction_n + brake_share * (left - self._friction_n)
        self._friction_n = moving * np.where(friction < 0.01, 0.0, friction)

    def _wants(self, speed: Floats, distance: Floats, sine: Floats, resist: Floats) -> tuple[Floats, Floats, Floats]:
        """Force from pedals and motor together, the pedals' part of it, and braking force [N]."""
        rider, mass = self._rider, self._mass
        halt_m = self._halt_m
        to_stop = halt_m - distance
        ceiling2, decel = self._ceilings.at(np.minimum(np.maximum(distance, self._clear_m), halt_m))
        falls = decel > 0
        ceiling = np.sqrt(ceiling2) * np.where(falls, 1.0, 1 + 0.6 * self._speed_waver)
        brake = self._brake_n(speed, ceiling, decel, resist, to_stop)
        ahead = np.minimum(np.maximum(distance + speed * rider.coast_s, self._clear_m), halt_m)
        coasts = (speed * speed > self._ceilings.at(ahead)[0]) & ~((speed < 1.2) & (to_stop > 1.5))
        rolls = np.maximum(resist - mass * speed * speed / (2 * np.maximum(to_stop, 0.5)), 0.0)
        ease = np.maximum(1 - rider.climb_ease * np.maximum(sine, 0.0), 0.35)
        target = np.minimum(rider.cruise_mps * ease * (1 + self._speed_waver), np.maximum(ceiling, 1.2))
        pushes = np.maximum(mass * np.minimum(rider.start_mps2, (target - speed) / 2) + resist, 0.0)
        effort_w = rider.power_w * (1 + 3 * self._effort_waver)
        pedals = np.minimum(np.minimum(rider.push_n, effort_w / np.maximum(speed, 1.0)), pushes)
        drives = ~coasts & (brake <= 0)
        rolling_out = np.where(coasts & (brake <= 0) & (to_stop <= LAST_M), rolls, 0.0)
        return np.where(drives, pushes, rolling_out), np.where(drives, pedals, 0.0), brake

    def _brake_n(self, speed: Floats, ceiling: Floats, decel: Floats, resist: Floats, to_stop: Floats) -> Floats:
        """Braking force wanted, 0 while the lever is left alone [N]."""
        wanted = decel + (speed - ceiling) / np.where(decel > 0, 0.6, 1.5)
        halting = (to_stop < NEAR_STOP_M) & (speed < 2.5)
        need = self._mass * np.where(halting, np.maximum(wanted, 0.4), wanted) - resist
        keeps = (need > LEAVE_N) & (halting | (speed > ceiling - 0.5))
        self._braking = np.where(self._braking, keeps, (need > TOUCH_N) & (speed >= ceiling))
        return np.where(self._braking, need, 0.0)

    def _move(self, resist: Floats, stands: _Flags) -> Floats:
        """Newton's law over one step by the midpoint rule; the mean speed of the step."""
        speed, distance, mass = self._speed, self._distance, self._mass
        push = self._motor_n + self._rider_n - self._friction_n
        half = np.maximum(speed + 0.5 * STEP_S * (push - resist) / mass, 0.0)
        force = push - self._resist_n(half, self._ceilings.sine(distance + 0.5 * STEP_S * speed))
        after = np.where(stands, 0.0, speed + STEP_S * force / mass)
        halts = after < 0  # brake and friction hold only as hard as it takes
        self._friction_n = np.where(halts, np.maximum(self._friction_n + after * mass / STEP_S, 0.0), self._friction_n)
        after = np.maximum(after, 0.0)
        middle: Floats = np.where(stands, 0.0, 0.5 * (speed + after))
        self._speed, self._distance = after, distance + STEP_S * middle
        return middle

    def _serve(self, middle: Floats, over: _Flags, speed: Floats, distance: Floats, *, sampled: bool) -> None:
        """What the packs give and take, and the sums; ``speed`` and ``distance`` are those at the step's start."""
        pack, open_v = self._pack, self._open_v
        motor_w, _ = battery_w(self._motor, self._motor_n, middle)
        rest_v = open_v - pack.resistance_ohm * pack.standby_a
        motor_a = motor_w / (0.5 * (rest_v + np.sqrt(rest_v * rest_v - 4 * pack.resistance_ohm * motor_w)))
        current = motor_a + pack.standby_a
        volts = open_v - pack.resistance_ohm * current
        if sampled:
            sums = self.totals
            self.sample = (
                distance, speed, current, volts, self._temperature_c, self._rider_n, self._braking.astype(float),
                sums["drawn_wh"].copy(), sums["returned_wh"].copy(), sums["available_wh"].copy(),
            )  # fmt: skip
        self._soc = self._soc - current * (STEP_S / 3600) / pack.capacity_ah
        heat_w = current * current * pack.resistance_ohm
        self._temperature_c = self._temperature_c + heat_w * STEP_S / pack.heat_capacity_j_per_k
        self._count(current, volts, middle, np.where(over, 0.0, STEP_S / 3600))

    def _count(self, current: Floats, volts: Floats, middle: Floats, step_h: Floats) -> None:
        """Add one step to the totals of the rides that are not over."""
        sums = self.totals
        out, back = np.maximum(current, 0.0) * step_h, np.maximum(-current, 0.0) * step_h
        sums["drawn_ah"] += out
        sums["returned_ah"] += back
        sums["drawn_wh"] += out * volts
        sums["returned_wh"] += back * volts
        way = middle * step_h
        sine = self._ceilings.sine(self._distance - 0.5 * STEP_S * middle)
        regen = np.maximum(-self._motor_n, 0.0)
        brakes = regen + self._friction_n
        sums["rider_wh"] += self._rider_n * way
        sums["motor_drive_wh"] += np.maximum(self._motor_n, 0.0) * way
        sums["motor_brake_wh"] += regen * way
        sums["friction_wh"] += self._friction_n * way
        sums["air_wh"] += self._air(middle) * way
        sums["rolling_wh"] += self._rolling(sine) * way
        sums["motor_drag_wh"] += self._machine.motor_drag_n * way
        sums["available_wh"] += np.where(brakes > _BRAKE_N, brakes + self._machine.motor_drag_n, 0.0) * way
