"""The weather of Quillmoor over the year: the air's temperature and density, and what the pack makes of them."""

import math
from datetime import datetime

import numpy as np

_COLDEST_DAY, _MEAN_C, _SWING_C, _DAY_TO_DAY_C = 28, 10.5, 7.5, 2.0
_LOWEST_C = 0.5
_PRESSURE_PA, _DRY_AIR_GAS_CONSTANT = 101_325.0, 287.05287  # standard atmosphere, J/(kg K): ISO 2533:1975
_INDOOR_C, _KEPT_INDOORS = 18.0, 0.5  # packs spend the night inside
_OHM_PER_COLDER_DEGREE = 0.012  # share by which resistance rises with each °C below 20; the usual order of size


def air_temperature_c(moment: datetime, rng: np.random.Generator) -> float:
    """Of one ride, by the day of the year and by chance [°C]."""
    day = moment.timetuple().tm_yday
    mean = _MEAN_C - _SWING_C * math.cos(2 * math.pi * (day - _COLDEST_DAY) / 365.25)
    return max(_LOWEST_C, mean + _DAY_TO_DAY_C * float(rng.standard_normal()))


def air_density(air_c: float) -> float:
    """p / (R T) of dry air at sea level [kg/m³]."""
    return _PRESSURE_PA / (_DRY_AIR_GAS_CONSTANT * (air_c + 273.15))


def pack_temperature_c(air_c: float) -> float:
    """Of a pack that was carried out of the house a while ago [°C]."""
    return _KEPT_INDOORS * _INDOOR_C + (1 - _KEPT_INDOORS) * air_c


def resistance_at(ohm_at_20_c: float, pack_c: float) -> float:
    """Resistance of a pack that is colder or warmer than 20 °C [ohm]."""
    return ohm_at_20_c * (1 + _OHM_PER_COLDER_DEGREE * (20 - pack_c))
