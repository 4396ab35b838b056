"""What air, rolling and grade do to a bicycle: forces, air density, and the values used where none are given."""

import numpy as np

from ridelog.arrays import Floats
from ridelog.constants import STANDARD_GRAVITY
from ridelog.lazy import dataclass
from ridelog.settings.bike import Bike

DRY_AIR_GAS_CONSTANT = 287.05287  # J/(kg K), ISO 2533:1975


def standard_atmosphere(height_m: float) -> tuple[float, float]:
    """Temperature [K] and pressure [Pa] of the standard atmosphere at a geopotential height up to 11 km [m].

    References
    ----------
    ISO 2533:1975, Standard atmosphere (ICAO Doc 7488/3).
    """
    temperature_k = 288.15 - 0.0065 * height_m
    return temperature_k, 101_325.0 * (temperature_k / 288.15) ** 5.255880


def air_density(temperature_c: float, pressure_hpa: float) -> float:
    """Density of dry air [kg/m³]; moist air is up to 1 % lighter on a warm day."""
    return 100.0 * pressure_hpa / (DRY_AIR_GAS_CONSTANT * (temperature_c + 273.15))


@dataclass(frozen=True)
class RoadLoad:
    """The bike and rider as the road feels them.

    Attributes
    ----------
    mass_kg : everything that moves
    effective_mass_kg : mass and the inertia of what rotates
    cda_m2 : drag area
    crr : coefficient of rolling resistance
    density : of the air [kg/m³]
    wind_mps : head wind, positive against the rider
    """

    mass_kg: float
    effective_mass_kg: float
    cda_m2: float
    crr: float
    density: float
    wind_mps: float = 0.0

    def air_n(self, speed_mps: Floats) -> Floats:
        """Air resistance, ½ρ CdA v|v| of the air speed; a tail wind pushes [N]."""
        air_speed = speed_mps + self.wind_mps
        return 0.5 * self.density * self.cda_m2 * air_speed * np.abs(air_speed)

    def rolling_n(self, grade_pct: Floats) -> Floats:
        """Rolling resistance, Crr m g cosθ [N]."""
        return self.crr * self.mass_kg * STANDARD_GRAVITY * np.cos(np.arctan(grade_pct / 100))

    def climbing_n(self, grade_pct: Floats) -> Floats:
        """Grade resistance, m g sinθ, positive uphill [N]."""
        return self.mass_kg * STANDARD_GRAVITY * np.sin(np.arctan(grade_pct / 100))


# Stated defaults, each with the half-width of a rectangular distribution that ridelog must allow for.
# CdA and Crr: means, and √3 times the standard deviations, of 557 utility cyclists measured by coast-down on
# the road (Tengattini, thesis, University of Bologna 2017). Mass: rider 80 kg, electric bicycle 25 kg, load
# 5 kg (common practice, no source). Rotating mass: two wheels of 0.14 kg m² together at a radius of 0.311 m
# (Martin et al. 1998, J. Appl. Biomech. 14:276).
DEFAULTS = {
    "bike.total_mass_kg": (110.0, 30.0),
    "bike.rotating_mass_kg": (1.45, 1.0),
    "road.cda_m2": (0.56, 0.29),
    "road.crr": (0.0077, 0.0062),
    "road.air_temperature_c": (15.0, 20.0),
    "road.air_pressure_hpa": (1013.25, 30.0),
    "road.wind_mps": (0.0, 3.0),
}


def road_value(bike: Bike, key: str, *, mean_height_m: float | None = None) -> tuple[float, bool]:
    """One value of the road load, and whether the bike file gives it.

    Parameters
    ----------
    bike : the bike file
    key : of `DEFAULTS`
    mean_height_m : as for `road_load` [m]

    Returns
    -------
    Value, and ``True`` where the bike file gives it.
    """
    section, name = key.split(".")
    given = getattr(getattr(bike, section), name)
    if given is not None:
        return float(given), True
    if name == "air_pressure_hpa" and mean_height_m is not None:
        return standard_atmosphere(mean_height_m)[1] / 100, False
    return DEFAULTS[key][0], False


def limit_key(key: str) -> str:
    """The bike file's key for the limit of a value: ``cda_limit_m2``, ``crr_limit``."""
    name, _, unit = key.rpartition("_")
    return f"{name}_limit_{unit}" if name else f"{key}_limit"


def road_load(bike: Bike, *, mean_height_m: float | None = None) -> tuple[RoadLoad, dict[str, float]]:
    """The road load of a bike file, completed by `DEFAULTS`.

    Parameters
    ----------
    bike : the bike file
    mean_height_m : mean height of the ride; where the bike file states no air pressure, that of the standard
        atmosphere at this height is used [m]

    Returns
    -------
    load : the road load
    assumed : what was not given, by the keys of the bike file, each with its limit (``total_mass_limit_kg``)
    """
    assumed: dict[str, float] = {}

    def value(section: str, key: str) -> float:
        used, given = road_value(bike, f"{section}.{key}", mean_height_m=mean_height_m)
        if not given:
            assumed.update({key: used, limit_key(key): DEFAULTS[f"{section}.{key}"][1]})
        return used

    mass_kg = value("bike", "total_mass_kg")
    rotating_kg = value("bike", "rotating_mass_kg")
    cda_m2 = value("road", "cda_m2")
    crr = value("road", "crr")
    temperature_c = value("road", "air_temperature_c")
    pressure_hpa = value("road", "air_pressure_hpa")
    wind_mps = value("road", "wind_mps")
    density = air_density(temperature_c, pressure_hpa)
    return RoadLoad(mass_kg, mass_kg + rotating_kg, cda_m2, crr, density, wind_mps), assumed
