"""What an answer rests on: the settings, the bike's values and where each is from, the columns as read, the places."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from types import MappingProxyType

import numpy as np
import pandas as pd

from ridelog.analysis.basis.thresholds import settings_used
from ridelog.analysis.electrical.sensor import DEFAULT_LIMITS
from ridelog.analysis.electrical.zero import LARGEST_STANDBY_A
from ridelog.analysis.pack.record import coldest_c, full_cell_v
from ridelog.analysis.road.drag import DEFAULT_CIRCUMFERENCE_M, assumed_drag, told_drag
from ridelog.analysis.road.height_coverage import Movement, height_covered_pct, partial_findings
from ridelog.analysis.road.load import DEFAULTS, road_value
from ridelog.analysis.road.load_uncertainty import DEFAULT_SPEED_LIMIT_RATIO, SPEED_LIMIT_RATIOS, road_limits
from ridelog.analysis.road.places import Positions
from ridelog.answer.hills import Hill
from ridelog.answer.provenance import NO_VALUE, BikeUsed, BikeValue
from ridelog.answer.ride import Answer, ColumnUse, RideSummary
from ridelog.answer.worth import Worth
from ridelog.arrays import Floats, pause_steps
from ridelog.findings import gravest_first
from ridelog.recording import ColumnReading, Ride
from ridelog.settings.bike import Bike

LIMIT_KEYS = ("total_mass_limit_kg", "cda_limit_m2", "crr_limit")  # told as the limits of the values that they are of


def with_provenance(answer: Answer, ride: Ride, *, min_height_m: float, min_grade_pct: float) -> Answer:
    """The answer with what it rests on, and a finding where the height is known for a part of the ride only.

    Parameters
    ----------
    answer : measured, with its series
    ride : what it was measured from
    min_height_m, min_grade_pct : of a hill, as it was measured with [m], [%]

    Returns
    -------
    New answer; the one given stays as it was.
    """
    covered_pct = _height_covered_pct(answer.series, ride)
    columns = [tuple(column_use(reading) for reading in recording.columns) for recording in ride.recordings]
    return replace(
        answer,
        settings=settings_used(ride, min_height_m=min_height_m, min_grade_pct=min_grade_pct),
        bike=bike_used(ride, answer),
        ride=_summary(answer.ride, ride, covered_pct),
        sources=tuple(replace(source, columns=used) for source, used in zip(answer.sources, columns, strict=True)),
        hills=with_places(answer.hills, answer.series),
        findings=gravest_first((*answer.findings, *partial_findings(covered_pct))),
    )


def _summary(summary: RideSummary, ride: Ride, covered_pct: float | None) -> RideSummary:
    zones = [recording.time_zone for recording in ride.recordings if recording.time_zone is not None]
    return replace(summary, height_covered_pct=covered_pct, time_zone=zones[0] if zones else None)


def _height_covered_pct(series: pd.DataFrame, ride: Ride) -> float | None:
    time_s = _column(series, "elapsed_s")
    movement = Movement(
        time_s,
        _column(series, "altitude_m"),
        _column(series, "speed_mps"),
        _column(series, "distance_m"),
        _column(series, "current_a"),
        pause_steps(time_s, ride.reference.pauses_s),
    )
    return height_covered_pct(movement)


def _column(series: pd.DataFrame, name: str) -> Floats:
    return series[name].to_numpy(dtype=float) if name in series else np.full(len(series), np.nan)


def with_places(hills: Sequence[Hill], series: pd.DataFrame) -> tuple[Hill, ...]:
    """The hills with the places where they begin and end."""
    where = Positions.known(*(_column(series, name) for name in ("distance_m", "latitude_deg", "longitude_deg")))
    return tuple(replace(hill, start=where.place(hill.start_m), end=where.place(hill.end_m)) for hill in hills)


def column_use(reading: ColumnReading) -> ColumnUse:
    """How a column was understood, for the answer."""
    used = reading.channel is not None
    return ColumnUse(
        column=reading.header,
        quantity=reading.quantity or None,
        unit=reading.unit,
        factor=reading.factor if used else None,
        sign=reading.sign if used else None,
        why=reading.why,
        channel=reading.channel,
        offset=reading.offset if used else None,
    )


def bike_used(ride: Ride, answer: Answer) -> BikeUsed:
    """Every value of the bike as the ride was measured with it.

    Parameters
    ----------
    ride : its bike file, and what was found of the bike while its files were put together
    answer : tells which assumptions it uses
    """
    bike, dragged = ride.bike, _benefit_known(answer.worth)
    road = road_values(bike, answer.series)
    motor_drag = _motor_drag(bike, used=dragged)
    return BikeUsed(
        name=bike.bike.name,
        total_mass_kg=road["bike.total_mass_kg"],
        rotating_mass_kg=road["bike.rotating_mass_kg"],
        wheel_circumference_m=_circumference(ride, used=dragged),
        pack=_section(bike, "pack", pack_values(bike)),
        motor=_section(bike, "motor", {}),
        sensor=_section(bike, "sensor", sensor_values(bike)),
        road=_section(bike, "road", {**_of_section(road, "road"), "motor_drag_n": motor_drag}),
        cost=_section(bike, "cost", {}),
    )


def _section(bike: Bike, section: str, used: Mapping[str, BikeValue]) -> Mapping[str, BikeValue]:
    """All keys of a section of the bike file: as used where that is told, else as entered."""
    entered = getattr(bike, section)
    values = {
        key: used[key] if key in used else _entered(getattr(entered, key))
        for key in type(entered).model_fields
        if key not in LIMIT_KEYS
    }
    return MappingProxyType(values)


def _entered(value: float | str | bool | None) -> BikeValue:
    return NO_VALUE if value is None else BikeValue(value, None, "entered")


def _of_section(values: Mapping[str, BikeValue], section: str) -> dict[str, BikeValue]:
    return {key.partition(".")[2]: value for key, value in values.items() if key.startswith(f"{section}.")}


def road_values(bike: Bike, series: pd.DataFrame) -> dict[str, BikeValue]:
    """What the road load is made of, by key of `ridelog.analysis.road.load.DEFAULTS`."""
    height_m = _column(series, "smooth_altitude_m")
    mean_m = float(np.nanmean(height_m)) if np.isfinite(height_m).any() else None
    limits, values = road_limits(bike), {}
    for key in DEFAULTS:
        value, given = road_value(bike, key, mean_height_m=mean_m)
        values[key] = BikeValue(value, limits[key], "entered" if given else "assumed")
    return values


def sensor_values(bike: Bike) -> dict[str, BikeValue]:
    """Limits of the sensor, which are values of their own; a standby draw not entered lies from 0 to the largest."""
    sensor = bike.sensor
    values = {
        key: _entered(getattr(sensor, key)) if getattr(sensor, key) is not None else BikeValue(limit, None, "assumed")
        for key, limit in DEFAULT_LIMITS.items()
    }
    half_a = LARGEST_STANDBY_A / 2
    standby = BikeValue(half_a, half_a, "assumed") if sensor.standby_draw_a is None else _entered(sensor.standby_draw_a)
    stated = "averaged" in sensor.model_fields_set
    averaged = BikeValue(sensor.averaged, None, "entered" if stated else "assumed")
    return {**values, "standby_draw_a": standby, "averaged": averaged}


def pack_values(bike: Bike) -> dict[str, BikeValue]:
    """Limits of the pack that are assumed where the bike file gives none."""
    pack = bike.pack
    used = {
        "full_cell_v": full_cell_v(pack),
        "min_charge_temperature_c": coldest_c(pack),
        "charge_path": pack.charge_path,
    }
    entered = {key for key in pack.model_fields_set if getattr(pack, key) is not None}
    return {key: BikeValue(value, None, "entered" if key in entered else "assumed") for key, value in used.items()}


def _motor_drag(bike: Bike, *, used: bool) -> BikeValue:
    """The drag of the unpowered motor: told by the bike file, or assumed where the worth of the ride needs it."""
    told = told_drag(bike)
    if told is None and not used:
        return NO_VALUE
    drag = told or assumed_drag(bike)
    return BikeValue(drag.value_n, (drag.high_n - drag.low_n) / 2, "entered" if told is not None else "assumed")


def _circumference(ride: Ride, *, used: bool) -> BikeValue:
    """The circumference of the wheel: entered, found from the track, or assumed where a torque needs a radius."""
    entered_m, found_m = ride.bike.bike.wheel_circumference_m, ride.wheel_circumference_m
    value_m = entered_m if entered_m is not None else found_m
    if value_m is None:
        return BikeValue(DEFAULT_CIRCUMFERENCE_M, None, "assumed") if used else NO_VALUE
    ratio = SPEED_LIMIT_RATIOS.get("wheel", DEFAULT_SPEED_LIMIT_RATIO) if ride.speed_source == "wheel" else None
    limit_m = None if ratio is None else ratio * value_m
    return BikeValue(value_m, limit_m, "entered" if entered_m is not None else "measured")


def _benefit_known(worth: Worth | None) -> bool:
    return worth is not None and (
        worth.benefit is not None or (worth.would is not None and worth.would.benefit is not None)
    )
