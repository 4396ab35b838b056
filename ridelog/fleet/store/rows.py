"""A measured ride as rows of the tables of a store."""

import hashlib
import json
from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np
import pandas as pd
import pyarrow as pa

from ridelog.answer.frames import Row, row_of, rows
from ridelog.answer.hills import Hill
from ridelog.answer.ride import Answer
from ridelog.fleet.store.columns import BESIDE, SECTIONS, arrow_schema
from ridelog.fleet.store.layout import month_of
from ridelog.fleet.store.measured import Extra, MeasuredRide, Names
from ridelog.fleet.store.packed import by_ride, packed, unpacked
from ridelog.uncertain.quantity import Quantity

LINE_STEP_M = 20.0  # between points of a hill's way, at most: a bend of 100 m radius is met to 0.5 m
LONGEST_UNSEEN_M = 100.0  # of a way without a position; beyond, the line would be made up

# Rows of the budget of the recovered share -> their column.
_ERRORS: Mapping[str, str] = {
    "current zero": "u_zero_pct",
    "charge against discharge gain": "u_charge_gain_pct",
    "sampling and noise": "u_sampling_pct",
    "missing samples": "u_missing_pct",
}


def tables_of(ride: MeasuredRide) -> dict[str, pa.Table]:
    """The rows that a ride has in each table; a table in which it has none is left out.

    Raises
    ------
    ValueError : ``extra`` names a column that there is not
    """
    answer = ride.answer
    month = month_of(answer.ride.start)
    beside: Row = {"key": ride.key, "bike": ride.bike, "month": month, "ride_start": answer.ride.start}
    hills = [{**row_of(hill), **_line(hill, answer.series)} for hill in answer.hills]
    held: Mapping[str, Sequence[Mapping[str, Any]]] = {
        "answers": [answers_row(ride)],
        "hills": [{**beside, **row} for row in hills],
        "events": [{**beside, **row} for row in rows(answer, "events")],
        "findings": [{**beside, **row} for row in rows(answer, "findings")],
    }
    return {name: pa.Table.from_pylist(list(each), arrow_schema(name)) for name, each in held.items() if each}


def answers_row(ride: MeasuredRide) -> Row:
    """The row of answers; a column of ``extra`` stands over what the answer itself tells.

    Raises
    ------
    ValueError : ``extra`` names a column that there is not
    """
    if strange := sorted(set(ride.extra) - set(BESIDE)):
        raise ValueError(f"a store has no column {strange[0]}")
    answer = ride.answer
    row: Row = {"key": ride.key, "name": ride.name, "group": ride.group, "ridelog": answer.ridelog}
    for section in SECTIONS:
        row |= {f"{section}_{name}": cell for name, cell in row_of(getattr(answer, section)).items()}
    for name, value in {**_told_by(answer), **ride.extra}.items():
        row |= _cells(name, value)
    return {**row, "answer": json.dumps(answer.to_dict(), ensure_ascii=False, separators=(",", ":"))}


def named(content: bytes, path: str, of: tuple[str, str], names: Names) -> bytes:
    """The rows of a ride in a file, with other names in them.

    Parameters
    ----------
    content : of the file
    path : of the file, for messages
    of : its table, and the key of the ride
    names : of the ride

    Returns
    -------
    content : all else as it was

    Raises
    ------
    StoreError : it is no such file
    """
    table, key = of
    held = unpacked(content, path)
    rows = by_ride(held).get(key, held.slice(0, 0))
    told = {"name": names.name, "group": names.group} if table == "answers" else {"bike": names.bike}
    for name, value in told.items():
        at = rows.schema.get_field_index(name)
        rows = rows.set_column(at, rows.schema.field(at), pa.array([value] * len(rows), pa.string()))
    return packed(rows)


def _cells(name: str, value: Extra) -> Row:
    if BESIDE[name][0] is not Quantity:
        return {name: value if not isinstance(value, Quantity) else value.value}
    if not isinstance(value, Quantity):
        return {name: value}
    return {name: value.value, f"{name}_low95": value.low95, f"{name}_high95": value.high95}


def _told_by(answer: Answer) -> dict[str, Extra]:
    """The columns beside the sections that the answer itself tells."""
    told: dict[str, Extra] = {
        "can_show_return": all(finding.code != "cannot-show-return" for finding in answer.findings),
        "log_layout": log_layout(answer),
    }
    for name in ("air_temperature_c", "battery_temperature_c"):
        known = answer.series[name].dropna() if name in answer.series else ()
        told[name] = float(np.mean(known)) if len(known) else None
    for budget in answer.budget:
        if budget.quantity == "recovered":
            told |= dict.fromkeys(_ERRORS.values(), 0.0)
            told |= {_ERRORS[row.name]: row.u for row in budget.rows if row.name in _ERRORS}
    return told


def log_layout(answer: Answer) -> str | None:
    """A digest of the columns and units of the log with the current; ``None`` without one."""
    log = next((source for source in answer.sources if source.role in ("electrical", "both")), None)
    if log is None:
        return None
    held = [[log.format, *([use.column, use.quantity, use.unit] for use in log.columns)]]
    return hashlib.sha256(json.dumps(held, ensure_ascii=False).encode()).hexdigest()[:16]


def _line(hill: Hill, series: pd.DataFrame) -> dict[str, Any]:
    """The way of a hill from its start to its end; unknown where positions are missing on more than a bend of it."""
    if not {"distance_m", "latitude_deg", "longitude_deg"} <= set(series):
        return {}
    known = series[["distance_m", "latitude_deg", "longitude_deg"]].dropna().drop_duplicates("distance_m")
    distance_m = known["distance_m"].to_numpy()
    reach = np.searchsorted(distance_m, [hill.start_m, hill.end_m])
    inside = distance_m[max(reach[0] - 1, 0) : reach[1] + 1]
    ends = np.concatenate([[hill.start_m], inside.clip(hill.start_m, hill.end_m), [hill.end_m]])
    if not len(inside) or np.diff(ends).max() > LONGEST_UNSEEN_M:
        return {}
    at_m = np.linspace(hill.start_m, hill.end_m, 1 + int(np.ceil((hill.end_m - hill.start_m) / LINE_STEP_M)))
    return {
        f"line_{name}": np.round(np.interp(at_m, distance_m, known[name].to_numpy()), 6).tolist()  # 0.1 m
        for name in ("latitude_deg", "longitude_deg")
    }
