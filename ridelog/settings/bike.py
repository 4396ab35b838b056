"""The bike file: what the user knows about bike, pack, motor, sensor, road and prices.

Every key is optional. An unknown key or a value out of range is an error that names key, line and range.
Half-widths called "limit" are those of a rectangular distribution (JCGM 100:2008, 4.3.7).
"""

from collections.abc import Mapping
from pathlib import Path
from typing import Annotated, Any, BinaryIO, Literal

from pydantic import AfterValidator, Field, ValidationError
from pydantic.fields import FieldInfo

from ridelog.errors import BikeFileError
from ridelog.settings.toml_files import BIKE_SECTIONS, MAP_SECTIONS, Section, line_of, read_toml
from ridelog.tell.refusals import settings as refusals


def _in(low: float, high: float) -> Any:
    return Field(default=None, ge=low, le=high)


def _with_one_zero(value: float | None) -> float | None:
    """-0.0 as 0.0: as the lower end of a range it would lie above the upper one."""
    return None if value is None else value + 0.0


Number = Annotated[float | None, Field(allow_inf_nan=False), AfterValidator(_with_one_zero)]


class BikeSection(Section):
    """The bike as ridden."""

    name: str | None = Field(default=None, max_length=200)
    total_mass_kg: Number = _in(30, 600)
    total_mass_limit_kg: Number = _in(0, 200)
    wheel_circumference_m: Number = _in(0.5, 3.5)
    rotating_mass_kg: Number = _in(0, 30)


class PackSection(Section):
    """The battery pack and the limits that its maker states."""

    cells_in_series: int | None = Field(default=None, ge=1, le=40)
    capacity_ah: Number = _in(0.5, 500)
    full_cell_v: Number = _in(2.0, 4.5)
    max_charge_a: Number = _in(0, 400)
    min_charge_temperature_c: Number = _in(-40, 40)
    charge_path: Literal["allowed", "blocked", "unknown"] = "unknown"


class MotorSection(Section):
    """The drive."""

    kind: Literal["direct-drive", "geared-locked", "geared-freewheel", "mid-drive"] | None = None


class SensorSection(Section):
    """What is known of the current and voltage sensors."""

    current_zero_limit_a: Number = _in(0, 20)
    current_gain_limit_pct: Number = _in(0, 50)
    charge_gain_limit_pct: Number = _in(0, 50)
    voltage_gain_limit_pct: Number = _in(0, 20)
    standby_draw_a: Number = _in(0, 5)
    averaged: bool = False


class RoadSection(Section):
    """Road load and weather."""

    cda_m2: Number = _in(0.1, 3)
    cda_limit_m2: Number = _in(0, 2)
    crr: Number = _in(0.001, 0.1)
    crr_limit: Number = _in(0, 0.1)
    motor_drag_n: Number = _in(0, 100)
    air_temperature_c: Number = _in(-40, 55)
    air_pressure_hpa: Number = _in(500, 1100)
    wind_mps: Number = _in(-40, 40)


class CostSection(Section):
    """Prices, all the user's own."""

    price_per_kwh: Number = _in(0, 1e5)
    currency: str | None = Field(default=None, max_length=20)
    regen_premium: Number = _in(0, 1e9)
    km_per_year: Number = _in(0, 200_000)


class Bike(Section):
    """The whole bike file; an absent section or key is ``None`` (or its stated default)."""

    bike: BikeSection = BikeSection()
    pack: PackSection = PackSection()
    motor: MotorSection = MotorSection()
    sensor: SensorSection = SensorSection()
    road: RoadSection = RoadSection()
    cost: CostSection = CostSection()


def read_bike(source: str | Path | BinaryIO, *, name: str | None = None) -> Bike:
    """Read a bike file.

    Parameters
    ----------
    source : path, or binary file opened for reading
    name : what messages call it; the path, by default

    Raises
    ------
    BikeFileError : not readable, not TOML, an unknown key, or a value out of range
    """
    label = name or str(source if isinstance(source, (str, Path)) else getattr(source, "name", "bike file"))
    text, data = read_toml(source, label, BikeFileError, option="--bike", form=lambda _: refusals.ONE_KEY_A_LINE)
    try:
        return Bike.model_validate(data)
    except ValidationError as error:
        raise explained(label, text, data, error) from error


def explained(label: str, text: str, data: Mapping[str, Any], error: ValidationError) -> BikeFileError:
    """The first of pydantic's complaints about a bike file as one of ours.

    Parameters
    ----------
    label : what the file is called
    text, data : of the file, and what it says
    error : with the complaints

    Returns
    -------
    The error.
    """
    first = error.errors(include_url=False)[0]
    keys = [str(part) for part in first["loc"]]
    line = line_of(text, keys)
    if first["type"] == "extra_forbidden":
        model = Bike if len(keys) == 1 else Bike.model_fields[keys[0]].annotation
        known = list(model.model_fields) if model is not None else []
        if keys[0] in MAP_SECTIONS:
            mixed = not BIKE_SECTIONS.isdisjoint(data)
            return refusals.swapped(BikeFileError, label, keys[0], line=line, is_map=True, mixed=mixed)
        return refusals.unknown_key(BikeFileError, label, ".".join(keys), line=line, known=known)
    wrong = refusals.wrong_value(".".join(keys[:2]), first["input"], _allowed(keys[:2], first))
    return refusals.not_allowed(BikeFileError, label, wrong, line=line)


def _allowed(keys: list[str], complaint: Any) -> str:
    """What the key allows, in words."""
    section = Bike.model_fields[keys[0]].annotation
    if len(keys) > 1 and section is not None:
        low, high = range_of(section.model_fields[keys[1]])
        if low is not None and high is not None:
            whole = section.model_fields[keys[1]].annotation in (int, int | None)
            return refusals.in_range(low, high, whole=whole)
    return refusals.allowed(complaint)


def range_of(field: FieldInfo) -> tuple[float | None, float | None]:
    """The least and the most that a field takes; ``None`` where it has no range."""
    low = next((each.ge for each in field.metadata if hasattr(each, "ge")), None)
    high = next((each.le for each in field.metadata if hasattr(each, "le")), None)
    return low, high
