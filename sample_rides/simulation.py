"""A forward simulation of rides on an electric bicycle, in steps far finer than any log.

    m_e dv/dt = F_motor + F_rider - air - rolling - grade - motor drag - friction brake

The battery sees what the motor takes or gives: V = OCV - R I. Everything that flows in a step is held constant
over it, so that sums over the steps are the exact integrals of the simulated waveform.
"""

from dataclasses import dataclass, field, fields
from datetime import UTC, datetime

import numpy as np

from sample_rides.driver import Driver
from sample_rides.machine import Machine, Motor, Pack, PackState, Rider
from sample_rides.route import Floats, Road, Route
from sample_rides.weather import Weather

# Nothing acts at once: time constants of motor torque, pedals and the hand at the brake lever.
MOTOR_LAG_S, RIDER_LAG_S, BRAKE_LAG_S = 0.25, 0.5, 0.2


@dataclass(frozen=True)
class Scenario:
    """One ride to be simulated: the road, the bike, its rider, and when.

    Attributes
    ----------
    start : wall time of the first moment, which is also the electrical log's
    lead_s, tail_s : standing at the start and at the end [s]
    start_mps : speed at the first moment, for a ride that begins rolling (with ``lead_s = 0``) [m/s]
    step_s : step of the simulation [s]
    seed : of the rider's wavering
    weather : wind from one side, its gusts, and shelter; ``None`` for none
    """

    route: Route
    machine: Machine = field(default_factory=Machine)
    motor: Motor = field(default_factory=Motor)
    pack: Pack = field(default_factory=Pack)
    rider: Rider = field(default_factory=Rider)
    start: datetime = datetime(2026, 5, 4, 7, 12, tzinfo=UTC)
    lead_s: float = 8.0
    tail_s: float = 10.0
    start_mps: float = 0.0
    step_s: float = 0.02
    seed: int = 1
    weather: Weather | None = None


@dataclass(frozen=True)
class Simulated:
    """A simulated ride on its fine steps.

    Arrays of shape (n,): ``time_s``, ``speed_mps``, ``distance_m`` and ``height_m`` hold at the start of each step;
    forces, current, voltage and power are constant over it. ``motor_n`` is positive driving and negative braking.
    """

    scenario: Scenario
    road: Road
    time_s: Floats
    speed_mps: Floats
    distance_m: Floats
    height_m: Floats
    current_a: Floats
    voltage_v: Floats
    open_v: Floats
    motor_w: Floats
    winding_loss_w: Floats
    motor_n: Floats
    friction_n: Floats
    rider_n: Floats
    temperature_c: Floats
    soc_ratio: Floats
    head_wind_mps: Floats
    shelter_ratio: Floats

    @property
    def step_s(self) -> float:
        """Length of a step [s]."""
        return self.scenario.step_s

    @property
    def brake_n(self) -> Floats:
        """What slows the bike by regen and friction [N]."""
        return np.maximum(-self.motor_n, 0.0) + self.friction_n

    @property
    def power_w(self) -> Floats:
        """Power at the battery terminals, positive out of it [W]."""
        return self.current_a * self.voltage_v

    def air_n(self, speed_mps: Floats) -> Floats:
        """Air resistance at speeds held over the steps, in the weather of the ride, shape (n,) [N]."""
        return self.scenario.machine.air_n(speed_mps, self.head_wind_mps, self.shelter_ratio)


def simulate(scenario: Scenario, *, longest_s: float = 4 * 3600.0) -> Simulated:
    """Ride the scenario from its start to the end of its route.

    Raises
    ------
    ValueError : the ride does not end within ``longest_s`` (a hill too steep for rider and motor), begins rolling and
        standing at once, or has a stop off its road
    """
    if scenario.start_mps and scenario.lead_s:
        raise ValueError("a ride that begins rolling cannot stand first: set lead_s to 0")
    road = Road(scenario.route)
    ride = _Ride(scenario, road, longest_s)
    driver = Driver(
        road,
        scenario.rider,
        scenario.machine,
        lead_s=scenario.lead_s,
        tail_s=scenario.tail_s,
        seed=scenario.seed,
    )
    rows = []
    for number in range(int(longest_s / scenario.step_s)):
        time_s = number * scenario.step_s
        if driver.finished(time_s):
            break
        rows.append((time_s, *ride.step(driver, time_s)))
    else:
        raise ValueError(f"the ride is not over after {longest_s:g} s; it got as far as {ride.distance_m:.0f} m")
    table = np.array(rows)
    names = [entry.name for entry in fields(Simulated) if entry.name not in ("scenario", "road", "height_m")]
    columns = dict(zip(names, table.T.copy(), strict=True))
    return Simulated(scenario, road, height_m=road.height_m(columns["distance_m"]), **columns)


