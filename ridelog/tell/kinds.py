"""Kinds of quantities and the units that people read them in.

Each kind says in which unit of its own its values are kept: SI, watt-hours, ampere-hours, kilometres of range. The
imperial factors are the exact ones of the definitions (NIST SP 811, Appendix B).
"""

from ridelog.constants import STANDARD_GRAVITY
from ridelog.lazy import dataclass

FOOT_M = 0.3048
MILE_M = 5280 * FOOT_M
POUND_KG = 0.45359237
POUND_FORCE_N = POUND_KG * STANDARD_GRAVITY


@dataclass(frozen=True)
class Unit:
    """A unit, and how a value in a kind's own unit becomes a value in this one: ``value * factor + offset``."""

    symbol: str
    factor: float = 1.0
    offset: float = 0.0


@dataclass(frozen=True)
class Kind:
    """A kind of quantity with its units; the larger ones, where there are any, are taken from one of them on."""

    name: str
    metric: Unit
    imperial: Unit
    large_metric: Unit | None = None
    large_imperial: Unit | None = None


def _same(name: str, symbol: str, factor: float = 1.0) -> Kind:
    return Kind(name, Unit(symbol, factor), Unit(symbol, factor))


_KM, _MILE = Unit("km", 1e-3), Unit("mi", 1 / MILE_M)
_METRE, _FOOT = Unit("m"), Unit("ft", 1 / FOOT_M)
DISTANCE = Kind("distance", _METRE, _FOOT, _KM, _MILE)  # given in m; the unit follows its size
ROAD = Kind("distance along the road", _KM, _MILE)  # given in m
LENGTH = Kind("length", _METRE, _FOOT)  # given in m
HEIGHT = Kind("height", _METRE, _FOOT)  # given in m
RANGE = Kind("range", Unit("km"), Unit("mi", 1000 / MILE_M))  # given in km
SPEED = Kind("speed", Unit("km/h", 3.6), Unit("mph", 3600 / MILE_M))  # given in m/s
SPEED_ERROR = Kind("error of speed", Unit("m/s"), Unit("ft/s", 1 / FOOT_M))  # given in m/s
ENERGY = _same("energy", "Wh")
ENERGY_OF_A_YEAR = _same("energy of a year", "kWh")  # given in kWh
CHARGE = _same("charge", "Ah")
SMALL_CHARGE = _same("small charge", "mAh", 1000.0)  # given in Ah
POWER = _same("power", "W")
CURRENT = _same("current", "A")
VOLTAGE = _same("voltage", "V")
RESISTANCE = _same("resistance", "Ω")
MASS = Kind("mass", Unit("kg"), Unit("lb", 1 / POUND_KG))
FORCE = Kind("force", Unit("N"), Unit("lbf", 1 / POUND_FORCE_N))
TORQUE = Kind("torque", Unit("N m"), Unit("lbf ft", 1 / (POUND_FORCE_N * FOOT_M)))
TEMPERATURE = Kind("temperature", Unit("°C"), Unit("°F", 1.8, 32.0))
CONSUMPTION = Kind("consumption", Unit("Wh/km"), Unit("Wh/mi", MILE_M / 1000))  # given in Wh/km
DRAG_AREA = Kind("drag area", Unit("m²"), Unit("ft²", 1 / FOOT_M**2))
PRESSURE = _same("air pressure", "hPa")
PERCENTAGE = _same("percentage", "%")
POINTS = _same("percentage points", "points")  # by which percentages differ
GRADE = _same("grade", "%")
TIME = _same("time", "s")
CLOCK_DRIFT = _same("drift of a clock", "ppm")
ANGLE = _same("angle", "°")
RATIO = _same("ratio", "")
KINDS = (
    DISTANCE, ROAD, LENGTH, HEIGHT, RANGE, SPEED, SPEED_ERROR, ENERGY, ENERGY_OF_A_YEAR, CHARGE, SMALL_CHARGE, POWER,
    CURRENT, VOLTAGE, RESISTANCE, MASS, FORCE, TORQUE, TEMPERATURE, CONSUMPTION, DRAG_AREA, PRESSURE, PERCENTAGE, GRADE,
    TIME, CLOCK_DRIFT, ANGLE, RATIO,
)  # fmt: skip
