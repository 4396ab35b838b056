"""Which column may be the battery's voltage, where none says so? It is proposed with its reason; a person decides.

A pack's voltage lies between that of 7 cells nearly empty and 24 full ones, sags by less than a third, and falls by its
resistance whenever the current rises: from one row to another the two move together, whichever way the log counts.
"""

from itertools import pairwise
from math import sqrt

from ridelog.lazy import dataclass
from ridelog.tell.pages import columns as words
from ridelog.web.rides import Columns

LOWEST_V, HIGHEST_V = 18.0, 101.0  # 7 cells of 2.6 V, 24 of 4.2 V
DEEPEST_SAG = 0.33  # of the highest voltage
LEAST_TOGETHER = 0.5  # correlation of the steps of voltage and current
LEAST_ROWS = 24
UNITS = {"V": 1.0, "mV": 1000.0}


@dataclass(frozen=True)
class Proposal:
    """``header`` : of the column · ``unit`` : in which it would be volts · ``reached`` : its values, in words"""

    header: str
    unit: str
    reached: str


def proposed_voltage(columns: Columns) -> Proposal | None:
    """The one column of a log that behaves as the battery's voltage; ``None`` where that is known, or not told.

    Parameters
    ----------
    columns : of a log, with their previews

    Returns
    -------
    What may be proposed.
    """
    seen = [*zip(columns.readings, columns.previews, strict=False)]
    channels = {reading.channel for reading, _ in seen}
    current = next((preview.values for reading, preview in seen if reading.channel == "current_a"), None)
    if current is None or channels & {"voltage_v", "power_w"}:
        return None
    headers = [reading.header for reading, _ in seen]
    found = [
        Proposal(reading.header, unit, words.reach(min(preview.known), max(preview.known)))
        for reading, preview in seen
        if reading.channel is None and reading.header.strip() and headers.count(reading.header) == 1
        for unit, scale in UNITS.items()
        if _is_like_voltage(preview.known, scale) and _together(current, preview.values) >= LEAST_TOGETHER
    ]
    return found[0] if len(found) == 1 else None


def _is_like_voltage(known: tuple[float, ...], scale: float) -> bool:
    if len(known) < LEAST_ROWS:
        return False
    low, high = min(known), max(known)
    return LOWEST_V * scale <= low < high <= HIGHEST_V * scale and low >= (1 - DEEPEST_SAG) * high


def _together(one: tuple[float | None, ...], other: tuple[float | None, ...]) -> float:
    """How closely the steps of two columns go together, 0 to 1, whichever way they count."""
    rows = [(a, b) for a, b in zip(one, other, strict=False) if a is not None and b is not None]
    steps = [(then[0] - now[0], then[1] - now[1]) for now, then in pairwise(rows)]
    if len(steps) < LEAST_ROWS - 1:
        return 0.0
    both, first, second = (sum(a * b for a, b in steps), sum(a * a for a, _ in steps), sum(b * b for _, b in steps))
    return abs(both) / sqrt(first * second) if first > 0 and second > 0 else 0.0
