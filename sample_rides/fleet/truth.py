"""What really happened to a made-up fleet, ride by ride, and the same as frames."""

import json
from collections.abc import Mapping, Sequence
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd

from sample_rides.fleet.bikes import FleetBike, Outing
from sample_rides.fleet.faults import CODES, Condition, Fault
from sample_rides.fleet.lockstep import QuickRide

TRUTH_FILE = "truth.json"
_LEAST_HEIGHT_M = 8.0


def ride_truth(ride: QuickRide, bike: FleetBike, outing: Outing, condition: Condition) -> dict[str, Any]:
    """One ride as plain data: numbers of the whole ride, what faults have made of the bike by then, its hills.

    Parameters
    ----------
    ride : as it was simulated
    bike, outing, condition : whose ride it was, on which way and day, and after which faults
    """
    totals, pack, errors = ride.totals, ride.scenario.pack, bike.errors
    drawn_wh, returned_wh, available_wh = (totals[name] for name in ("drawn_wh", "returned_wh", "available_wh"))
    start = ride.scenario.start
    told = {
        "duration_s": ride.duration_s,
        "distance_m": float(ride.distance_m[-1]),
        "drawn_ah": totals["drawn_ah"],
        "returned_ah": totals["returned_ah"],
        "drawn_wh": drawn_wh,
        "returned_wh": returned_wh,
        "charge_recovered_pct": 100 * totals["returned_ah"] / totals["drawn_ah"],
        "energy_recovered_pct": 100 * returned_wh / drawn_wh,
        "available_wh": available_wh,
        "captured_pct": 100 * returned_wh / available_wh,
        "resistance_ohm": pack.resistance_ohm,
        "current_zero_a": errors.current_zero_a + condition.zero_drift_a,
        "wheel_scale_ratio": 1 / (errors.wheel_gain * condition.wheel_gain_ratio),
        "regen_ratio": condition.regen_ratio,
        "resistance_ratio": condition.resistance_ratio,
        "zero_drift_a": condition.zero_drift_a,
        "air_temperature_c": outing.air_temperature_c,
    }
    return {
        "start": start.isoformat(),
        "end": (start + timedelta(seconds=ride.duration_s)).isoformat(timespec="seconds"),
        "way": outing.way.name,
        "tyres": outing.tyres,
        **{name: _short(value) for name, value in told.items()},
        "hills": hills_truth(ride),
    }


def fault_truth(fault: Fault, bike: FleetBike, starts: Sequence[datetime]) -> dict[str, Any]:
    """A fault as plain data; ``code`` is what an audit calls it, ``since`` the start of the first ride concerned."""
    return {
        "kind": fault.kind,
        "code": CODES[fault.kind],
        "bike": bike.name,
        "folder": bike.folder,
        "first_ride": fault.first_ride,
        "since": starts[fault.first_ride].isoformat(),
    }


def truth_frame(truth: Mapping[str, Any] | str | Path) -> pd.DataFrame:
    """The rides of a fleet as a frame.

    Parameters
    ----------
    truth : what `write_fleet` gave, or the fleet's folder

    Returns
    -------
    rides : one row a ride, columns as in ``truth.json`` less ``hills`` and ``files``; ``start`` and ``end`` in UTC;
        ``broken`` the kind of a broken file, null where none is; ``fault`` the kind of the bike's fault once it has
        begun, null before and on other bikes
    """
    known = _known(truth)
    rows = [{k: v for k, v in row.items() if k not in ("hills", "files")} for row in known["rides"]]
    rides = pd.DataFrame(rows)
    for name in ("start", "end"):
        rides[name] = pd.to_datetime(rides[name], utc=True)
    rides["broken"] = [None if found is None else found["kind"] for found in rides["broken"]]
    rides["fault"] = None
    for fault in known["faults"]:
        concerned = (rides["bike"] == fault["bike"]) & (rides["start"] >= pd.Timestamp(fault["since"]))
        rides.loc[concerned, "fault"] = fault["kind"]
    return rides


def hills_frame(truth: Mapping[str, Any] | str | Path) -> pd.DataFrame:
    """The hills of a fleet's rides as a frame.

    Parameters
    ----------
    truth : what `write_fleet` gave, or the fleet's folder

    Returns
    -------
    hills : one row a pass: ``bike``, ``folder`` and ``start`` of its ride, and the fields of its hill
    """
    rows = [
        {"bike": ride["bike"], "folder": ride["folder"], "start": pd.Timestamp(ride["start"]), **hill}
        for ride in _known(truth)["rides"]
        for hill in ride["hills"]
    ]
    return pd.DataFrame(rows)


def beside_truth(
    answers: pd.DataFrame, rides: pd.DataFrame, *, start: str = "ride_start", within_s: float = 60.0
) -> pd.DataFrame:
    """Each measured ride beside what really happened on it.

    Parameters
    ----------
    answers : one row a measured ride, with ``bike`` (its name) and the column of its start in UTC
    rides : of `truth_frame`
    start : the column of the start
    within_s : how far the start may be off, which for a log without wall time is that of the track's clock [s]

    Returns
    -------
    both : one row a measured ride, its columns and those of ``rides`` (``true_`` before the names they share, and
        ``true_start``); null where no true ride of that bike began about then
    """
    shared = {name: f"true_{name}" for name in rides.columns if name != "bike" and name in answers.columns}
    known = rides.rename(columns={"start": "true_start", **shared})
    known[start] = known["true_start"].astype(answers[start].dtype)
    return pd.merge_asof(
        answers.sort_values(start),
        known.sort_values(start),
        on=start,
        by="bike",
        direction="nearest",
        tolerance=pd.Timedelta(seconds=within_s),
    )


def _known(truth: Mapping[str, Any] | str | Path) -> Mapping[str, Any]:
    if isinstance(truth, Mapping):
        return truth
    known: dict[str, Any] = json.loads((Path(truth) / TRUTH_FILE).read_text(encoding="utf-8"))
    return known


def hills_truth(ride: QuickRide) -> list[dict[str, Any]]:
    """Slopes of at least 8 m as ridden, counted from the first second on them to the last."""
    rows = []
    for hill in ride.road.hills():
        if hill.height_m < _LEAST_HEIGHT_M or hill.end_m > ride.distance_m[-1]:
            continue
        first = max(int(np.searchsorted(ride.distance_m, hill.start_m, side="right")) - 1, 0)
        last = int(np.searchsorted(ride.distance_m, hill.end_m, side="left"))
        counts = {
            name: _short(float(values[last] - values[first]))
            for name, values in (
                ("drawn_wh", ride.drawn_wh), ("returned_wh", ride.returned_wh), ("available_wh", ride.available_wh),
            )
        }  # fmt: skip
        rows.append(
            {
                "direction": hill.direction,
                "start_s": first,
                "end_s": last,
                "start_m": hill.start_m,
                "end_m": hill.end_m,
                "height_m": _short(hill.height_m),
                **counts,
            }
        )
    return rows


def _short(value: float) -> float:
    """A number to six decimals: far finer than anything it is compared with."""
    return round(float(value), 6) + 0.0
