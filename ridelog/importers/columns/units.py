"""In which unit a column is: what its quantity implies, what its values allow, what other columns show."""

import numpy as np

from ridelog.findings import Fact, Finding, Severity
from ridelog.importers.columns import evidence
from ridelog.importers.columns.column import Assignment, Column, Question, entry_table
from ridelog.tell.reasons import columns as reasons
from ridelog.tell.refusals import columns as refusals
from ridelog.vocabulary.headers import quantity_named
from ridelog.vocabulary.units import UNITS, Unit
from ridelog.vocabulary.words import Quantity

# Quantities without which, or wrongly read, every answer would be wrong: their questions refuse the log.
_NEEDED = frozenset({"battery current", "battery power"})
# Left out where their unit is not known, with a warning: the answer is much poorer without them.
_MISSED = frozenset({"battery voltage", "speed"})
_LARGEST_DEG = 180.0
_CELL_RANGE_V = (1.5, 5.0)


def _set_unit(column: Column, found: tuple[Unit, str] | None) -> None:
    if found:
        column.unit = found[0]
        column.reasons.append(found[1])


def certain_units(todo: Assignment) -> None:
    """Units that the quantity implies, or that only one range of values allows."""
    for column in todo.columns:
        if column.values is None or column.quantity is None:
            continue
        if _is_no_distance(todo, column):
            column.leave_out(reasons.NEVER_CHANGES)
            continue
        fits = quantity_named(column.quantity)
        if column.odd_unit and fits is not None and not fits.implied_unit and "one" not in fits.dimensions:
            _open_unit(todo, column, fits.name, fits)
            continue
        if column.unit is None and fits is not None:
            _imply(todo, column, fits)
        if column.quantity == "battery voltage" and column.unit and not column.by_map:
            middle = float(np.nanmedian(column.si))
            if _CELL_RANGE_V[0] < middle < _CELL_RANGE_V[1]:
                column.quantity = "cell voltage 1"
                column.reasons.append(reasons.single_cell(middle))


def _is_no_distance(todo: Assignment, column: Column) -> bool:
    """Whether a "trip" without a unit never grows: the trip's number, say, which has none."""
    if column.quantity != "distance" or column.unit or "distance" in todo.habits.usual_units or column.values is None:
        return False
    known = column.values[np.isfinite(column.values)]
    return bool(len(known) > 1 and known.min() == known.max())


def _imply(todo: Assignment, column: Column, fits: Quantity) -> None:
    values = column.values if column.values is not None else np.empty(0)
    largest = float(np.nanmax(np.abs(values)))
    if fits.dimensions == ("angle",) and largest > _LARGEST_DEG:
        _left_open(todo, column, ("°", "semicircles"))
    elif fits.implied_unit:
        column.unit = UNITS[fits.implied_unit.lower()]
    elif fits.name == "battery voltage":
        _set_unit(column, evidence.unit_by_range(values, (("v", 1.5, 1000), ("mv", 1500, 1_000_000))))
    elif fits.name.startswith("cell voltage"):
        _set_unit(column, evidence.unit_by_range(values, (("v", 0.5, 6), ("mv", 500, 6000))))
    elif "one" in fits.dimensions:
        spelling = "ratio" if largest <= 1.05 else "%"
        if largest <= 110:
            _set_unit(column, (UNITS[spelling], reasons.share_by_largest(largest, spelling)))
        else:
            column.leave_out(reasons.no_share(largest))


def electrical_units(todo: Assignment) -> None:
    """Units of current and power, by each other and by the voltage."""
    volts = todo.first("battery voltage") or todo.first("cell voltage 1")
    voltage = volts.si if volts else None
    for column in todo.of("battery power"):
        current = todo.first("battery current")
        if column.unit is None and column.values is not None:
            _set_unit(column, evidence.unit_of_power(column.values, voltage, current.si if current else None))
        _take_usual(todo, column)
    for column in todo.of("battery current") + todo.of("motor current"):
        power = todo.first("battery power") if column.quantity == "battery current" else None
        if column.unit is None and column.values is not None:
            _set_unit(column, evidence.unit_of_current(column.values, voltage, power.si if power else None))


def _take_usual(todo: Assignment, column: Column) -> None:
    """The unit that the format counts in, where a field states none and nothing shows another."""
    spelling = todo.habits.usual_units.get(column.quantity or "")
    if column.unit is None and spelling:
        unit = UNITS[spelling]
        _set_unit(column, (unit, reasons.usual_unit(unit.name)))


def ask_unit(todo: Assignment, column: Column, quantity: str) -> None:
    """A column whose unit nothing shows: refused where it is needed, left out where it is not.

    Parameters
    ----------
    todo : the decisions so far
    column, quantity : the column, and what it is
    """
    fits = quantity_named(quantity)
    if column.unit is not None or column.quantity is None or fits is None:
        return
    if quantity in ("speed", "distance"):
        return  # they may yet explain each other
    _take_usual(todo, column)
    if column.unit is None:
        _open_unit(todo, column, quantity, fits)


