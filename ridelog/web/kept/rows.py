"""A row of a store's table as a page takes it: what is not known is ``None``, and a number has its interval again."""

from collections.abc import Hashable, Mapping
from datetime import datetime
from typing import Any

from ridelog.uncertain.quantity import Quantity

Row = Mapping[Hashable, Any]


def number(row: Row, column: str) -> float | None:
    """A number of a row."""
    value = row.get(column)
    return float(value) if isinstance(value, float) and value == value else None


def quantity(row: Row, column: str) -> Quantity | None:
    """A number of a row with its interval."""
    value = number(row, column)
    return None if value is None else Quantity(value, number(row, f"{column}_low95"), number(row, f"{column}_high95"))


def words(row: Row, column: str) -> str | None:
    """What a row says."""
    value = row.get(column)
    return value if isinstance(value, str) else None


def moment(row: Row, column: str = "ride_start") -> datetime | None:
    """When something was."""
    value = row.get(column)
    return value if isinstance(value, datetime) and value == value else None
