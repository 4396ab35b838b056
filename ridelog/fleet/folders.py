"""Which files below a folder are one ride, and of which bike?

A folder that holds a bike file (`BIKE_FILE`) is a bike. Recordings below it that overlap in time are one ride, those
without wall time belong to the ride of their own folder, and a manifest (`ridelog.settings.manifest`) overrules both.
Times are looked up, not read: see `ridelog.importers.registry.peek`.
"""

import hashlib
import os
from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import field, replace
from datetime import datetime, timedelta
from itertools import groupby
from pathlib import Path

from ridelog.errors import InputError
from ridelog.fleet.look import Look, Looks, look_at, unreadable
from ridelog.fleet.zones import by_folder, zones_apart
from ridelog.lazy import dataclass
from ridelog.settings.bike import Bike, read_bike
from ridelog.settings.column_map import read_map
from ridelog.settings.manifest import NAME as MANIFEST
from ridelog.settings.manifest import Manifest, read_manifest
from ridelog.tell.refusals import folders as refusals
from ridelog.there import is_folder, is_there

BIKE_FILE, COLUMN_MAP, STORE_MARK = "bike.toml", "columns.toml", "store.json"
LOG_SUFFIXES = frozenset({".csv", ".fit", ".gpx", ".gz", ".log", ".tsv", ".txt", ".zip"})
LEAST_OVERLAP = timedelta(seconds=2)  # looks are exact to the second; a ride may begin as another ends


@dataclass(frozen=True)
class RideFiles:
    """The files of one ride.

    Attributes
    ----------
    bike : its name in the bike file, else that of its folder
    name : of the manifest, else where it lies in the bike's folder
    group : of the manifest
    looks : at its recordings, in the order of their paths
    bike_file, column_map : look at each, ``None`` without one
    """

    bike: str
    name: str
    looks: tuple[Look, ...]
    group: str | None = None
    bike_file: Look | None = None
    column_map: Look | None = None

    @property
    def paths(self) -> list[Path]:
        """Paths of its recordings."""
        return [look.path for look in self.looks]

    @property
    def key(self) -> str:
        """Of its contents: SHA-256 of the sorted SHA-256 of its recordings, its bike file and its column map."""
        beside = [look for look in (self.bike_file, self.column_map) if look is not None]
        return key_of(look.sha256 for look in (*self.looks, *beside))

    @property
    def recordings_key(self) -> str:
        """Of its recordings alone, with whatever bike file."""
        return key_of(look.sha256 for look in self.looks)


def key_of(sha256s: Iterable[str]) -> str:
    """The key of a ride by those of its files, in whatever order."""
    return hashlib.sha256("\n".join(sorted(sha256s)).encode()).hexdigest()


@dataclass(frozen=True)
class Found:
    """What lies in some folders: rides by bike, then by time, and what could not be taken for part of any."""

    rides: tuple[RideFiles, ...]
    failed: tuple[InputError, ...] = ()


def one_by_one(paths: Sequence[Path]) -> Iterable[Look]:
    """Looks at files, in this process."""
    return map(look_at, paths)


def find_rides(
    folders: Sequence[Path],
    looks: Looks | None = None,
    look_at_all: Callable[[Sequence[Path]], Iterable[Look]] = one_by_one,
) -> Found:
    """Find bikes and their rides.

    Parameters
    ----------
    folders : that hold bikes, are bikes, or, without any bike file, hold the rides of one bike
    looks : taken before
    look_at_all : takes the looks that were not, one a file, in whatever order

    Returns
    -------
    The rides, and an error for each file that looks like a log and is part of none.

    Raises
    ------
    UsageError : not a folder, or no ride in one of them
    """
    refuse_without_rides(folders)
    rides: list[RideFiles] = []
    failed: list[InputError] = []
    there = [_Folder(folder) for folder in _apart(folders)]
    taken = _looked_at([path for each in there for path in each.paths()], looks, look_at_all)
    for each in there:
        rides += each.rides(taken)
        failed += each.failed
    unique = {(ride.bike, ride.key): ride for ride in rides}  # the same files twice in a bike
    return Found(tuple(unique.values()), tuple(failed))


