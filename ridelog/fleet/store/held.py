"""Which rides does a store hold, and in which files? Names tell it, but for files that several rides share.

Of these, the keys are read once and noted beside the tables; their names hold a digest of what is in them, so that a
note is true as long as its file is there. Who takes the notes away loses nothing but time.
"""

from __future__ import annotations

import contextlib
import json
import time
from collections.abc import Callable, Collection, Mapping, Sequence
from datetime import datetime
from typing import TypedDict, TypeVar

from ridelog.errors import StoreError
from ridelog.fleet.store.layout import Entry, entries, latest, shared_paths
from ridelog.fleet.store.places import Place
from ridelog.tell.refusals import store as refusals

NOTES = ".rows/merged.json"
_PAUSES_S = (0.0, 0.0, 0.01, 0.03, 0.1, 0.3, 1.0, 3.0, 10.0)  # before a store that changes is asked again
Rides = list[tuple[str, str]]  # key and version of each
Result = TypeVar("Result")


class Which(TypedDict, total=False):
    """Which rides, and which columns of theirs; see `Store.answers`."""

    bikes: Collection[str] | None
    since: datetime | None
    until: datetime | None
    columns: Sequence[str] | None


class GoneError(Exception):
    """A file was listed and is gone: another one took it away, or merged it, and it is to be asked anew."""


def steady(work: Callable[[], Result], address: str) -> Result:
    """What comes of asking a store that others may be writing.

    Parameters
    ----------
    work : asks it, from a listing on
    address : of the store

    Returns
    -------
    What ``work`` gives where no file went away meanwhile.

    Raises
    ------
    StoreError : files go away all the time
    """
    for pause_s in _PAUSES_S:
        time.sleep(pause_s)
        with contextlib.suppress(GoneError):
            return work()
    raise refusals.never_still(address)


def may_be_meant(which: Which, entry: Entry) -> bool:
    """Whether a ride may be among those asked for, as far as its file's name tells."""
    bikes = which.get("bikes")
    bikes = [bikes] if isinstance(bikes, str) else bikes
    return (bikes is None or entry.bike in bikes) and entry.may_begin(which.get("since"), which.get("until"))


def held_rides(place: Place, answers: Mapping[str, str]) -> dict[str, set[Entry]]:
    """All that is kept of each ride, by its key.

    Parameters
    ----------
    place : of the store
    answers : path -> stamp, as listed

    Returns
    -------
    See `layout.entries`.

    Raises
    ------
    GoneError : see there
    StoreError : a file cannot be read
    """
    return entries(answers, _shared(place, shared_paths(answers)))


def listed(
    place: Place, table: str, wanted: Callable[[Entry], bool] = lambda _: True
) -> tuple[dict[str, str], dict[str, Entry]]:
    """The files of rides in a table.

    Parameters
    ----------
    place : of the store
    table : "answers", or one of the details
    wanted : which rides are asked for

    Returns
    -------
    Path -> stamp of the files, and the rides by key; one may have no file, as a ride without hills.

    Raises
    ------
    GoneError : see there
    StoreError : the store cannot be read
    """
    answers = place.listing("answers")
    every = {key: latest(found) for key, found in held_rides(place, answers).items()}
    rides = {key: entry for key, entry in every.items() if wanted(entry)}
    stamps = answers if table == "answers" else place.listing(table)
    found = {path: stamps[path] for entry in rides.values() if (path := entry.path(table)) in stamps}
    without = {entry.path("answers") for entry in rides.values() if entry.path(table) not in found}
    if without and not without <= set(place.listing("answers")):  # gone with its answers, or merged meanwhile
        raise GoneError
    return found, rides


def _shared(place: Place, paths: list[str]) -> dict[str, Rides]:
    """The rides in each of the files of several."""
    if not paths:
        return {}
    noted = _noted(place)
    missing = [path for path in paths if path not in noted]
    if missing:
        from ridelog.fleet.store.packed import unpacked

        read = dict(place.read(missing))
        if len(read) < len(missing):
            raise GoneError
        for path, content in read.items():
            rows = unpacked(content, f"{place.address}/{path}", ["key", "ridelog"])
            noted[path] = list(zip(rows["key"].to_pylist(), rows["ridelog"].to_pylist(), strict=True))
        note(place, {path: noted[path] for path in paths})
    return noted


def _noted(place: Place) -> dict[str, Rides]:
    for _, content in place.read([NOTES]):
        with contextlib.suppress(ValueError, TypeError, AttributeError):  # damaged: as if it were not there
            return {
                path: [(str(key), str(version)) for key, version in each] for path, each in json.loads(content).items()
            }
    return {}


def note(place: Place, rides: Mapping[str, Rides]) -> None:
    """Note which rides are in files of several, where we may write."""
    with contextlib.suppress(StoreError):
        place.put({NOTES: json.dumps(rides, separators=(",", ":")).encode()})
