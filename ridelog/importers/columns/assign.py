"""Which column becomes which channel, in which unit and with which sign: words first, then the values' evidence.

Works on a list of `Column`, one for each column of the log, and leaves on each what was decided and why.
What can be read in two ways and is needed becomes a `Question`.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from ridelog.findings import Fact, Finding
from ridelog.importers.columns.choice import join_directions, keep_one, settle_bare_power, settle_controller_current
from ridelog.importers.columns.column import TEXT_LOG, Assignment, Column, Habits, entry_table
from ridelog.importers.columns.sign import settle_signs
from ridelog.importers.columns.units import certain_units, electrical_units, rate_units
from ridelog.tell.reasons import columns as reasons
from ridelog.tell.reasons.headers import map_says, map_says_factor, map_says_sign
from ridelog.tell.refusals import columns as refusals
from ridelog.vocabulary.headers import dimensions_of, quantity_named
from ridelog.vocabulary.units import unit_named

if TYPE_CHECKING:
    from ridelog.settings.column_map import ColumnEntry


def apply_entry(column: Column, name: str) -> None:
    """Let the map overrule what the words were taken to say.

    Raises
    ------
    InputError : the cells state a unit that does not fit the quantity or the header, and the map does not decide
    """
    entry = column.entry
    if entry is not None and not entry.use:
        column.leave_out(reasons.MAP_SAYS_SO)
        return
    if entry is not None:
        _overrule(column, entry)
        _refuse_unfit_unit(column, entry, name)
    if entry is None or not entry.unit:
        _refuse_unfit_cells(column, name)


def _overrule(column: Column, entry: ColumnEntry) -> None:
    """What the map says of a column."""
    if entry.quantity:
        column.quantity, column.reasons = entry.quantity, [map_says(entry.quantity)]
        fits = quantity_named(entry.quantity)
        if column.unit and fits and column.unit.dimension not in fits.dimensions:
            column.unit = None
    if entry.sign:
        column.sign, column.sign_settled = entry.sign, True
        column.reasons.append(map_says_sign(entry.sign))
    if entry.unit:
        column.unit = unit_named(entry.unit)
        column.reasons.append(map_says(entry.unit))
    if entry.factor is not None:
        column.reasons.append(map_says_factor(entry.factor))


def _refuse_unfit_unit(column: Column, entry: ColumnEntry, name: str) -> None:
    """Raise where the map says a unit alone, and it is none of the quantity that the words name."""
    if entry.unit and column.unit and column.quantity and column.unit.dimension not in dimensions_of(column.quantity):
        raise refusals.map_in_unfit_unit(name, column.header, column.unit.name, column.quantity)


def _refuse_unfit_cells(column: Column, name: str) -> None:
    """Raise where the unit in the cells is not one of the quantity, or not the header's."""
    stated, seen = column.meaning.unit, column.cell_unit
    if seen is None or not column.quantity:
        return
    fits = quantity_named(column.quantity)
    if fits and seen.dimension not in fits.dimensions:
        raise refusals.cells_in_unfit_unit(name, column.header, seen.name, fits.name)
    if stated and stated != seen:
        entry = entry_table(column.header, column.quantity, seen.name)
        raise refusals.header_against_cells(name, column.header, (stated.name, seen.name), entry)


def assign(columns: list[Column], time_s: np.ndarray, name: str, habits: Habits = TEXT_LOG) -> Assignment:
    """Decide on every column.

    Parameters
    ----------
    columns : with the map's entries applied
    time_s : times of the rows, shape (n,) [s]
    name : of the file, for messages
    habits : what holds where neither words nor values decide

    Returns
    -------
    assignment : channels in SI and sign, questions left open, findings; ``columns`` carry the reasons
    """
    todo = Assignment(name, columns, time_s, habits)
    for column in columns:
        if column.values is not None and column.quantity and not np.isfinite(column.values).any():
            column.is_empty = True
            column.leave_out(reasons.NO_NUMBER)
    _settle_quantities(todo)
    for column in columns:
        if column.quantity and column.values is not None and (fits := quantity_named(column.quantity)):
            column.channel = fits.channel
    settle_signs(todo)
    for column in columns:
        if column.channel and column.values is not None:
            known = todo.channels.get(column.channel)
            todo.channels[column.channel] = column.si if known is None else _joined(known, column.si)
    _motor_only(todo)
    todo.findings += _missing_values(todo)
    return todo


def _settle_quantities(todo: Assignment) -> None:
    """One column for each quantity, its unit known; the electrical ones first, as they are evidence on each other."""
    certain_units(todo)
    keep_one(todo, "battery voltage")
    electrical_units(todo)
    settle_controller_current(todo)
    settle_bare_power(todo)
    for quantity in ("battery current", "battery power"):
        join_directions(todo, quantity)
        keep_one(todo, quantity)
    for quantity in ("speed", "distance"):
        keep_one(todo, quantity)
    rate_units(todo)
    for quantity in dict.fromkeys(c.quantity for c in todo.columns if c.quantity):
        if quantity not in ("time", "date"):
            keep_one(todo, quantity)


def _joined(one: np.ndarray, other: np.ndarray) -> np.ndarray:
    """Sum of what flows out and what flows in; a side without a value is none while the other has one."""
    both_unknown = np.isnan(one) & np.isnan(other)
    return np.where(both_unknown, np.nan, np.nan_to_num(one) + np.nan_to_num(other))


def _motor_only(todo: Assignment) -> None:
    if "motor_current_a" in todo.channels and not {"current_a", "power_w"} & set(todo.channels):
        if any(question.blocking for question in todo.questions):
            return
        todo.findings.append(Finding("motor-current-only", "warning", {"file": todo.name}))


def _missing_values(todo: Assignment) -> list[Finding]:
    """How many values of the electrical channels are missing."""
    found = []
    for channel in ("current_a", "voltage_v", "power_w"):
        values = todo.channels.get(channel)
        n_missing = int(np.isnan(values).sum()) if values is not None else 0
        if values is not None and n_missing:
            grave = n_missing > 0.05 * len(values)
            facts: dict[str, Fact] = {
                "file": todo.name,
                "channel": channel,
                "columns": tuple(c.header for c in todo.columns if c.channel == channel and not c.native),
                "n_missing": n_missing,
                "n_all": len(values),
                "of": todo.habits.sample,
            }
            found.append(Finding("values-missing", "warning" if grave else "note", facts))
    return found