def refuse_without_rides(folders: Sequence[Path]) -> None:
    """Raise where a folder cannot hold a ride, before anything is made or measured.

    Raises
    ------
    UsageError : not a folder, or nothing in it looks like a log
    InputError : nothing is seen in it, and a part of it cannot be read
    """
    for folder in folders:
        if not is_folder(folder):
            raise refusals.no_folder(str(folder))
        closed: list[OSError] = []
        if any(path.suffix.lower() in LOG_SUFFIXES for path in _walk(folder, closed.append)):
            continue
        if closed:
            raise _unreadable(closed[0])
        raise (refusals.of_a_store if is_there(folder / STORE_MARK) else refusals.nothing_there)(str(folder))


def _unreadable(error: OSError) -> InputError:
    return refusals.unreadable(str(error.filename), error.strerror or str(error))


def _apart(folders: Sequence[Path]) -> list[Path]:
    """Folders without those that another one holds: what lies there is of that one's bikes, and looked at once."""
    apart: list[Path] = []
    places = [folder.resolve() for folder in folders]
    for at, place in enumerate(places):
        inside = [place.relative_to(other) for other in places if other != place and place.is_relative_to(other)]
        walked = any(not any(name.startswith(".") for name in path.parts) for path in inside)
        if not walked and place not in places[:at]:
            apart.append(folders[at])
    return apart


def _walk(top: Path, stopped: Callable[[OSError], None]) -> Iterator[Path]:
    """Files below a folder, in order; nothing of a store, nothing hidden."""
    for folder, inner, names in os.walk(top, onerror=stopped):
        if STORE_MARK in names:
            inner.clear()
            continue
        inner[:] = sorted(name for name in inner if not name.startswith("."))
        yield from (Path(folder, name) for name in sorted(names) if not name.startswith("."))


@dataclass
class _Folder:
    """A folder that was given, with the bikes in it."""

    top: Path
    looked: Mapping[Path, Look] = field(default_factory=dict)
    failed: list[InputError] = field(default_factory=list)
    logs: dict[Path, list[Path]] = field(default_factory=dict)  # by the bike's folder

    def __post_init__(self) -> None:
        bikes: set[Path] = set()
        for path in _walk(self.top, self._stopped):
            if path.name == BIKE_FILE:
                bikes.add(path.parent)
            elif path.suffix.lower() in LOG_SUFFIXES:
                self.logs.setdefault(path.parent, []).append(path)
        of_bike: dict[Path, list[Path]] = {}
        for folder, paths in self.logs.items():
            home = next((each for each in (folder, *folder.parents) if each in bikes), None)
            if home is None and bikes:
                self.failed += [refusals.of_no_bike(str(path)) for path in paths]
                continue
            of_bike.setdefault(home or self.top, []).extend(paths)
        self.logs = of_bike or self.logs

    def _stopped(self, error: OSError) -> None:
        self.failed.append(_unreadable(error))

    def paths(self) -> Iterator[Path]:
        """The files to look at."""
        for home, logs in self.logs.items():
            yield from (home / name for name in (BIKE_FILE, COLUMN_MAP) if (home / name).exists())
            yield from logs

    def rides(self, looked: Mapping[Path, Look]) -> list[RideFiles]:
        """The rides of all bikes, by the looks at their files."""
        self.looked = looked
        return [ride for home in sorted(self.logs) for ride in self._of_bike(home, sorted(self.logs[home]))]

    def _of_bike(self, home: Path, paths: list[Path]) -> list[RideFiles]:
        try:
            manifest = read_manifest(home / MANIFEST) if (home / MANIFEST).exists() else Manifest()
            known = read_bike(home / BIKE_FILE) if (home / BIKE_FILE).exists() else Bike()
            if (home / COLUMN_MAP).exists():
                read_map(home / COLUMN_MAP)
        except InputError as error:  # of every ride of this bike
            self.failed.append(error)
            return []
        looked = {path: self.looked[path] for path in paths}
        for look in looked.values():
            if look.error is not None:
                self.failed.append(refusals.of_file(str(look.path), look.error))
        bike = RideFiles(
            bike=known.bike.name or home.resolve().name or "bike",
            name="",
            looks=(),
            bike_file=self.looked.get(home / BIKE_FILE),
            column_map=self.looked.get(home / COLUMN_MAP),
        )
        usable = {_place(path): look for path, look in looked.items() if look.error is None}
        refused = frozenset(_place(path) for path, look in looked.items() if look.error is not None)  # which is said
        named, rest = self._of_manifest(home, manifest, usable, refused)
        grouped, strays = grouped_by_time(rest)
        self.failed += strays
        rides = [replace(bike, looks=looks, name=name, group=group) for name, group, looks in named]
        rides += [
            replace(bike, looks=each, name=name) for name, each in zip(_names(home, grouped), grouped, strict=True)
        ]
        return sorted(rides, key=_when)

    def _of_manifest(
        self, home: Path, manifest: Manifest, usable: Mapping[str, Look], refused: frozenset[str]
    ) -> tuple[list[tuple[str, str | None, tuple[Look, ...]]], list[Look]]:
        """The rides that the manifest names, and the looks that are left."""
        left, rides = dict(usable), []
        for entry in manifest.ride:
            paths = [_place(home / name) for name in entry.files]
            missing = [path for path in paths if path not in usable]
            for path in (each for each in missing if each not in refused):
                why = refusals.no_log if is_there(path) else refusals.not_there
                self.failed.append(why(path, MANIFEST))
            looks = tuple(left.pop(path) for path in sorted(paths) if path in left)
            if looks and not missing:
                rides.append((entry.name or _names(home, [looks])[0], entry.group, looks))
        return rides, list(left.values())


