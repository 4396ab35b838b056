"""What a document rests on, in words: what was measured, what was entered, what was assumed, under which conditions."""

from collections.abc import Sequence

from ridelog.answer.provenance import BikeValue, Settings
from ridelog.answer.ride import Answer, Source
from ridelog.tell.assumptions import benefit_assumptions, ledger_assumptions
from ridelog.tell.findings.words import plus_minus, trimmed
from ridelog.tell.kinds import (
    CHARGE,
    CURRENT,
    DISTANCE,
    DRAG_AREA,
    FORCE,
    HEIGHT,
    LENGTH,
    MASS,
    PERCENTAGE,
    PRESSURE,
    RATIO,
    SPEED,
    TEMPERATURE,
    TIME,
    VOLTAGE,
    Kind,
)
from ridelog.tell.numbers import Style, amount, counted, measured, plain, unit_of, with_unit
from ridelog.tell.table import Column, Table
from ridelog.tell.tables import ROLES
from ridelog.tell.times import duration, instant

Row = tuple[str, str]
# key of the bike file -> what it is, and in which unit people read it; ``None`` where it has none
NAMES: dict[str, tuple[str, Kind | None]] = {
    "bike.total_mass_kg": ("mass of bike, rider and load", MASS),
    "bike.rotating_mass_kg": ("mass that turns, as felt at the rim", MASS),
    "bike.wheel_circumference_m": ("circumference of the wheel", LENGTH),
    "pack.cells_in_series": ("cells in series", None),
    "pack.capacity_ah": ("capacity of the pack", CHARGE),
    "pack.full_cell_v": ("full cell, by the pack's maker", VOLTAGE),
    "pack.max_charge_a": ("charge current limit, by the pack's maker", CURRENT),
    "pack.min_charge_temperature_c": ("lowest charging temperature, by the pack's maker", TEMPERATURE),
    "pack.charge_path": ("charging through the discharge terminals", None),
    "motor.kind": ("motor", None),
    "sensor.current_zero_limit_a": ("limit of the current's zero error", CURRENT),
    "sensor.current_gain_limit_pct": ("limit of the current's gain error", PERCENTAGE),
    "sensor.charge_gain_limit_pct": ("limit of the gain's difference between directions", PERCENTAGE),
    "sensor.voltage_gain_limit_pct": ("limit of the voltage's gain error", PERCENTAGE),
    "sensor.standby_draw_a": ("current drawn at rest", CURRENT),
    "sensor.averaged": ("logged values are means over their step", None),
    "road.cda_m2": ("drag area", DRAG_AREA),
    "road.crr": ("coefficient of rolling resistance", RATIO),
    "road.motor_drag_n": ("drag of the unpowered motor at the rim", FORCE),
    "road.air_temperature_c": ("air temperature", TEMPERATURE),
    "road.air_pressure_hpa": ("air pressure", PRESSURE),
    "road.wind_mps": ("head wind", SPEED),
    "cost.price_per_kwh": ("price of a kWh", None),
    "cost.currency": ("currency", None),
    "cost.regen_premium": ("extra price of regeneration", None),
    "cost.km_per_year": ("kilometres a year", None),
}
ORIGINS = {"entered": "entered", "measured": "measured on this ride", "assumed": "assumed"}
CONDITIONS = ("bike.total_mass_kg", "road.air_temperature_c", "road.air_pressure_hpa", "road.wind_mps")
UNSEEN = "not used"
NOTHING_ENTERED = "No bike file was given, so every value of the bike is a stated default with a wide interval."
LIMITS = (
    "Each ± is the half-width of a rectangular distribution (JCGM 100:2008, 4.3.7), and is part of the intervals of "
    "whatever rests on the value."
)


def value_text(key: str, used: BikeValue, style: Style) -> str:
    """A value of the bike with its limit and unit.

    Parameters
    ----------
    key : of the bike file, with its section
    used : as the ride was measured with it
    style : units, digits and separators

    Returns
    -------
    "108 ± 3 kg", "direct-drive", "yes"; empty where there is none.
    """
    value, kind = used.value, NAMES.get(key, ("", None))[1]
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, str):
        return value
    if kind is None:
        return plain(float(value), style=style)
    if used.limit is not None:
        return plus_minus(float(value), used.limit, kind, style)
    unit = unit_of(kind, style)
    if unit.factor == 1 and not unit.offset:  # as it was entered
        return with_unit(plain(float(value), 6, style), unit.symbol, style)
    return trimmed(float(value), kind, style, digits=4)


