"""What an answer rests on beside the logs: the settings, and the bike's values with where each is from."""

from collections.abc import Mapping
from dataclasses import field
from types import MappingProxyType
from typing import Literal

from ridelog.lazy import dataclass

Setting = bool | int | float | str | tuple[float, ...] | None
Settings = Mapping[str, Mapping[str, Setting]]  # question -> threshold, its unit in its name -> value

ValueSource = Literal["entered", "measured", "assumed"]


@dataclass(frozen=True)
class BikeValue:
    """One value of the bike as used; all ``None`` where none was given and none is used.

    ``limit`` : half-width of a rectangular distribution, in the unit of the value; ``None`` where it has none, or is
    itself a limit · ``source`` : "entered" in the bike file, "measured" from the ride, or "assumed"
    """

    value: float | str | bool | None = None
    limit: float | None = None
    source: ValueSource | None = None


NO_VALUE = BikeValue()


def _none() -> Mapping[str, BikeValue]:
    return MappingProxyType({})


@dataclass(frozen=True)
class BikeUsed:
    """The bike as the ride was measured with it; the keys of each section are those of the bike file."""

    name: str | None = None
    total_mass_kg: BikeValue = NO_VALUE
    rotating_mass_kg: BikeValue = NO_VALUE
    wheel_circumference_m: BikeValue = NO_VALUE
    pack: Mapping[str, BikeValue] = field(default_factory=_none)
    motor: Mapping[str, BikeValue] = field(default_factory=_none)
    sensor: Mapping[str, BikeValue] = field(default_factory=_none)
    road: Mapping[str, BikeValue] = field(default_factory=_none)
    cost: Mapping[str, BikeValue] = field(default_factory=_none)

    def values(self) -> dict[str, BikeValue]:
        """Every value by its place in the bike file, as "pack.full_cell_v"."""
        own = {f"bike.{key}": getattr(self, key) for key in OWN_KEYS}
        return own | {f"{section}.{key}": used for section in SECTIONS for key, used in getattr(self, section).items()}


OWN_KEYS = ("total_mass_kg", "rotating_mass_kg", "wheel_circumference_m")  # of the section [bike]
SECTIONS = ("pack", "motor", "sensor", "road", "cost")