def _open_unit(todo: Assignment, column: Column, quantity: str, fits: Quantity) -> None:
    choices = tuple(dict.fromkeys(u.name for u in UNITS.values() if u.dimension in fits.dimensions))
    odd = column.odd_unit
    text = refusals.which_unit(column.header, choices) if not odd else refusals.odd_unit(column.header, odd, choices)
    needed = quantity in _NEEDED and todo.habits.refuses
    other = refusals.or_else(choices[1:])
    table = entry_table(column.header, quantity, choices[0])
    todo.ask(Question(text, table, other, blocking=needed), [column])
    if not needed:
        grave = quantity in _MISSED and todo.habits.refuses
        _tell_open(todo, column, choices, "warning" if grave else "note")


def _left_open(todo: Assignment, column: Column, choices: tuple[str, ...]) -> None:
    """Leave a column out that a rider can do without, with a word on the units that it may be in."""
    column.leave_out(reasons.UNIT_OPEN)
    _tell_open(todo, column, choices, "note")


def _tell_open(todo: Assignment, column: Column, choices: tuple[str, ...], severity: Severity) -> None:
    column.is_told = True
    facts: dict[str, Fact] = {"file": todo.name, "column": column.header, "units": choices}
    if column.odd_unit:
        facts["stated"] = column.odd_unit
    todo.findings.append(Finding("unit-unknown", severity, facts))


def rate_units(todo: Assignment) -> None:
    """Units of speed and distance, by each other, and by the way between the positions."""
    speed, distance = (todo.first(q, with_unit=False) for q in ("speed", "distance"))
    if speed and distance:
        _by_each_other(speed, distance, todo.time_s)
    if speed and speed.unit is None:
        _speed_by_positions(todo, speed)
    if distance and distance.unit is None:
        _distance_by_positions(todo, distance)
    if speed and distance:
        _by_each_other(speed, distance, todo.time_s)
    for column in (speed, distance):
        fits = quantity_named(column.quantity) if column and column.quantity else None
        if column is None or fits is None:
            continue
        _take_usual(todo, column)
        if column.unit is None:
            _open_unit(todo, column, fits.name, fits)


def _by_each_other(speed: Column, distance: Column, time_s: np.ndarray) -> None:
    """The unit of one of the two, where the other's is known."""
    if speed.values is None or distance.values is None:
        return
    if speed.unit is None and distance.unit:
        _set_unit(speed, evidence.unit_by_rate(speed.values, distance.si, time_s, of="speed"))
    elif distance.unit is None and speed.unit:
        _set_unit(distance, evidence.unit_by_rate(speed.si, distance.values, time_s, of="distance"))


def _speed_by_positions(todo: Assignment, speed: Column) -> None:
    """The unit in which a speed agrees with the positions; one that agrees in none may be no speed."""
    latitude, longitude = todo.first("latitude"), todo.first("longitude")
    if latitude is None or longitude is None or speed.values is None:
        return
    by_position_mps = evidence.speed_by_position(latitude.si, longitude.si, todo.time_s)
    found = evidence.unit_of_speed(speed.values[1:], by_position_mps, np.diff(todo.time_s))
    if found is None:
        return
    unit, comparison = found
    if unit is not None:
        _set_unit(speed, (unit, reasons.unit_by_positions(unit.name, comparison)))
    elif not todo.habits.refuses:
        speed.leave_out(reasons.fits_no_unit(comparison))


def _distance_by_positions(todo: Assignment, distance: Column) -> None:
    """The unit in which a distance grows as the positions move on."""
    latitude, longitude = todo.first("latitude"), todo.first("longitude")
    if latitude is None or longitude is None or distance.values is None:
        return
    _set_unit(distance, evidence.unit_by_way(distance.values, latitude.si, longitude.si))


def settle_counter(todo: Assignment, column: Column) -> None:
    """A count of charge or energy whose words do not say of which direction: by what the current adds up to."""
    current, volts = todo.first("battery current"), todo.first("battery voltage")
    kind = "charge" if column.quantity == "charge counter" else "energy"
    if column.unit is None or current is None or (kind == "energy" and volts is None):
        column.leave_out(reasons.DIRECTION_UNKNOWN)
        return
    rate = current.si if kind == "charge" or volts is None else current.si * volts.si
    known_mask = np.isfinite(rate)
    middle = (rate[known_mask][1:] + rate[known_mask][:-1]) / 2 * np.diff(todo.time_s[known_mask]) / 3600
    sums = {
        f"{kind} drawn": float(np.sum(middle[middle > 0])),
        f"{kind} returned": float(-np.sum(middle[middle < 0])),
        f"net {kind}": float(np.sum(middle)),
    }
    known = column.si[np.isfinite(column.si)]
    grown = float(known[-1] - known[0])
    fits = [name for name, value in sums.items() if value and abs(grown - value) <= 0.05 * abs(value)]
    if not fits:
        column.leave_out(reasons.DIRECTION_DISAGREES)
        return
    column.quantity = fits[0]
    column.reasons.append(reasons.counter_grows(grown, sums[fits[0]], column.unit.name[-2:]))
