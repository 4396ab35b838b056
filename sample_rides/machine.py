"""Bike, motor, pack and rider of the simulation, and what motor and pack do at one moment."""

import bisect
import math
from dataclasses import dataclass
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

GRAVITY_MPS2 = 9.80665  # standard gravity, ISO 80000-3

Value = TypeVar("Value", float, NDArray[np.float64])


@dataclass(frozen=True)
class Machine:
    """The bike and rider as the road feels them; the motor's drag is there whenever the wheel turns."""

    mass_kg: float = 112.0
    rotating_kg: float = 2.0
    cda_m2: float = 0.56
    crr: float = 0.008
    air_density: float = 1.225  # [kg/m³]
    wind_mps: float = 0.0
    motor_drag_n: float = 1.5

    @property
    def effective_mass_kg(self) -> float:
        """Mass and the inertia of what rotates [kg]."""
        return self.mass_kg + self.rotating_kg

    def air_n(self, speed_mps: Value, head_wind_mps: float | Value = 0.0, shelter_ratio: float | Value = 1.0) -> Value:
        """½ρ CdA v|v| of the air speed [N], with wind and shelter beside the steady wind; takes numbers and arrays."""
        air_speed: Value = speed_mps + self.wind_mps + head_wind_mps
        return 0.5 * self.air_density * self.cda_m2 * air_speed * abs(air_speed) * shelter_ratio

    def rolling_n(self, sine: Value) -> Value:
        """Crr m g cosθ [N]; takes numbers and arrays."""
        cosine: Value = (1 - sine * sine) ** 0.5
        return self.crr * self.mass_kg * GRAVITY_MPS2 * cosine

    def grade_n(self, sine: Value) -> Value:
        """m g sinθ, positive uphill [N]; takes numbers and arrays."""
        return self.mass_kg * GRAVITY_MPS2 * sine


@dataclass(frozen=True)
class Motor:
    """A hub motor as the equivalent DC machine: E = k ω, torque = k I, loss = I²R.

    Attributes
    ----------
    torque_constant : k, of torque and of back voltage alike [N m/A = V s]
    resistance_ohm : winding, switches and leads in series [ohm]
    controller_ratio : share of electrical power that passes the controller, either way [1]
    drive_nm, regen_nm : largest torque driving and braking [N m]
    drive_limit_a, regen_limit_a : largest battery current driving and braking [A]
    fade_mps : below this speed the controller takes regen back in proportion [m/s]
    """

    torque_constant: float = 1.1
    resistance_ohm: float = 0.22
    controller_ratio: float = 0.96
    wheel_radius_m: float = 2.15 / (2 * math.pi)
    drive_nm: float = 38.0
    regen_nm: float = 22.0
    drive_limit_a: float = 18.0
    regen_limit_a: float = 8.0
    fade_mps: float = 1.6

    def largest_drive_n(self, speed_mps: float, pack_v: float) -> float:
        """Driving force that torque and battery current allow [N]."""
        volts, k, ohm = self._back_v(speed_mps), self.torque_constant, self.resistance_ohm
        power_w = self.drive_limit_a * pack_v * self.controller_ratio
        amps = (-volts + math.sqrt(volts * volts + 4 * ohm * power_w)) / (2 * ohm)
        return min(self.drive_nm, k * amps) / self.wheel_radius_m

    def largest_regen_n(self, speed_mps: float, pack_v: float) -> float:
        """Braking force that torque, battery current and the machine as a generator allow [N].

        Beyond I = E/2R more current would return less; the controller stays below it.
        """
        volts, k, ohm = self._back_v(speed_mps), self.torque_constant, self.resistance_ohm
        power_w = self.regen_limit_a * pack_v / self.controller_ratio
        inside = volts * volts - 4 * ohm * power_w
        amps = volts / (2 * ohm) if inside <= 0 else (volts - math.sqrt(inside)) / (2 * ohm)
        return min(self.regen_nm, k * amps) / self.wheel_radius_m * min(1.0, speed_mps / self.fade_mps)

    def battery_w(self, force_n: float, speed_mps: float) -> tuple[float, float]:
        """Power taken from the pack (negative: given back), and the loss in the winding [W]."""
        amps = force_n * self.wheel_radius_m / self.torque_constant
        loss_w = amps * amps * self.resistance_ohm
        machine_w = force_n * speed_mps + loss_w
        through = self.controller_ratio
        return (machine_w / through if machine_w > 0 else machine_w * through), loss_w

    def _back_v(self, speed_mps: float) -> float:
        return self.torque_constant * speed_mps / self.wheel_radius_m