def bike(answer: Answer, style: Style) -> Table:
    """Every value of the bike that was used, by its key in the bike file.

    Parameters
    ----------
    answer : of the ride
    style : units, digits and separators

    Returns
    -------
    A row a value.
    """
    columns = (
        Column("key", "key", align="left"),
        Column("meaning", "what it is", align="left"),
        Column("value", "value", align="left"),
        Column("origin", "origin", align="left"),
    )
    rows = tuple(
        (key, NAMES.get(key, (key, None))[0], value_text(key, used, style), _origin(used))
        for key, used in answer.bike.values().items()
        if used.value is not None
    )
    return Table("bike", "Values of the bike", columns, rows, LIMITS)


def _origin(used: BikeValue) -> str:
    return ORIGINS.get(used.source or "", UNSEEN)


def measured_rows(answer: Answer, style: Style) -> list[Row]:
    """What each file measured."""
    return [(source.path, _what(source, style)) for source in answer.sources]


def _what(source: Source, style: Style) -> str:
    named = dict.fromkeys(use.quantity for use in source.columns if use.channel is not None and use.quantity)
    holds = f": {', '.join(named)}" if named else ""
    step = amount(source.step_s, TIME, style, digits=2)
    return f"{ROLES[source.role]}, {counted(source.samples, 'sample', style=style)}, one every {step}{holds}"


def values_by_origin(answer: Answer, origin: str, style: Style) -> list[Row]:
    """The values of the bike of one origin, other than costs.

    Parameters
    ----------
    answer : of the ride
    origin : "entered", "measured" or "assumed"
    style : units, digits and separators

    Returns
    -------
    What each is, and its value.
    """
    return [
        (NAMES.get(key, (key, None))[0], value_text(key, used, style))
        for key, used in answer.bike.values().items()
        if used.source == origin and used.value is not None and not key.startswith("cost.")
    ]


def assumptions(answer: Answer, style: Style) -> list[str]:
    """What the ledger and the worth assume besides, a list each."""
    told = []
    if answer.ledger is not None and answer.ledger.assumed:
        told.append(f"Where the energy went: {ledger_assumptions(answer.ledger.assumed, style)}.")
    worth = answer.worth
    benefit = None if worth is None else worth.benefit or (worth.would.benefit if worth.would is not None else None)
    if benefit is not None:
        told.append(f"Whether it is worth it: {benefit_assumptions(benefit.assumed, style)}.")
    return told


def conditions(answer: Answer, style: Style) -> list[Row]:
    """Under which conditions the ride was ridden, as far as the answer knows them."""
    ride = answer.ride
    rows: list[tuple[str, str | None]] = [
        ("start", instant(ride.start) if ride.start else None),
        ("time zone", ride.time_zone),
        ("duration", duration(ride.duration_s, style)),
        ("moving", duration(ride.moving_s, style) if ride.moving_s is not None else None),
        ("distance", measured(ride.distance_m, DISTANCE, style) if ride.distance_m else None),
        ("climbed", measured(ride.ascent_m, HEIGHT, style) if ride.ascent_m else None),
        ("descended", measured(ride.descent_m, HEIGHT, style) if ride.descent_m else None),
    ]
    values = answer.bike.values()
    used = [(key, values[key]) for key in CONDITIONS if key in values and values[key].value is not None]
    rows += [
        (NAMES[key][0], f"{value_text(key, one, style)}, {ORIGINS.get(one.source or '', UNSEEN)}") for key, one in used
    ]
    return [(name, said) for name, said in rows if said is not None]


def settings(told: Settings, style: Style) -> Table:
    """Every threshold that was used, a row a question."""
    columns = (Column("question", "question", align="left"), Column("thresholds", "thresholds", align="left"))
    rows = tuple(
        (question.replace("_", " "), "; ".join(f"{key} = {_setting(value, style)}" for key, value in own.items()))
        for question, own in told.items()
    )
    return Table("settings", "Settings", columns, rows)


def _setting(value: object, style: Style) -> str:
    if isinstance(value, Sequence) and not isinstance(value, str):
        return " to ".join(_setting(each, style) for each in value)
    if isinstance(value, bool) or not isinstance(value, (int, float)):
        return "–" if value is None else str(value).lower()
    return plain(float(value), style=style)
