"""A column at a glance: some of its rows, evenly spaced, as they are written."""

from __future__ import annotations

import math
from collections.abc import Iterable
from typing import TYPE_CHECKING

import numpy as np

from ridelog.recording import Preview

if TYPE_CHECKING:
    from ridelog.recording import Recording

N_ROWS = 96  # of a preview: as many as a small picture has room for
N_CELLS = 3  # different ones that are shown as text
LONGEST_CELL = 24  # letters of a cell that are shown


def preview(values: Iterable[float], cells: Iterable[str] = ()) -> Preview:
    """Of numbers, not all of them known, and of the texts that they stand in.

    Parameters
    ----------
    values : as written, NaN where there is none
    cells : as written

    Returns
    -------
    Preview.
    """
    shown = tuple(float(f"{value:.9g}") if math.isfinite(value) else None for value in values)
    texts = tuple(dict.fromkeys(cell for cell in cells if cell))[:N_CELLS]
    return Preview(
        shown, tuple(cell if len(cell) <= LONGEST_CELL else f"{cell[: LONGEST_CELL - 1]}…" for cell in texts)
    )


def of_channels(recording: Recording) -> tuple[Preview, ...]:
    """A preview of the channel that each column or field became, in the unit that it was written in."""
    n = len(recording.frame)
    rows = np.unique(np.linspace(0, n - 1, min(n, N_ROWS)).astype(int))
    found = []
    for reading in recording.columns:
        values = np.empty(0)
        if reading.channel in recording.frame:
            values = recording.frame[reading.channel].to_numpy(dtype=float)[rows]
            values = values / (reading.factor * reading.sign) - reading.offset
        found.append(preview(values.tolist()))
    return tuple(found)
