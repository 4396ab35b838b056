"""The series of a ride at the resolution of its logger: decimals in Parquet, a few bits a sample.

A logger writes decimals. They are kept as such: whole numbers of the last digit, each as its difference from the one
before, packed. Any reader of Parquet gives the decimals back. What can be worked out again from the rest is not kept.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping

import numpy as np
import pandas as pd
import pyarrow as pa

from ridelog.fleet.store.packed import packed

# Columns that the analysis adds and can add again.
DERIVED = frozenset(
    {"smooth_altitude_m", "grade_pct", "braking_force_n", "regen_mask", "braking_mask", "east_m", "north_m"}
)
MOST_PLACES = 9  # after the point; a log that has more writes what its arithmetic left
# Places of what stands between the samples of another clock, to 1 cm on the ground: receivers are off by a hundred
# times that, and write 0.8 to 10 cm.
_JOINED_PLACES: Mapping[str, int] = {"deg": 7, "m": 2, "mps": 3, "s": 6}
_OTHER_PLACES = 4
_WIDTHS = ((np.int32, pa.decimal32, 9), (np.int64, pa.decimal64, 18))


def encoded(series: pd.DataFrame, logged: Collection[str]) -> bytes:
    """The series as a Parquet file.

    Parameters
    ----------
    series : of an answer, UTC index
    logged : columns that one log wrote itself; others stand between the samples of another clock, or were worked out

    Returns
    -------
    content : ``time`` and one column a channel: decimals where the values have a step, exact where that is one of a
        decimal place and to a twentieth of it otherwise; what was joined to 1e-7 °, 1 cm and 1 mm/s; floats else.
        ``power_w`` is left out where it is voltage times current.
    """
    kept = [name for name in map(str, series.columns) if name not in DERIVED and not _is_product(name, series)]
    held = {"time": pa.array(series.index, pa.timestamp("us", tz="UTC"), safe=False)}
    held |= {name: column(series[name].to_numpy(dtype=float), name, own=name in logged) for name in kept}
    table = pa.table(held)
    steps = {each.name: "DELTA_BINARY_PACKED" for each in table.schema if not pa.types.is_floating(each.type)}
    return packed(table, column_encoding=steps, store_decimal_as_integer=True)


def decoded(table: pa.Table) -> pd.DataFrame:
    """The series of the table of `encoded`, as floats, with ``power_w`` again; UTC index ``time``."""
    series = pd.DataFrame(
        {name: floats(table[name]) for name in table.column_names if name != "time"},
        index=pd.DatetimeIndex(table["time"].to_pandas(), name="time"),
    )
    if "power_w" not in series and {"voltage_v", "current_a"} <= set(series):
        series["power_w"] = series["voltage_v"] * series["current_a"]
    return series


def floats(held: pa.ChunkedArray) -> np.ndarray:
    """The nearest floats of decimals, as a text of them is read: by dividing, where pyarrow multiplies."""
    values: np.ndarray
    if not pa.types.is_decimal(held.type):
        values = held.cast(pa.float64()).to_numpy()
        return values
    whole = held.cast(pa.decimal128(38, held.type.scale)).combine_chunks()
    halves = np.frombuffer(whole.buffers()[1], np.int64)[2 * whole.offset :][
        : 2 * len(whole) : 2
    ]  # the lower of 128 bits
    values = np.where(whole.is_valid(), halves / 10.0**held.type.scale, np.nan)
    return values


def column(values: np.ndarray, name: str, *, own: bool) -> pa.Array:
    """One column at its resolution.

    Parameters
    ----------
    values : shape (n,), NaN where not known
    name : of the channel, with its unit
    own : one log wrote them itself

    Returns
    -------
    column : decimals, or floats where no step is found
    """
    missing_mask = ~np.isfinite(values)
    known = values[~missing_mask]
    places = places_of(known)
    if places is None and not own:
        places = _JOINED_PLACES.get(name.rpartition("_")[2], _OTHER_PLACES)
    if places is not None:
        whole = np.rint(known * 10.0**places)
        for kind, decimal, digits in _WIDTHS:
            if not len(whole) or np.abs(whole).max() < 10.0 ** min(digits, 15):  # beyond 15, floats skip numbers
                counts = np.zeros(len(values), kind)
                counts[~missing_mask] = whole
                return pa.array(counts, mask=missing_mask).view(decimal(digits, places))
    with np.errstate(over="ignore"):
        narrow = bool((known.astype(np.float32) == known).all())
    return pa.array(values.astype(np.float32) if narrow else values, mask=missing_mask)


def places_of(known: np.ndarray) -> int | None:
    """Decimal places that hold values, shape (n,), to a twentieth of their step; ``None`` where they have no step."""
    for places in range(MOST_PLACES + 1):
        if _are_whole(known * 10.0**places, 1e-9):
            return places
    step = _step_of(known)
    return None if step is None else min(MOST_PLACES, int(np.ceil(-np.log10(step / 10))))


def _step_of(known: np.ndarray) -> float | None:
    """The step of values that are its multiples, as 0.1 km/h in m/s; ``None`` where there is none."""
    different = np.unique(np.round(known, MOST_PLACES + 3))
    step = float(np.diff(different).min()) if len(different) > 2 else 0.0
    return step if step > 1e-6 * np.abs(known).max() and _are_whole(known / step, 1e-3) else None


def _are_whole(counts: np.ndarray, most: float) -> bool:
    """Whether numbers are whole but for what floats leave."""
    return bool((np.abs(counts - np.rint(counts)) <= np.maximum(most, 4e-15 * np.abs(counts))).all())


def _is_product(name: str, series: pd.DataFrame) -> bool:
    """Whether a column is the power that voltage and current give."""
    if name != "power_w" or not {"voltage_v", "current_a"} <= set(series):
        return False
    product = (series["voltage_v"] * series["current_a"]).to_numpy(dtype=float)
    return bool(np.allclose(product, series["power_w"].to_numpy(dtype=float), rtol=1e-9, atol=1e-9, equal_nan=True))
