"""Which rides are halves of one, where a log's wall time is of a zone that it does not state?

A folder may hold logs of a battery without a track and tracks without a battery, the one on clocks whose zone nobody
knows. One of each are one ride. Of several, those are that overlap in time once all of these clocks are set by the same
whole quarters of an hour, as zones differ by; all of the fewer must find one, and each one alone. The clocks themselves
are joined by what they recorded, when the ride is measured.
"""

from collections.abc import Sequence
from datetime import datetime, timedelta
from pathlib import Path

from ridelog.fleet.look import Look

STEP = timedelta(minutes=15)
OFFSETS = tuple(STEP * n for n in range(-4 * 12, 4 * 14 + 1))  # of local time against UTC: from -12 h to +14 h
LEAST_SHARE = 0.5  # of the shorter of two halves, that overlaps the other

Halves = list[list[Look]]
Pairs = list[tuple[int, int]]


def by_folder(rides: Sequence[list[Look]]) -> dict[Path, Halves]:
    """The rides that have a recording in each folder."""
    found: dict[Path, Halves] = {}
    for ride in rides:
        for folder in {look.path.parent for look in ride}:
            found.setdefault(folder, []).append(ride)
    return found


def zones_apart(rides: Halves) -> Halves:
    """Rides with those put together of which one half's wall time is of an unknown zone."""
    result = list(rides)
    for inside in by_folder(rides).values():
        left = [ride for ride in inside if any(ride is each for each in result)]
        logs = [ride for ride in left if _offers(ride) == (True, False)]
        tracks = [ride for ride in left if _offers(ride) == (False, True)]
        if len(inside) == 2 and len(logs) == len(tracks) == 1:
            pairs = [(0, 0)] if any(look.local for ride in inside for look in ride) else []
        else:
            pairs = _pairs(logs, tracks)
        for log, track in pairs:
            first, second = sorted((logs[log], tracks[track]), key=lambda ride: _index(rides, ride))
            del result[_index(result, second)]
            first.extend(second)
    return result


def _index(rides: Halves, ride: list[Look]) -> int:
    return next(place for place, each in enumerate(rides) if each is ride)


def _offers(ride: Sequence[Look]) -> tuple[bool, bool]:
    return any(look.electrical for look in ride), any(look.track for look in ride)


def _pairs(logs: Halves, tracks: Halves) -> Pairs:
    """The halves that are one ride by the offset under which they overlap most; none where some are left over."""
    if min(len(logs), len(tracks)) < 2:
        return []
    if all(look.local for ride in logs for look in ride):
        way = -1  # local time less its offset is UTC
    elif all(look.local for ride in tracks for look in ride):
        way = 1
    else:
        return []
    found = [_overlapping(logs, tracks, way * offset) for offset in OFFSETS]
    pairs, _ = max(found, key=lambda each: (len(each[0]), each[1]))
    return pairs if len(pairs) == min(len(logs), len(tracks)) else []


def _overlapping(logs: Halves, tracks: Halves, shift: timedelta) -> tuple[Pairs, timedelta]:
    """Logs and tracks that overlap each other alone once the logs are shifted, and for how long in all."""
    spans = [_span(track) for track in tracks]
    shared: dict[tuple[int, int], timedelta] = {}
    for log, (start, end) in enumerate(map(_span, logs)):
        for track, (begin, until) in enumerate(spans):
            both = min(end + shift, until) - max(start + shift, begin)
            if both > LEAST_SHARE * min(end - start, until - begin):
                shared[log, track] = both
    alone = {
        pair: both
        for pair, both in shared.items()
        if sum(pair[0] == log or pair[1] == track for log, track in shared) == 1
    }
    return [*alone], sum(alone.values(), timedelta())


def _span(ride: Sequence[Look]) -> tuple[datetime, datetime]:
    starts, ends = [look.start for look in ride if look.start], [look.end for look in ride if look.end]
    return min(starts), max(ends)
