"""Which of a visitor's files are one ride: what the visitor says, else the rule for folders, a drop being a folder.

Files that were given in folders of several bikes are of one ride only with those of the same bike.
"""

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Literal

from ridelog.fleet.folders import grouped_by_time
from ridelog.fleet.look import Look
from ridelog.lazy import dataclass
from ridelog.settings.manifest import RideEntry

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
