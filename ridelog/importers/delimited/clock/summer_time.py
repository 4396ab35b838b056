"""Local times of a named zone as UTC, over the nights in which its clocks are changed.

In autumn an hour is shown twice, in spring one is left out. Read as they stand, such times step back by an hour, or
hold an hour of pause that there never was.
"""

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import numpy as np

from ridelog.lazy import dataclass

_EPOCH = datetime(1970, 1, 1, tzinfo=UTC)
_GRID_S = 6 * 3600.0  # no zone changes its clocks twice within this
_DAY_S = 86_400.0
_LAST_S = 230 * 365.25 * _DAY_S  # the year 2200
_FAR_OFF_S = 30 * _DAY_S  # times further from all others are no times of the log


@dataclass(frozen=True)
class _Change:
    """A moment in which a zone's clocks are changed: UTC, and by how much they are ahead before and after it [s]."""

    utc_s: float
    before_s: float
    after_s: float


def utc_from_local_s(
    base_s: float, local_s: np.ndarray, time_zone: str, *, least_back_s: float = 60.0, steady_s: float = 600.0
) -> tuple[float, np.ndarray]:
    """UTC of local times in the order of a log.

    A clock that is changed shows the hour before the change again after it, or leaves it out. One that goes on instead,
    into an hour that does not exist or past the end of one that comes twice without a break, is not changed on the way.

    Parameters
    ----------
    base_s : whole seconds from 1970-01-01 to where the times count from, both as the local clock shows them [s]
    local_s : as written, in the order of the log, shape (n,), NaN where a row has no time [s]
    time_zone : name of the zone, as "Europe/Lisbon"
    least_back_s : smaller steps back are no change of the clocks [s]
    steady_s : a log that steps over the end of an hour by more may have waited while it came again [s]

    Returns
    -------
    base_s : whole seconds from 1970-01-01 in UTC [s]
    utc_s : seconds from there, shape (n,)
    """
    known = np.flatnonzero(np.isfinite(local_s))
    if not len(known):
        return base_s, local_s
    known = known[np.abs(local_s[known] - np.median(local_s[known])) <= _FAR_OFF_S]
    zone = ZoneInfo(time_zone)
    shown_s = local_s[known]
    low_s, high_s = (base_s + float(edge) for edge in (shown_s.min(), shown_s.max()))
    changes = _changes(zone, low_s - _DAY_S, high_s + _DAY_S)
    first_s = changes[0].before_s if changes else _ahead_s(zone, low_s)
    ahead_s = np.full(len(shown_s), first_s)
    for change in changes:
        begins = _begins(change, base_s, shown_s, least_back_s=least_back_s, steady_s=steady_s)
        ahead_s[begins:] += change.after_s - change.before_s
    utc_s = local_s.copy()
    utc_s[known] -= ahead_s - first_s
    return base_s - first_s, utc_s


def _begins(change: _Change, base_s: float, shown_s: np.ndarray, *, least_back_s: float, steady_s: float) -> int:
    """The first row that the changed clock wrote; their number where none did."""
    old_s, new_s = (change.utc_s + ahead_s - base_s for ahead_s in (change.before_s, change.after_s))
    n, last = len(shown_s), max(old_s, new_s)
    beyond = np.flatnonzero(shown_s >= last)
    passes = int(beyond[0]) if len(beyond) else n
    if new_s > old_s:  # an hour is left out
        within = bool(((shown_s >= old_s) & (shown_s < new_s)).any())
        return n if within else passes
    steps_s = np.diff(shown_s)
    falls = (
        (steps_s <= -least_back_s) & (steps_s >= new_s - old_s - 1) & (shown_s[:-1] >= new_s) & (shown_s[1:] < old_s)
    )
    if falls.any():
        return int(np.argmax(falls)) + 1
    if not 0 < passes < n or steps_s[passes - 1] > steady_s:
        return passes
    return 0 if shown_s[0] >= new_s else n  # begun in the hour that comes twice, or a clock that nobody changed


def _changes(zone: ZoneInfo, from_s: float, to_s: float) -> list[_Change]:
    """Changes of a zone's clocks between two moments, to the second."""
    grid_s = np.append(np.arange(np.floor(from_s), to_s, _GRID_S), np.ceil(to_s))
    ahead_s = [_ahead_s(zone, at_s) for at_s in grid_s]
    found = []
    for k in np.flatnonzero(np.diff(ahead_s)):
        low_s, high_s = float(grid_s[k]), float(grid_s[k + 1])
        while high_s - low_s > 1:
            middle_s = float(np.floor((low_s + high_s) / 2))
            low_s, high_s = (middle_s, high_s) if _ahead_s(zone, middle_s) == ahead_s[k] else (low_s, middle_s)
        found.append(_Change(high_s, ahead_s[k], ahead_s[k + 1]))
    return found


def _ahead_s(zone: ZoneInfo, utc_s: float) -> float:
    """By how much the zone's clocks are ahead of UTC; in years that nobody rides in, as in the nearest that are [s]."""
    ahead = (_EPOCH + timedelta(seconds=min(max(float(utc_s), 0.0), _LAST_S))).astimezone(zone).utcoffset()
    return ahead.total_seconds() if ahead is not None else 0.0