# Open-circuit voltage of one lithium-ion cell over its state of charge: the usual shape, invented numbers.
SOC = (0.0, 0.05, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 0.95, 1.0)
OPEN_CELL_V = (3.00, 3.28, 3.43, 3.52, 3.58, 3.63, 3.69, 3.78, 3.88, 3.98, 4.08, 4.13, 4.195)


@dataclass(frozen=True)
class Pack:
    """A battery: V = OCV(state of charge) - R I.

    Attributes
    ----------
    standby_a : what controller and display draw all the time [A]
    trip_cell_v : cell voltage at which the BMS opens the charge path; ``None``: never [V]
    trip_s : how long it must be exceeded [s]
    release_a : the path closes again once this current has been drawn for ``release_s`` [A]
    """

    cells_in_series: int = 13
    capacity_ah: float = 14.0
    resistance_ohm: float = 0.14
    start_soc: float = 0.82
    standby_a: float = 0.06
    start_temperature_c: float = 16.0
    heat_capacity_j_per_k: float = 3200.0
    trip_cell_v: float | None = None
    trip_s: float = 2.0
    release_a: float = 2.0
    release_s: float = 8.0

    def open_v(self, soc: float) -> float:
        """Open-circuit voltage [V]."""
        index = min(max(bisect.bisect_right(SOC, soc) - 1, 0), len(SOC) - 2)
        share = (soc - SOC[index]) / (SOC[index + 1] - SOC[index])
        return self.cells_in_series * (OPEN_CELL_V[index] + share * (OPEN_CELL_V[index + 1] - OPEN_CELL_V[index]))


class PackState:
    """What changes in a pack while riding: charge, temperature, and whether it takes charge."""

    def __init__(self, pack: Pack) -> None:
        self.pack = pack
        self.soc = pack.start_soc
        self.temperature_c = pack.start_temperature_c
        self.open_v = pack.open_v(pack.start_soc)
        self.takes_charge = True
        self._over_s = self._drawn_s = 0.0

    def serve(self, motor_w: float, step_s: float) -> tuple[float, float]:
        """Terminal current and voltage while the motor takes ``motor_w`` for one step [A], [V]."""
        pack = self.pack
        ohm = pack.resistance_ohm
        rest_v = self.open_v - ohm * pack.standby_a
        inside = rest_v * rest_v - 4 * ohm * motor_w
        motor_a = motor_w / (0.5 * (rest_v + math.sqrt(inside)))  # of the two solutions the one near open circuit
        current = motor_a + pack.standby_a
        volts = self.open_v - ohm * current
        self.soc -= current * step_s / (3600 * pack.capacity_ah)
        self.open_v = pack.open_v(self.soc)
        self.temperature_c += current * current * ohm * step_s / pack.heat_capacity_j_per_k
        if pack.trip_cell_v is not None:
            self._protect(current, volts / pack.cells_in_series, step_s)
        return current, volts

    def _protect(self, current_a: float, cell_v: float, step_s: float) -> None:
        """Open the charge path after too high a cell voltage, close it after current was drawn."""
        pack = self.pack
        self._over_s = self._over_s + step_s if cell_v > (pack.trip_cell_v or math.inf) else 0.0
        self._drawn_s = self._drawn_s + step_s if current_a > pack.release_a else 0.0
        if self._over_s >= pack.trip_s:
            self.takes_charge = False
        elif self._drawn_s >= pack.release_s:
            self.takes_charge = True


@dataclass(frozen=True)
class Rider:
    """How the bike is ridden.

    Attributes
    ----------
    power_w : at the wheel while pedalling [W]
    push_n : largest force at the wheel from the pedals [N]
    cruise_mps : speed that rider and motor work for [m/s]
    descent_mps : speed above which the rider brakes on a descent [m/s]
    climb_ease : the speed worked for falls by this share for each unit of sin(slope): 5 means 30 % less on 6 % [1]
    start_mps2 : acceleration from a halt [m/s²]
    coast_s : pedals and motor rest this long before braking begins [s]
    waver : how much speed and effort wander, as a share [1]
    motor_share : part of what the pedals leave undone that the motor does [1]
    """

    power_w: float = 90.0
    push_n: float = 80.0
    cruise_mps: float = 6.6
    descent_mps: float = 8.0
    climb_ease: float = 5.0
    start_mps2: float = 0.8
    coast_s: float = 2.5
    waver: float = 0.05
    motor_share: float = 1.0
