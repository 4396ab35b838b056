"""Columns of invented logs, and what a ride makes of them: current, voltage, power and speed that fit together."""

from typing import Any

import numpy as np
from numpy.typing import NDArray

from ridelog.importers.columns.assign import apply_entry
from ridelog.importers.columns.column import Column
from ridelog.settings.column_map import ColumnEntry
from ridelog.vocabulary.headers import understand

Floats = NDArray[np.float64]

N = 600
TIME_S: Floats = np.arange(N, dtype=np.float64)
_PHASE = TIME_S % 60
SPEED_MPS: Floats = np.interp(_PHASE, [0, 10, 45, 55, 60], [0, 8, 8, 0, 0])
CURRENT_A: Floats = np.select([_PHASE < 10, _PHASE < 45, _PHASE < 55], [15.0, 5.0, -6.0], 0.0)
VOLTAGE_V: Floats = 50 - 0.1 * CURRENT_A - TIME_S / 1000
POWER_W: Floats = VOLTAGE_V * CURRENT_A


def column(header: str, values: Any, **entry: Any) -> Column:
    """A column as it is read under its header; with ``entry`` as a column map speaks of it."""
    told = ColumnEntry(header=header, **entry) if entry else None
    made = Column(header, understand(header), told, np.asarray(values, dtype=float))
    apply_entry(made, "b.csv")
    return made