def _looked_at(
    paths: Iterable[Path], looks: Looks | None, look_at_all: Callable[[Sequence[Path]], Iterable[Look]]
) -> dict[Path, Look]:
    """Looks at files, of those that have not changed the ones before."""
    found: dict[Path, Look] = {}
    states: dict[Path, os.stat_result] = {}
    for path in dict.fromkeys(paths):
        try:
            state = path.stat()
        except OSError as error:
            found[path] = unreadable(path, error)
            continue
        kept = None if looks is None else looks.look(path, state.st_size, state.st_mtime_ns)
        if kept is None:
            states[path] = state
        else:
            found[path] = kept
    for look in look_at_all(list(states)):
        found[look.path] = look
        if looks is not None:
            looks.keep(look, states[look.path].st_size, states[look.path].st_mtime_ns)
    return found


def _place(path: Path) -> str:
    """Where a file is, whichever way it is named."""
    return os.path.normpath(path.absolute())


def grouped_by_time(looks: Sequence[Look]) -> tuple[list[tuple[Look, ...]], list[InputError]]:
    """The recordings of a bike as rides: by overlapping time, then by folder.

    Parameters
    ----------
    looks : at recordings of one bike

    Returns
    -------
    The recordings of each ride, and an error for each that may belong to several.
    """
    timed = sorted((look for look in looks if look.timed), key=lambda look: (look.start, look.path))
    rides: list[list[Look]] = []
    until: datetime | None = None
    for look in timed:
        if until is not None and look.start is not None and look.start < until - LEAST_OVERLAP:
            rides[-1].append(look)
        else:
            rides.append([look])
        until = look.end if until is None or len(rides[-1]) == 1 else max(until, look.end or until)
    if any(look.local for look in timed):
        rides = zones_apart(rides)
    inside_of = by_folder(rides)
    strays: list[InputError] = []
    untimed = sorted((look for look in looks if not look.timed), key=lambda look: look.path)
    for folder, inside in groupby(untimed, key=lambda look: look.path.parent):
        there = inside_of.get(folder, [])
        if len(there) > 1:
            strays += [refusals.whose_ride(str(look.path), len(there)) for look in inside]
        elif there:
            there[0].extend(inside)
        else:
            rides.append(list(inside))
    return [tuple(sorted(ride, key=lambda look: look.path)) for ride in rides], strays


def _names(home: Path, rides: Sequence[Sequence[Look]]) -> list[str]:
    """What to call rides: their folder where it is theirs alone, else their files."""
    folders = [ride[0].path.parent for ride in rides]
    there = Counter(folders)
    names = []
    for ride, folder in zip(rides, folders, strict=True):
        if there[folder] == 1 and folder != home:
            names.append(folder.relative_to(home).as_posix())
        else:
            names.append(" + ".join(look.path.relative_to(home).as_posix() for look in ride))
    return names


def _when(ride: RideFiles) -> tuple[bool, str, str]:
    starts = [look.start for look in ride.looks if look.start is not None]
    return (not starts, min(starts).isoformat() if starts else "", ride.name)
