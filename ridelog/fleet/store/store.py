"""A store of measured rides: written whole or not at all, by as many at a time as there are, read as tables.

A ride is there if and only if its answers are. They are written last and removed first, so that whatever ends a writer,
a ride is there whole or not there; on a disk, all of its files are there under other names before the first gets its
own, so that a full disk leaves what was there. Names hold the ride's key: who writes a ride again changes nothing.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Collection, Iterator, Mapping, Sequence
from datetime import datetime
from functools import cached_property, lru_cache
from pathlib import Path
from typing import TYPE_CHECKING, TypedDict, Unpack

from ridelog.fleet.store.catalogue import Catalogue
from ridelog.fleet.store.layout import DETAILS, LONGEST_NAME, Entry, bike_folder, entries, latest, month_of
from ridelog.fleet.store.places import Folder, Place, place_of
from ridelog.tell.refusals import store as refusals

if TYPE_CHECKING:  # tables are read by what takes half a second to load, which a look at the keys can do without
    import pandas as pd
    import pyarrow as pa

    from ridelog.answer.ride import Answer
    from ridelog.fleet.store.measured import MeasuredRide

SCHEMA = 1  # of a store; a newer one is refused, columns may come to this one
HEAD, ABOUT, CATALOGUE = "store.json", "STORE.md", "catalogue.sqlite"


class Which(TypedDict, total=False):
    """Which rides, and which columns of theirs; see `Store.answers`."""

    bikes: Collection[str] | None
    since: datetime | None
    until: datetime | None
    columns: Sequence[str] | None


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
        if (length := len(bike_folder(ride.bike))) > LONGEST_NAME:
            raise refusals.name_too_long(ride.bike, length, LONGEST_NAME)
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
        self._drop(before - {entry})
        self._before[ride.key] = {entry}

    def remove(self, key: str) -> None:
        """Take a ride out; one that is not there is passed over.

        Raises
        ------
        StoreError : it cannot be removed
        """
        self._drop(self._entries().get(key, set()))
        if self._before is not None:
            self._before.pop(key, None)

    def keys(self) -> dict[str, str]:
        """The rides that are there: key -> version of ridelog that measured it, without opening a file.

        Raises
        ------
        StoreError : the store cannot be read
        """
        return {key: latest(found).version for key, found in self._entries().items()}

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
        StoreError : the store cannot be read, or has no such column
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
        for table in self._file(key, "series"):
            from ridelog.fleet.store.series import decoded

            return decoded(table)
        raise refusals.no_series(self.address, key)

    def answer(self, key: str) -> Answer:
        """The whole answer of a ride, without its series.

        Raises
        ------
        StoreError : no such ride
        AnswerError : it was measured by a version whose answers this one does not read
        """
        for table in self._file(key, "answers", ["answer"]):
            from ridelog.answer.ride import Answer

            return Answer.from_dict(json.loads(table["answer"][0].as_py()))
        raise refusals.no_such_ride(self.address, key)

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
        found: dict[str, set[Entry]] = {}
        for entry in entries(self._place.listing("answers")):
            found.setdefault(entry.key, set()).add(entry)
        return found

    def _file(self, key: str, folder: str, names: Sequence[str] | None = None) -> Iterator[pa.Table]:
        """The file of a ride in a folder, if it is there."""
        from ridelog.fleet.store.packed import unpacked

        if (found := self._entries().get(key)) is None:
            raise refusals.no_such_ride(self.address, key)
        for path, content in self._place.read([latest(found).path(folder)]):
            yield unpacked(content, f"{self.address}/{path}", names)

    def _withdraw_if_other(self, entry: Entry, contents: Mapping[str, bytes]) -> None:
        """Take out a ride that was kept otherwise under the same name, so that the two never stand mixed."""
        for _, content in self._place.read([entry.path("answers")]):
            if content != contents[entry.path("answers")]:
                gone = [path for path in map(entry.path, DETAILS) if path not in contents]
                self._place.remove([entry.path("answers"), *gone])

    def _drop(self, gone: Collection[Entry]) -> None:
        """Take out rides, their answers first."""
        for entry in gone:
            self._place.remove([entry.path("answers"), *map(entry.path, DETAILS)])

    def _frame(self, table: str, which: Which) -> pd.DataFrame:
        """The rows of a table of the rides that are asked for."""
        from ridelog.fleet.store.columns import arrow_schema, columns
        from ridelog.fleet.store.reading import rows_of

        known = [each.name for each in columns(table)]
        asked = which.get("columns")
        wanted = [name for name in known if name != "answer"] if asked is None else list(asked)
        for name in wanted:
            if name not in known:
                raise refusals.no_such_column(name, table)
        listed, rides = self._listed(table, which)
        held = [name for name in arrow_schema(table).names if name in {*wanted, "key", "ride_start"}]
        frame: pd.DataFrame = rows_of(self._place, table, listed, held).to_pandas()
        for name in ("bike", "month"):
            if name not in held:
                told = frame["key"].map({key: getattr(entry, name) for key, entry in rides.items()})
                frame[name] = told.astype("str")
        return _between(frame, which).sort_values(["ride_start", "key"], kind="stable", ignore_index=True)[wanted]

    def _listed(self, table: str, which: Which) -> tuple[dict[str, str], dict[str, Entry]]:
        """Path -> stamp of the files of a table that the rides asked for have, and these rides by key."""
        answers = self._place.listing("answers")
        by_key: dict[str, list[Entry]] = {}
        for entry in entries(answers):
            by_key.setdefault(entry.key, []).append(entry)
        bikes, since, until = which.get("bikes"), which.get("since"), which.get("until")
        bikes = [bikes] if isinstance(bikes, str) else bikes
        rides = {
            key: entry
            for key, entry in ((key, latest(found)) for key, found in by_key.items())
            if (bikes is None or entry.bike in bikes) and entry.may_begin(since, until)
        }
        stamps = answers if table == "answers" else self._place.listing(table)
        paths = (entry.path(table) for entry in rides.values())
        return {path: stamps[path] for path in paths if path in stamps}, rides


def _between(frame: pd.DataFrame, which: Which) -> pd.DataFrame:
    """The rows of rides that began in a span."""
    since, until = which.get("since"), which.get("until")
    start = frame["ride_start"]
    if since is not None:
        frame = frame[start >= since]
    return frame if until is None else frame[frame["ride_start"] < until]


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
    StoreError : there is none, it is one of a newer ridelog, or it cannot be reached
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
