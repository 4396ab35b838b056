"""`sample_rides.machine.Motor` for many motors at once: a record of arrays in, one number a motor out."""

import numpy as np

from sample_rides.machine import Motor
from sample_rides.route import Floats


def largest_drive_n(motor: Motor, speed_mps: Floats, pack_v: Floats) -> Floats:
    """Driving force that torque and battery current allow [N]."""
    volts, ohm = _back_v(motor, speed_mps), motor.resistance_ohm
    power_w = motor.drive_limit_a * pack_v * motor.controller_ratio
    amps = (np.sqrt(volts * volts + 4 * ohm * power_w) - volts) / (2 * ohm)
    largest: Floats = np.minimum(motor.drive_nm, motor.torque_constant * amps) / motor.wheel_radius_m
    return largest


def largest_regen_n(motor: Motor, speed_mps: Floats, pack_v: Floats) -> Floats:
    """Braking force that torque, battery current and the machine as a generator allow [N]."""
    volts, ohm = _back_v(motor, speed_mps), motor.resistance_ohm
    inside = volts * volts - 4 * ohm * motor.regen_limit_a * pack_v / motor.controller_ratio
    amps = (volts - np.sqrt(np.maximum(inside, 0.0))) / (2 * ohm)
    torque_nm = np.minimum(motor.regen_nm, motor.torque_constant * amps)
    largest: Floats = torque_nm / motor.wheel_radius_m * np.minimum(speed_mps / motor.fade_mps, 1.0)
    return largest


def battery_w(motor: Motor, force_n: Floats, speed_mps: Floats) -> tuple[Floats, Floats]:
    """Power taken from the pack (negative: given back), and the loss in the winding [W]."""
    amps = force_n * motor.wheel_radius_m / motor.torque_constant
    loss_w = amps * amps * motor.resistance_ohm
    machine_w = force_n * speed_mps + loss_w
    through = motor.controller_ratio
    return np.where(machine_w > 0, machine_w / through, machine_w * through), loss_w


def _back_v(motor: Motor, speed_mps: Floats) -> Floats:
    return motor.torque_constant * speed_mps / motor.wheel_radius_m
