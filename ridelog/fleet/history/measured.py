"""Measured columns of a frame of rides: a value, and how far its bounds lie below and above."""

from collections.abc import Mapping
from types import MappingProxyType

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from ridelog.lazy import dataclass

Floats = NDArray[np.float64]
NORMAL_95 = 1.959963984540054  # standard normal quantile of 97.5 %

# What a bike is judged by -> the columns of it, the first that any ride knows
COLUMNS: Mapping[str, tuple[str, ...]] = MappingProxyType(
    {
        "recovered_pct": ("energy_recovered_pct", "charge_recovered_pct"),
        "captured_pct": ("braking_captured_pct",),
        "net_wh_per_km": ("energy_net_wh_per_km",),
    }
)


@dataclass(frozen=True)
class Measured:
    """A measured column: values and the standard uncertainty to each side, NaN where not known."""

    value: Floats
    u_low: Floats
    u_high: Floats

    @property
    def u(self) -> Floats:
        """Standard uncertainty, both sides together."""
        return (self.u_low + self.u_high) / 2


def numbers(frame: pd.DataFrame, column: str) -> Floats:
    """A column as floats; all NaN where the frame does not have it."""
    if column not in frame:
        return np.full(len(frame), np.nan)
    told = frame[column]
    return np.asarray(told if told.dtype == np.float64 else pd.to_numeric(told, errors="coerce"), dtype=float)


def measured(frame: pd.DataFrame, column: str) -> Measured:
    """A measured column with its bounds; an interval that is not known counts as none."""
    value = numbers(frame, column)
    halves = (value - numbers(frame, f"{column}_low95"), numbers(frame, f"{column}_high95") - value)
    low, high = (np.where(np.isfinite(half), np.maximum(half, 0.0), 0.0) / NORMAL_95 for half in halves)
    return Measured(value, np.where(np.isnan(value), np.nan, low), np.where(np.isnan(value), np.nan, high))


def column_of(rides: pd.DataFrame, quantity: str) -> str:
    """The column that a quantity is read from in these rides.

    Raises
    ------
    ValueError : no such quantity
    """
    if quantity not in COLUMNS:
        raise ValueError(f"{quantity!r} is no quantity of a bike; there are {', '.join(COLUMNS)}")
    known = [column for column in COLUMNS[quantity] if np.isfinite(numbers(rides, column)).any()]
    return known[0] if known else COLUMNS[quantity][0]


def in_order(rides: pd.DataFrame) -> pd.DataFrame:
    """Rides as they were ridden; those without wall time come last, by their key."""
    return rides.sort_values(["ride_start", "key"], na_position="last", kind="stable", ignore_index=True)