class _Ride:
    """The state of bike, motor and pack, moved on step by step."""

    def __init__(self, scenario: Scenario, road: Road, longest_s: float) -> None:
        self.scenario, self.pack = scenario, PackState(scenario.pack)
        self.distance_m, self.speed_mps = 0.0, scenario.start_mps
        self._motor_n = self._rider_n = self._friction_n = 0.0
        self._knots: list[float] = road.knots_m.tolist()
        self._sines: list[float] = road.sines.tolist()
        self._piece = 0
        self._road = road
        self._mass_kg = scenario.machine.effective_mass_kg
        self._weather = scenario.weather.course(longest_s) if scenario.weather is not None else None
        self._head_wind_mps, self._shelter_ratio = 0.0, 1.0
        step = scenario.step_s
        self._shares = tuple(1 - np.exp(-step / lag).item() for lag in (MOTOR_LAG_S, RIDER_LAG_S, BRAKE_LAG_S))

    def step(self, driver: Driver, time_s: float) -> tuple[float, ...]:
        """One step; the row of `Simulated` less its time."""
        distance, speed = self.distance_m, self.speed_mps
        if self._weather is not None:
            heading = self._road.heading_rad(distance)
            self._head_wind_mps, self._shelter_ratio = self._weather.at(time_s, heading)
        if driver.stands(time_s, distance, speed):
            self._motor_n = self._rider_n = self._friction_n = 0.0
            middle = 0.0
        else:
            middle = self._move(self._act(driver, time_s))
        motor_w, loss_w = self.scenario.motor.battery_w(self._motor_n, middle)
        open_v = self.pack.open_v
        current, volts = self.pack.serve(motor_w, self.scenario.step_s)
        return (
            speed, distance, current, volts, open_v, motor_w, loss_w,
            self._motor_n, self._friction_n, self._rider_n, self.pack.temperature_c, self.pack.soc,
            self._head_wind_mps, self._shelter_ratio,
        )  # fmt: skip

    def _act(self, driver: Driver, time_s: float) -> float:
        """Let rider, motor and brakes follow what the driver wants; what air, rolling, drag and grade take now [N]."""
        speed, sine = self.speed_mps, self._sine(self.distance_m)
        resist_n = self._resist_n(speed, sine)
        force, pedals, brake = driver.wants(time_s, self.distance_m, speed, resist_n, sine)
        motor, (motor_share, rider_share, brake_share) = self.scenario.motor, self._shares
        most_drive = motor.largest_drive_n(speed, self.pack.open_v)
        most_regen = motor.largest_regen_n(speed, self.pack.open_v) if self.pack.takes_charge else 0.0
        aim = -min(brake, most_regen) if brake else min((force - pedals) * self.scenario.rider.motor_share, most_drive)
        moved = self._motor_n + motor_share * (aim - self._motor_n)
        self._motor_n = min(max(moved, -most_regen), most_drive)
        self._rider_n += rider_share * (pedals - self._rider_n)
        left = max(0.0, brake + self._motor_n) if brake else 0.0
        self._friction_n += brake_share * (left - self._friction_n)
        if self._friction_n < 0.01:
            self._friction_n = 0.0
        return resist_n

    def _move(self, resist_n: float) -> float:
        """Newton's law over one step by the midpoint rule; the mean speed of the step."""
        step, mass = self.scenario.step_s, self._mass_kg
        distance, speed = self.distance_m, self.speed_mps
        push = self._motor_n + self._rider_n - self._friction_n
        half = max(0.0, speed + 0.5 * step * (push - resist_n) / mass)
        force = push - self._resist_n(half, self._sine(distance + 0.5 * step * speed))
        after = speed + step * force / mass
        if after < 0:  # the bike comes to rest within this step: brake and friction hold only as hard as it takes
            self._friction_n = max(0.0, self._friction_n + after * mass / step)
            after = 0.0
        self.speed_mps = after
        self.distance_m = distance + 0.5 * step * (speed + after)
        return 0.5 * (speed + after)

    def _resist_n(self, speed: float, sine: float) -> float:
        machine = self.scenario.machine
        air_n = machine.air_n(speed, self._head_wind_mps, self._shelter_ratio)
        return air_n + machine.rolling_n(sine) + machine.grade_n(sine) + machine.motor_drag_n

    def _sine(self, distance_m: float) -> float:
        """Sine of the slope; the way only goes forward, so that the piece is found at once."""
        knots = self._knots
        while self._piece < len(knots) - 2 and knots[self._piece + 1] <= distance_m:
            self._piece += 1
        piece = self._piece
        share = (distance_m - knots[piece]) / max(knots[piece + 1] - knots[piece], 1e-12)
        return self._sines[piece] + share * (self._sines[piece + 1] - self._sines[piece])
