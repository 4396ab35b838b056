"""A store of measured rides: written whole or not at all, by as many at a time as there are, read as tables.

A ride is there if and only if its answers are. They are written last and removed first, so that whatever ends a writer,
a ride is there whole or not there; on a disk, all of its files are there under other names before the first gets its
own, so that a full disk leaves what was there. Names hold the ride's key: who writes a ride again changes nothing.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable, Collection, Iterable, Mapping, Sequence
from dataclasses import replace
from functools import cached_property, lru_cache, partial
from pathlib import Path
from typing import TYPE_CHECKING, Any, Unpack

from ridelog.fleet.store.catalogue import Catalogue
from ridelog.fleet.store.held import GoneError, Rides, Which, held_rides, note, steady
from ridelog.fleet.store.layout import DETAILS, LONGEST_NAME, Entry, bike_folder, latest, month_of
from ridelog.fleet.store.places import Folder, Place, place_of
from ridelog.tell.refusals import store as refusals

if TYPE_CHECKING:  # tables are read by what takes half a second to load, which a look at the keys can do without
    import pandas as pd
    import pyarrow as pa

    from ridelog.answer.ride import Answer
    from ridelog.fleet.store.measured import MeasuredRide, Names

SCHEMA = 1  # of a store; a newer one is refused, columns may come to this one
HEAD, ABOUT, CATALOGUE = "store.json", "STORE.md", "catalogue.sqlite"
PATIENCE_S = 30.0  # for another process that merges files, where a ride is to go that is in one
Spread = Callable[[Callable[[Any], Any], Sequence[Any]], Iterable[Any]]


class Store:
    """A store; `open_store` opens one.

    ``address`` : as it may be shown · ``local`` : it is a folder of this computer
    """

    def __init__(self, place: Place, reopen: str) -> None:
        self._place = place
        self._reopen = reopen
        self._before: dict[str, set[Entry]] | None = None  # what was kept of each ride when first asked
        self.address = place.address
        self.local = place.local

    def __reduce__(self) -> tuple[Callable[[str], Store], tuple[str]]:
        return _reopened, (self._reopen,)

    @cached_property
    def catalogue(self) -> Catalogue | None:
        """What was read, when and with which version; ``None`` where the store is no folder of this computer."""
        return Catalogue(Path(self._reopen) / CATALOGUE) if self.local else None

    def write(self, ride: MeasuredRide) -> None:
        """Keep a ride, in the place of what was kept under its key.

        Raises
        ------
        StoreError : it cannot be written; what the store held is still there
        ValueError : the ride's ``extra`` names a column that there is not
        """
        from ridelog.fleet.store.packed import packed
        from ridelog.fleet.store.rows import tables_of
        from ridelog.fleet.store.series import encoded

        answer = ride.answer
        entry = Entry(ride.key, answer.ridelog, ride.bike, month_of(answer.ride.start))
        _refuse_long(ride.bike)
        tables = tables_of(ride)
        contents = {entry.path(name): packed(tables[name]) for name in DETAILS if name in tables}
        if len(answer.series):
            contents[entry.path("series")] = encoded(answer.series, _logged(answer))
        contents[entry.path("answers")] = packed(tables["answers"])  # last: with it, the ride is there
        if self._before is None:
            self._before = self._entries()
        before = self._before.get(ride.key, set())
        if entry in before:
            self._withdraw_if_other(entry, contents)
        self._place.put(contents)
        if any(each.shared and latest({each, entry}) != entry for each in before):
            self._choose({ride.key: entry})
        self._drop(before - {entry}, entry)
        if self._before is not None:
            self._before[ride.key] = {entry, *(each for each in before if each.shared)}

    def rename(self, names: Mapping[str, Names]) -> None:
        """Give rides that were measured other names.

        Parameters
        ----------
        names : by the key of the ride; one that is not there is passed over

        Raises
        ------
        StoreError : it cannot be written; a ride that was not reached has the names that it had
        """
        from ridelog.fleet.store.rows import named

        held = self._entries() if names else {}
        for key, each in names.items():
            if (found := held.get(key)) is None:
                continue
            _refuse_long(each.bike)
            old = latest(found)
            new = replace(old, bike=each.bike, shared="")
            beside = () if new == old else tuple(name for name in DETAILS if name != "series")
            targets = {old.path(name): (name, new.path(name)) for name in (*beside, "answers")}  # answers last
            contents = {}
            for path, content in self._place.read(list(targets)):
                table, target = targets[path]
                contents[target] = named(content, f"{self.address}/{path}", (table, key), each)
            self._place.put(contents)
            self._drop(found - {new}, new)
        self._before = None

    def remove(self, *keys: str) -> None:
        """Take rides out; one that is not there is passed over.

        Raises
        ------
        StoreError : they cannot be removed
        """
        found = self._entries()
        gone = {entry for key in keys for entry in found.get(key, ())}
        if any(entry.shared for entry in gone):
            self._choose(dict.fromkeys(keys))
        self._drop(gone)
        for key in keys if self._before is not None else ():
            self._before.pop(key, None)  # type: ignore[union-attr]

    def files(self, key: str) -> dict[str, bytes]:
        """All that is kept of a ride, by the paths of files that no other ride shares; the answers are the last.

        Raises
        ------
        StoreError : it is not there, or the store cannot be read
        """
        from ridelog.fleet.store.packed import by_ride, packed, unpacked

        if (found := self._entries().get(key)) is None:
            raise refusals.no_such_ride(self.address, key)
        old = latest(found)
        own = replace(old, shared="")
        targets = {old.path(name): (name, own.path(name)) for name in (*DETAILS, "answers")}
        contents = {}
        for path, content in self._place.read(list(targets)):
            table, target = targets[path]
            if not old.shared or table == "series":
                contents[target] = content
            elif (rows := by_ride(unpacked(content, f"{self.address}/{path}")).get(key)) is not None:
                contents[target] = packed(rows)
        return contents

    def take(self, files: Mapping[str, bytes]) -> None:
        """Keep a ride as another store gave it (`Store.files`).

        Raises
        ------
        StoreError : it cannot be written
        """
        self._place.put(files)
        self._before = None

    def merge(self, spread: Spread = map) -> None:
        """Put the rides of each bike and month into one file a table, but for their series.

        Whatever ends it, each ride is there, once; where another process merges the store already, nothing is done.

        Parameters
        ----------
        spread : maps a function over parts of the store, as Python's own map does: it may do so in several processes

        Raises
        ------
        StoreError : the store cannot be read or written
        """
        self._merge(spread)

    def _choose(self, chosen: Mapping[str, Entry | None]) -> None:
        """Leave of rides that share files what is chosen, by key: a version that is not the latest, or nothing."""

        def left() -> None:
            self._merge(map, chosen)
            found = self._entries()
            for key, kept in chosen.items():
                there = [entry for entry in found.get(key, ()) if entry.shared]
                if any(kept is None or entry.version != kept.version for entry in there):
                    raise GoneError  # another one wrote it meanwhile

        steady(left, self.address)

    def _merge(self, spread: Spread, chosen: Mapping[str, Entry | None] | None = None) -> None:
        """Merge all that is to be merged, or what rides are in of which something is chosen."""
        with self._place.alone(PATIENCE_S if chosen else 0.0) as alone:
            if not alone:
                if chosen:
                    raise refusals.being_merged(self.address)
                return
            from ridelog.fleet.store.merging import merge, partitions

            answers = self._place.listing("answers")
            parts = partitions(held_rides(self._place, answers), answers, chosen)
            rides: dict[str, Rides] = {}
            for merged in spread(partial(merge, self._place), parts):
                rides |= merged
            if rides:
                note(self._place, rides)
        self._before = None

    def keys(self) -> dict[str, str]:
        """The rides that are there: key -> version of ridelog that measured it, without opening a file.

        Raises
        ------
        StoreError : the store cannot be read
        """
        return {key: latest(found).version for key, found in self._entries().items()}

    def state(self) -> str:
        """A digest of which rides are there and when each was written, without opening a file.

        Raises
        ------
        StoreError : the store cannot be read
        """
        stamps = sorted(self._place.listing("answers").items())
        return hashlib.sha256(repr(stamps).encode()).hexdigest()

    def answers(self, **which: Unpack[Which]) -> pd.DataFrame:
        """One row a ride, by its start.

        Parameters
        ----------
        bikes : only rides of these bikes
        since, until : only rides that began at or after the one and before the other, each with its zone; none
            without wall time
        columns : in this order; ``None`` for all but ``answer``, the JSON of the whole answer

        Returns
        -------
        rides : numbers that are not known are NaN, times UTC

        Raises
        ------
        StoreError : the store cannot be read or has no such column, or a time has no zone
        """
        return self._frame("answers", which)

    def hills(self, **which: Unpack[Which]) -> pd.DataFrame:
        """One row a hill each time that it was ridden, by the start of the ride; see `Store.answers`."""
        return self._frame("hills", which)

    def events(self, **which: Unpack[Which]) -> pd.DataFrame:
        """One row a braking event, by the start of the ride; see `Store.answers`."""
        return self._frame("events", which)

    def findings(self, **which: Unpack[Which]) -> pd.DataFrame:
        """One row a finding, by the start of the ride; see `Store.answers`."""
        return self._frame("findings", which)

    def series(self, key: str) -> pd.DataFrame:
        """The series of a ride, at the resolution of its logger; see `series.encoded`.

        Raises
        ------
        StoreError : no such ride, or it was kept without its series
        """
        from ridelog.fleet.store.series import decoded

        if (table := self._file(key, "series")) is None:
            raise refusals.no_series(self.address, key)
        return decoded(table)

    def answer(self, key: str) -> Answer:
        """The whole answer of a ride, without its series.

        Raises
        ------
        StoreError : no such ride
        AnswerError : it was measured by a version whose answers this one does not read
        """
        from ridelog.answer.ride import Answer

        if (table := self._file(key, "answers", ["answer"])) is None:
            raise refusals.no_such_ride(self.address, key)
        return Answer.from_dict(json.loads(table["answer"][0].as_py()))

    def tidy(self) -> None:
        """Remove what writers left that were ended more than an hour ago, and renew what the store says of itself.

        Raises
        ------
        StoreError : the store cannot be read or written
        """
        from ridelog.fleet.store.about import about

        if [content for _, content in self._place.read([ABOUT])] != [about().encode()]:
            self._place.put({ABOUT: about().encode()})  # lost, or of a version with other columns
        rides = map(latest, self._entries().values())
        self._place.tidy({entry.path(folder) for entry in rides for folder in ("answers", *DETAILS)})

    def _entries(self) -> dict[str, set[Entry]]:
        """All that is kept of each ride."""
        return steady(lambda: held_rides(self._place, self._place.listing("answers")), self.address)

    def _file(self, key: str, folder: str, names: Sequence[str] | None = None) -> pa.Table | None:
        """The rows of a ride in a folder; ``None`` where it has none."""
        return steady(lambda: self._rows(key, folder, names), self.address)

    def _rows(self, key: str, folder: str, names: Sequence[str] | None) -> pa.Table | None:
        from ridelog.fleet.store.packed import by_ride, unpacked

        if (found := self._entries().get(key)) is None:
            raise refusals.no_such_ride(self.address, key)
        entry = latest(found)
        for path, content in self._place.read([entry.path(folder)]):
            rows = unpacked(content, f"{self.address}/{path}", None if names is None else [*names, "key"])
            return rows if folder == "series" else by_ride(rows).get(key)
        if entry not in self._entries().get(key, ()):
            raise GoneError
        return None

    def _withdraw_if_other(self, entry: Entry, contents: Mapping[str, bytes]) -> None:
        """Take out a ride that was kept otherwise under the same name, so that the two never stand mixed."""
        for _, content in self._place.read([entry.path("answers")]):
            if content != contents[entry.path("answers")]:
                gone = [path for path in map(entry.path, DETAILS) if path not in contents]
                self._place.remove([entry.path("answers"), *gone])

    def _drop(self, gone: Collection[Entry], kept: Entry | None = None) -> None:
        """Take out rides, their answers first; no file that one that is kept has too, or other rides may have."""
        folders = ("answers", *DETAILS)
        held = set() if kept is None else {kept.path(folder) for folder in folders}
        for entry in gone:
            own = ("series",) if entry.shared else folders
            self._place.remove(path for folder in own if (path := entry.path(folder)) not in held)

    def _frame(self, table: str, which: Which) -> pd.DataFrame:
        """The rows of a table of the rides that are asked for."""
        from ridelog.fleet.store.reading import asked

        return asked(self._place, table, which)


def _refuse_long(bike: str) -> None:
    """Raise where the name of a bike is too long for that of a folder."""
    if (length := len(bike_folder(bike))) > LONGEST_NAME:
        raise refusals.name_too_long(bike, length, LONGEST_NAME)


def _logged(answer: Answer) -> set[str]:
    """The channels that the log with the current wrote itself."""
    log = next((source for source in answer.sources if source.role in ("electrical", "both")), None)
    return {use.channel for use in log.columns if use.channel is not None} if log is not None else set()


def open_store(address: str | Path, *, create: bool = False, tidy: bool = True) -> Store:
    """Open a store of measured rides.

    Parameters
    ----------
    address : a folder, or an address that fsspec knows: memory://, s3://, gs://, az://
    create : make one where there is none yet, in a folder that is empty or not there
    tidy : with ``create``, see `Store.tidy`

    Returns
    -------
    store : its methods read and write it

    Raises
    ------
    StoreError : there is none, the address is empty, it is one of a newer ridelog, or it cannot be reached
    """
    place = place_of(address)
    head = _head(place)
    if head is None:
        if not create:
            raise refusals.not_there(place.address) if place.is_empty() else refusals.not_a_store(place.address)
        empty = place.is_empty()
        head = _head(place)  # another one may have made it meanwhile
        if head is None and not empty:
            raise refusals.not_a_store(place.address)
        place.put({HEAD: json.dumps({"schema": SCHEMA}).encode() + b"\n"})
        head = SCHEMA
    if head > SCHEMA:
        raise refusals.newer_schema(place.address, head, SCHEMA)
    store = Store(place, str(place.root) if isinstance(place, Folder) else str(address))
    if create and tidy:
        store.tidy()
    return store


@lru_cache(maxsize=8)
def _reopened(address: str) -> Store:
    """A store in another process, one for all the work there, so that what it holds is looked up once."""
    return open_store(address)


def _head(place: Place) -> int | None:
    """The schema that a store says it has; ``None`` where there is no store."""
    for _, content in place.read([HEAD]):
        try:
            schema = json.loads(content)["schema"]
        except (ValueError, KeyError, TypeError):
            schema = None
        if not isinstance(schema, int) or isinstance(schema, bool) or schema < 1:
            raise refusals.damaged_head(place.address, HEAD)
        return schema
    return None
