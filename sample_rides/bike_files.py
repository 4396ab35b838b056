"""Bike files of the invented bikes."""

import json
from typing import Any

from sample_rides.simulation import Scenario

_DRY_AIR_GAS_CONSTANT = 287.05287  # J/(kg K), ISO 2533:1975
_SENSOR_LIMITS = {
    "current_zero_limit_a": 0.05,
    "current_gain_limit_pct": 1.0,
    "charge_gain_limit_pct": 0.2,
    "voltage_gain_limit_pct": 0.5,
}


def bike_file(name: str, ride: Scenario, *, max_charge_a: float, air_c: float, **stated: Any) -> str:
    """A bike file with every key: what the rider knows, and limits as wide as he had to leave them.

    ``stated`` replaces single values by their key.
    """
    machine, pack = ride.machine, ride.pack
    sections: dict[str, dict[str, Any]] = {
        "bike": {
            "name": name,
            "total_mass_kg": machine.mass_kg,
            "total_mass_limit_kg": 3.0,
            "wheel_circumference_m": 2.15,
            "rotating_mass_kg": machine.rotating_kg,
        },
        "pack": {
            "cells_in_series": pack.cells_in_series,
            "capacity_ah": pack.capacity_ah,
            "full_cell_v": 4.2,
            "max_charge_a": max_charge_a,
            "min_charge_temperature_c": 0.0,
            "charge_path": "allowed",
        },
        "motor": {"kind": "direct-drive"},
        "sensor": {**_SENSOR_LIMITS, "standby_draw_a": pack.standby_a, "averaged": False},
        "road": {
            "cda_m2": machine.cda_m2,
            "cda_limit_m2": 0.1,
            "crr": machine.crr,
            "crr_limit": 0.002,
            "motor_drag_n": machine.motor_drag_n,
            "air_temperature_c": air_c,
            "air_pressure_hpa": round(machine.air_density * _DRY_AIR_GAS_CONSTANT * (air_c + 273.15) / 100, 1),
            "wind_mps": machine.wind_mps,
        },
        "cost": {"price_per_kwh": 0.34, "currency": "EUR", "regen_premium": 140.0, "km_per_year": 2600},
    }
    lines = []
    for title, values in sections.items():
        lines += [f"[{title}]", *(f"{key} = {toml_value(stated.get(key, value))}" for key, value in values.items()), ""]
    return "\n".join(lines[:-1]) + "\n"


def toml_value(value: Any) -> str:
    """A value as TOML writes it."""
    return json.dumps(value, ensure_ascii=False)
