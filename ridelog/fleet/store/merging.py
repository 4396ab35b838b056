"""Files of many rides in the place of one or four a ride: of each bike and month one file a table.

What is merged lies beside what it was made of before that goes. A ride that stands in both is read from its own file,
which a writer may have renewed since; so there is no moment in which a ride would be read twice, or not at all, and a
merging that is ended leaves no more than files to be taken away by the next.
"""

from __future__ import annotations

import hashlib
from collections.abc import Collection, Mapping

import pyarrow as pa

from ridelog.fleet.store.held import GoneError, Rides
from ridelog.fleet.store.layout import DETAILS, Entry, bike_folder, latest
from ridelog.fleet.store.packed import by_ride, packed, unpacked
from ridelog.fleet.store.places import Place
from ridelog.lazy import dataclass

MERGED = (*(name for name in DETAILS if name != "series"), "answers")  # in the order in which they are written


@dataclass(frozen=True)
class Partition:
    """The rides of one bike and month that are to come into one file.

    Attributes
    ----------
    bike, month : of the rides
    rides : as they are read now
    files : what is there now of this bike and month, one entry a file of answers, with its stamp
    """

    bike: str
    month: str
    rides: tuple[Entry, ...]
    files: tuple[tuple[Entry, str], ...]


def partitions(
    found: Mapping[str, Collection[Entry]], answers: Mapping[str, str], chosen: Mapping[str, Entry | None] | None = None
) -> list[Partition]:
    """What is to be merged: bikes and months of several files, or with rows that no ride is read from.

    Parameters
    ----------
    found : all that is kept of each ride, by key
    answers : path -> stamp of the files of answers
    chosen : by key, what is to be left of a ride in the place of the latest, ``None`` for nothing; with it, only their
        bikes and months are looked at

    Returns
    -------
    By bike, then by month.
    """
    rides: dict[tuple[str, str], list[Entry]] = {}
    files: dict[tuple[str, str], dict[str, Entry]] = {}
    stale, touched = set(), set()
    for key, each in found.items():
        kept = chosen[key] if chosen is not None and key in chosen else latest(each)
        for entry in each:
            home = entry.bike, entry.month
            files.setdefault(home, {})[entry.path("answers")] = entry
            if chosen is not None and key in chosen:
                touched.add(home)
            if entry == kept:
                rides.setdefault(home, []).append(entry)
            else:
                stale.add(home)
    return [
        Partition(*home, tuple(rides.get(home, ())), tuple((entry, answers[path]) for path, entry in there.items()))
        for home, there in sorted(files.items())
        if (len(there) > 1 or home in stale if chosen is None else home in touched)
    ]


def merge(place: Place, partition: Partition) -> dict[str, Rides]:
    """Put the rides of a bike and month into one file, and take away what they were in.

    What another one merged meanwhile, or took a ride out of, is left to be merged another time.

    Parameters
    ----------
    place : of the store, of which nobody else merges this part now
    partition : of the rides

    Returns
    -------
    The rides in the new file, by its path; nothing where there are none.

    Raises
    ------
    StoreError : it cannot be written
    """
    try:
        contents, rides = _contents(place, partition.rides)
    except GoneError:
        return {}
    digest = hashlib.sha256(b"".join(contents.values())).hexdigest()[:16]
    new = Entry("", "", partition.bike, partition.month, digest)
    place.put({new.path(table): content for table, content in contents.items()})
    now = place.listing(f"answers/{bike_folder(partition.bike)}/month={partition.month}")
    for entry, stamp in sorted(partition.files, key=lambda file: not file[0].shared):  # own files last: see `latest`
        path = entry.path("answers")
        if path != new.path("answers") and now.get(path) == stamp:  # else somebody wrote it anew
            place.remove([path, *(entry.path(table) for table in MERGED if table != "answers")])
    return {new.path("answers"): rides} if rides else {}


def _contents(place: Place, entries: Collection[Entry]) -> tuple[dict[str, bytes], Rides]:
    """The files of a partition by their table, and the rides in them, by their start."""
    read = {table: _read(place, table, entries) for table in MERGED}  # answers last: with them, the rest was there
    if len(answers := read["answers"]) < len(entries):
        raise GoneError

    def begin(key: str) -> tuple[bool, int, str]:
        start = answers[key]["ride_start"].cast(pa.int64())[0].as_py()
        return start is None, start or 0, key

    order = sorted(answers, key=begin)
    sort = {
        table: pa.concat_tables([rows[key] for key in order if key in rows], promote_options="permissive")
        for table, rows in read.items()
        if rows
    }
    return {table: packed(rows) for table, rows in sort.items()}, [
        (key, answers[key]["ridelog"][0].as_py()) for key in order
    ]


def _read(place: Place, table: str, entries: Collection[Entry]) -> dict[str, pa.Table]:
    """The rows of each ride in a table, of those that have any."""
    wanted: dict[str, set[str]] = {}
    for entry in entries:
        wanted.setdefault(entry.path(table), set()).add(entry.key)
    rows: dict[str, pa.Table] = {}
    for path, content in place.read(list(wanted)):
        held = by_ride(unpacked(content, f"{place.address}/{path}"))
        rows |= {key: own for key, own in held.items() if key in wanted[path]}
    return rows
