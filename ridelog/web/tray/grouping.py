"""Which of a visitor's files are one ride: what the visitor says, else the rule for folders, a drop being a folder.

Files that were given in folders of several bikes are of one ride only with those of the same bike.
"""

from collections import Counter
from collections.abc import Mapping, Sequence
from datetime import timedelta
from pathlib import Path
from typing import Literal

from ridelog.fleet.folders import grouped_by_time
from ridelog.fleet.look import Look
from ridelog.fleet.zones import OFFSETS, STEP
from ridelog.lazy import dataclass
from ridelog.settings.manifest import RideEntry

MOST_APART = timedelta(minutes=5)  # of the beginnings, and of the ends, of a log and a track that may be one ride
Why = Literal["alone", "overlap", "no-wall-time", "no-zone", "by-hand", "several-fit"]


@dataclass(frozen=True)
class KeptFile:
    """A recording that a visitor gave.

    Attributes
    ----------
    key : by which the page names it
    name : as the visitor called it
    path : where it lies; files given at once lie in one folder
    size_bytes : its size [byte]
    home : folder of the bike that it is of, as the visitor gave it; empty where it was given without one
    below : folder that it lies in below that one
    entry : what a manifest that was given with it says of its ride
    look : what a look into it showed; ``None`` until somebody looked
    own : it is the visitor's, and goes with the tray
    """

    key: str
    name: str
    path: Path
    size_bytes: int
    look: Look | None = None
    own: bool = True
    home: str = ""
    below: str = ""
    entry: RideEntry | None = None


@dataclass(frozen=True)
class Group:
    """Files that are one ride, and why."""

    keys: tuple[str, ...]
    why: Why


def grouped(files: Sequence[KeptFile], by_hand: Mapping[str, str]) -> list[Group]:
    """Files as rides.

    Parameters
    ----------
    files : all that were looked into
    by_hand : key of a file -> what the visitor put it in; files of the same are one ride

    Returns
    -------
    In the order in which the first file of each was given.
    """
    together: dict[str, list[str]] = {}
    for file in files:
        if file.key in by_hand:
            together.setdefault(by_hand[file.key], []).append(file.key)
    groups = [Group(tuple(keys), "by-hand") for keys in together.values()]
    rest = [file for file in files if file.key not in by_hand]
    groups += [Group((file.key,), "alone") for file in rest if file.look is None or file.look.error is not None]
    for home in dict.fromkeys(file.home for file in rest):
        groups += _of_one_bike([file for file in rest if file.home == home])
    order = {file.key: place for place, file in enumerate(files)}
    return sorted(groups, key=lambda group: min(order[key] for key in group.keys))


def _of_one_bike(files: Sequence[KeptFile]) -> list[Group]:
    sound = {file.look: file.key for file in files if file.look is not None and file.look.error is None}
    rides, strays = grouped_by_time(list(sound))
    astray = {stray.source for stray in strays}
    return [Group(tuple(sound[look] for look in looks), _why(looks)) for looks in rides] + [
        Group((key,), "several-fit") for look, key in sound.items() if str(look.path) in astray
    ]


def likely_halves(files: Sequence[KeptFile], groups: Sequence[Sequence[str]]) -> list[tuple[str, str]]:
    """Logs and tracks that were given apart and may be one ride, as a clock of theirs states no zone.

    Both lie alone, and begin and end together once one is set by whole quarters of an hour, as zones differ by. Nothing
    but the length speaks for it, which rides of one way share: it is asked, not done.

    Parameters
    ----------
    files : all that were looked into
    groups : keys of the files of each ride

    Returns
    -------
    Keys of log and track, of those that fit nothing else.
    """
    alone = {keys[0] for keys in groups if len(keys) == 1}
    looks = {file: file.look for file in files if file.key in alone and file.look is not None and file.look.timed}
    logs = [file for file, look in looks.items() if look.electrical and not look.track]
    tracks = [file for file, look in looks.items() if look.track and not look.electrical]
    pairs = [(log, track) for log in logs for track in tracks if _may_be_halves(log, track)]
    met = Counter(file.key for pair in pairs for file in pair)
    return [(log.key, track.key) for log, track in pairs if met[log.key] == met[track.key] == 1]


def _may_be_halves(log: KeptFile, track: KeptFile) -> bool:
    one, other = log.look, track.look
    if one is None or other is None or log.home != track.home or not (one.local or other.local):
        return False
    if one.start is None or one.end is None or other.start is None or other.end is None:
        return False
    begins, ends = one.start - other.start, one.end - other.end
    shift = round(begins / STEP) * STEP
    return abs(shift) <= OFFSETS[-1] and max(abs(begins - shift), abs(ends - shift)) <= MOST_APART


def _why(looks: Sequence[Look]) -> Why:
    if len(looks) == 1:
        return "alone"
    if not all(look.timed for look in looks):
        return "no-wall-time"
    spans = sorted((look.start, look.end) for look in looks if look.start is not None and look.end is not None)
    until = spans[0][1]
    for start, end in spans[1:]:
        if start >= until:
            return "no-zone"
        until = max(until, end)
    return "overlap"
