"""Rides to keep, made by hand, and whether a store holds them whole."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from hashlib import sha256

import numpy as np
import pandas as pd

from ridelog.answer.braking import Braking, BrakingEvent
from ridelog.answer.hills import Hill, Place
from ridelog.answer.pack import Pack
from ridelog.answer.ride import Answer, Charge, ColumnUse, Energy, RideSummary, Source
from ridelog.errors import StoreError
from ridelog.findings import Finding
from ridelog.fleet.store.measured import MeasuredRide
from ridelog.fleet.store.rows import tables_of
from ridelog.fleet.store.store import Store
from ridelog.uncertain.budget import Budget, BudgetRow
from ridelog.uncertain.quantity import Quantity

START = datetime(2026, 3, 28, 6, 30, tzinfo=UTC)
DETAILS = ("hills", "events", "findings")


def key_of(number: int) -> str:
    return sha256(f"ride {number}".encode()).hexdigest()


def made_series(n: int, start: datetime) -> pd.DataFrame:
    """A ride at about 7 m/s down a road to the north-east, 1 Hz, as a logger of two decimals wrote it."""
    rng = np.random.default_rng(n)
    elapsed_s = np.arange(n, dtype=float)
    distance_m = np.cumsum(np.round(rng.uniform(6.5, 7.5, n), 2))
    current_a = np.round(3 + 4 * np.sin(elapsed_s / 20) + rng.normal(0, 0.3, n), 2)
    voltage_v = np.round(50 - 0.1 * current_a, 2)
    return pd.DataFrame(
        {
            "elapsed_s": elapsed_s,
            "current_a": current_a,
            "voltage_v": voltage_v,
            "power_w": voltage_v * current_a,
            "distance_m": distance_m,
            "latitude_deg": np.where(elapsed_s == 5, np.nan, 46.5 + distance_m * 6.4e-6),
            "longitude_deg": np.where(elapsed_s == 5, np.nan, -32.0 + distance_m * 9.2e-6),
            "smooth_altitude_m": 100 - 0.05 * distance_m,
        },
        index=pd.DatetimeIndex(
            pd.Timestamp(start) + pd.to_timedelta(elapsed_s, unit="s"), name="time", dtype="datetime64[us, UTC]"
        ),
    )


def made_answer(number: int, *, version: str = "0.1.0", returned_wh: float = 14.1, n: int = 240) -> Answer:
    """The answer to a ride of a day of its own."""
    start = START + timedelta(days=number)
    hill = Hill(
        id="1-down", name="Hill 1, down", direction="down", start_s=20.0, end_s=140.0, start_m=150.0, end_m=980.0,
        length_m=830.0, height_m=Quantity(-41.0, -43.0, -39.0), mean_grade_pct=Quantity(-4.9), drawn_wh=None,
        returned_wh=Quantity(returned_wh / 2, 6.9, 7.2), recovered_pct=None, available_wh=Quantity(14.0),
        captured_pct=Quantity(51.0), number=1, start=Place(46.501, -31.999), end=Place(46.506, -31.991),
    )  # fmt: skip
    event = BrakingEvent(30.0, 41.5, None, 7.0, None, Quantity(3.0), Quantity(0.01), Quantity(0.5), None, None)
    log = Source(
        "log.csv", "a" * 64, "csv", "electrical", start, None, n, 1.0, 100.0, Quantity(0.0), None,
        (ColumnUse("I [A]", "battery current", "A", 1.0, 1, "the words say battery current", "current_a"),
         ColumnUse("U [V]", "battery voltage", "V", 1.0, 1, "the words say battery voltage", "voltage_v")),
    )  # fmt: skip
    rows = (BudgetRow("current zero", 0.2, 80.0, ""), BudgetRow("sampling and noise", 0.1, 20.0, ""))
    return Answer(
        ridelog=version,
        ride=RideSummary(f"log {number}", start, float(n), float(n), Quantity(7.0 * n, 6.9 * n, 7.1 * n), None, None),
        sources=(log,),
        charge=Charge(Quantity(4.42), Quantity(0.294), Quantity(6.65)),
        energy=Energy(
            Quantity(212.0), Quantity(returned_wh), Quantity(returned_wh / 2.12, 6.1, 7.3), Quantity(23.5, 23.0), None
        ),
        braking=Braking(Quantity(33.0), Quantity(returned_wh), None, (event, replace(event, start_s=60.0, end_s=66.0))),
        hills=(hill,),
        hill_pairs=(),
        pack=Pack(highest_cell_v=Quantity(4.1)),
        findings=(
            Finding("gaps", "warning", {"uncovered_pct": 4.8, "longest_bridge_s": 30.0, "missing_s": 60.0}, 60.0, 90.0),
            Finding("sensor-defaults", "note", {"current_zero_limit_a": 0.15}),
        ),
        budget=(Budget("recovered", "%", returned_wh / 2.12, rows, 0.22, 6.1, 7.3),),
        series=made_series(n, start),
    )


def made_ride(number: int, *, bike: str = "Gannet", version: str = "0.1.0", returned_wh: float = 14.1) -> MeasuredRide:
    """Ride ``number`` as a version of ridelog measured it."""
    answer = made_answer(number, version=version, returned_wh=returned_wh)
    return MeasuredRide(key_of(number), bike, f"Ride {number}", None, answer)


def same_series(held: pd.DataFrame, was: pd.DataFrame) -> bool:
    """Whether a series came back, what can be worked out again left aside."""
    names = [name for name in was if name != "smooth_altitude_m"]
    return set(held) == set(names) and held.index.equals(was.index) and np.allclose(
        held[names].to_numpy(), was[names].to_numpy(), rtol=0, atol=1e-3, equal_nan=True
    )  # fmt: skip


_WRITTEN: dict[int, tuple[MeasuredRide, dict[str, pd.DataFrame]]] = {}


def written(ride: MeasuredRide) -> dict[str, pd.DataFrame]:
    """The tables of a ride, formed once for all looks into stores that may hold it."""
    if id(ride) not in _WRITTEN:
        _WRITTEN[id(ride)] = ride, {name: rows.to_pandas() for name, rows in tables_of(ride).items()}
    return _WRITTEN[id(ride)][1]


def faults_of(store: Store, *rides: MeasuredRide) -> list[str]:
    """What of the store is not whole: every ride in it must be one of these, in each of its tables."""
    faults = []
    tables = {name: getattr(store, name)() for name in DETAILS}
    keys = store.keys()
    for name, table in tables.items():
        if set(table["key"]) - set(keys):
            faults.append(f"{name} of a ride that is not there")
    for key, version in keys.items():
        answer = store.answer(key)
        held = [ride for ride in rides if ride.key == key and ride.answer == answer and answer.ridelog == version]
        if not held:
            faults.append(f"{key}: is no ride that was written")
            continue
        for name, rows in written(held[0]).items():
            table = tables[name][tables[name]["key"] == key].reset_index(drop=True) if name in tables else None
            if table is not None and not table.equals(rows):
                faults.append(f"{key}: other {name}")
        try:
            series = store.series(key)
        except StoreError as error:
            faults.append(error.message)
        else:
            faults += [] if same_series(series, held[0].answer.series) else [f"{key}: another series"]
    return faults
