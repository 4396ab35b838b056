"""What was read, when and with which version: a database beside the tables of a store on this computer.

It spares looking at a file again that has not changed, and remembers what could not be measured and why. Nothing in it
is needed to read the store: where it is lost, damaged, or of another version, it is made anew.
"""

from __future__ import annotations

import contextlib
import errno
import os
import shutil
import sqlite3
from collections.abc import Callable, Iterable, Iterator
from dataclasses import astuple, fields
from pathlib import Path
from time import monotonic, sleep
from typing import Any, Literal, TypeVar

from ridelog.lazy import dataclass
from ridelog.tell.refusals import store as refusals

VERSION = 1  # of the tables below; a catalogue of another one is made anew
REPORTS = 8  # kept: as many sets of folders may be audited into one store in turn
FULL_BYTES = 256 * 1024  # a disk with less room than this is full, whatever failed on it
PATIENCE_S = 30.0  # for another process that writes
_DAMAGED = (sqlite3.SQLITE_CORRUPT, sqlite3.SQLITE_NOTADB)
_TABLES = f"""
BEGIN IMMEDIATE;
CREATE TABLE IF NOT EXISTS files (
    path TEXT PRIMARY KEY, size INTEGER, mtime_ns INTEGER, sha256 TEXT, format TEXT, role TEXT, start TEXT, "end" TEXT,
    clock TEXT);
CREATE TABLE IF NOT EXISTS attempts (
    key TEXT PRIMARY KEY, paths TEXT, bike TEXT, name TEXT, status TEXT, reason TEXT, hint TEXT, version TEXT, at TEXT);
CREATE TABLE IF NOT EXISTS reports (digest TEXT PRIMARY KEY, text TEXT);
PRAGMA user_version = {VERSION};
COMMIT;
"""
Result = TypeVar("Result")


@dataclass(frozen=True)
class Look:
    """What a look at a file told; it holds as long as size and time of change are the same.

    ``path`` : absolute · ``sha256`` : of its bytes · ``format``, ``role``, ``clock`` : see `ridelog.recording`;
    ``None`` where nothing takes the file for its own · ``start``, ``end`` : ISO 8601, UTC, ``None`` without wall time
    """

    path: str
    size: int
    mtime_ns: int
    sha256: str
    format: str | None = None
    role: str | None = None
    start: str | None = None
    end: str | None = None
    clock: str | None = None


@dataclass(frozen=True)
class Attempt:
    """One ride that was measured, or could not be.

    ``paths`` : of its files, a line each · ``reason``, ``hint`` : of an error · ``at`` : ISO 8601, UTC
    """

    key: str
    paths: str
    bike: str
    name: str
    status: Literal["measured", "failed"]
    reason: str | None
    hint: str | None
    version: str
    at: str


class Catalogue:
    """The catalogue at a path. Every call is one short transaction; processes and threads may call at once."""

    def __init__(self, path: Path) -> None:
        self.path = path

    def looks(self) -> dict[str, Look]:
        """All looks at files, by path.

        Raises
        ------
        StoreError : the catalogue cannot be read
        """
        return {look.path: look for look in (Look(*row) for row in self._rows("files", Look))}

    def remember(self, looks: Iterable[Look]) -> None:
        """Keep looks at files, in the place of older ones.

        Raises
        ------
        StoreError : the catalogue cannot be written
        """
        self._replace("files", Look, looks)

    def attempts(self) -> dict[str, Attempt]:
        """The last attempt at each ride, by key.

        Raises
        ------
        StoreError : the catalogue cannot be read
        """
        return {attempt.key: attempt for attempt in (Attempt(*row) for row in self._rows("attempts", Attempt))}

    def note(self, attempts: Iterable[Attempt]) -> None:
        """Keep attempts, in the place of earlier ones at the same rides.

        Raises
        ------
        StoreError : the catalogue cannot be written
        """
        self._replace("attempts", Attempt, attempts)

    def report(self, digest: str) -> str | None:
        """The text that was kept under a digest; ``None`` without one.

        Raises
        ------
        StoreError : the catalogue cannot be read
        """
        found = self._do("read", lambda database: _all(database, "SELECT text FROM reports WHERE digest = ?", digest))
        return found[0][0] if found else None

    def keep_report(self, digest: str, text: str) -> None:
        """Keep a text under the digest of what it was made from, and let go the oldest beyond `REPORTS`.

        Raises
        ------
        StoreError : the catalogue cannot be written
        """

        def keep(database: sqlite3.Connection) -> None:
            _all(database, "REPLACE INTO reports VALUES (?, ?)", digest, text)
            latest = f"SELECT rowid FROM reports ORDER BY rowid DESC LIMIT {REPORTS}"  # noqa: S608  (a number of ours)
            _all(database, f"DELETE FROM reports WHERE rowid NOT IN ({latest})")  # noqa: S608

        self._do("written", keep)

    def _rows(self, table: str, kind: Any) -> list[tuple[Any, ...]]:
        return self._do("read", lambda database: _all(database, f"SELECT {_names(kind)} FROM {table}"))  # noqa: S608  (names of ours)

    def _replace(self, table: str, kind: Any, held: Iterable[Any]) -> None:
        rows = [astuple(each) for each in held]
        marks = ", ".join("?" * len(fields(kind)))
        order = f"REPLACE INTO {table} ({_names(kind)}) VALUES ({marks})"  # noqa: S608  (names of ours)
        self._do("written", lambda database: database.executemany(order, rows))

    def _do(self, what: str, work: Callable[[sqlite3.Connection], Result]) -> Result:
        """Do something in one transaction, in a catalogue made anew where it is damaged."""
        for attempt in range(2):
            try:
                with contextlib.closing(self._opened()) as database, database:
                    return work(database)
            except sqlite3.Error as error:
                if attempt or getattr(error, "sqlite_errorcode", None) not in _DAMAGED:
                    raise refusals.cannot_be(
                        what, str(self.path), _cause(error, self.path), kept=self.path.is_file()
                    ) from error
                self._make_anew()
        raise AssertionError  # the second attempt returns or raises

    def _opened(self) -> sqlite3.Connection:
        database = sqlite3.connect(self.path, timeout=PATIENCE_S)
        try:
            (version,) = database.execute("PRAGMA user_version").fetchone()
            if version not in (0, VERSION):
                database.close()
                self._make_anew()
                database = sqlite3.connect(self.path, timeout=PATIENCE_S)
            _in_wal(database)
            database.execute("PRAGMA synchronous = NORMAL")  # what is lost with the power can be looked at again
            if version != VERSION:
                database.executescript(_TABLES)
        except sqlite3.Error:
            database.close()
            raise
        return database

    def _make_anew(self) -> None:
        """Take the damaged one away."""
        for end in ("", "-wal", "-shm"):
            Path(f"{self.path}{end}").unlink(missing_ok=True)


def _in_wal(database: sqlite3.Connection) -> None:
    """Have readers and a writer at once; of two that begin a catalogue the library makes none wait, but refuses one."""
    until_s = monotonic() + PATIENCE_S
    while True:
        try:
            database.execute("PRAGMA journal_mode = WAL")
        except sqlite3.OperationalError as error:
            if error.sqlite_errorcode & 0xFF != sqlite3.SQLITE_BUSY or monotonic() > until_s:
                raise
            sleep(0.02)
        else:
            return


def _names(kind: Any) -> str:
    return ", ".join(f'"{field.name}"' for field in fields(kind))


def _cause(error: sqlite3.Error, path: Path) -> Exception:
    """The error; where its disk is full that, for the library calls it an error of input and output on some disks."""
    kind = getattr(error, "sqlite_errorcode", 0) & 0xFF  # without what goes into detail
    full = kind == sqlite3.SQLITE_FULL
    if kind in (sqlite3.SQLITE_IOERR, sqlite3.SQLITE_CANTOPEN):
        with contextlib.suppress(OSError):
            full = shutil.disk_usage(path.parent).free < FULL_BYTES
    return OSError(errno.ENOSPC, os.strerror(errno.ENOSPC)) if full else error


def _all(database: sqlite3.Connection, order: str, *values: str) -> list[tuple[Any, ...]]:
    return database.execute(order, values).fetchall()


@contextlib.contextmanager
def locked(path: Path, patience_s: float) -> Iterator[bool]:
    """A lock that goes with its process, whatever ends it: that of a database to which nothing is written.

    Parameters
    ----------
    path : of the database
    patience_s : how long another one who holds it is waited for [s]

    Returns
    -------
    Within, whether it is ours.

    Raises
    ------
    StoreError : there can be no database
    """
    try:
        database = sqlite3.connect(path, timeout=patience_s, isolation_level=None)
    except sqlite3.Error as error:
        raise refusals.cannot_be("written", str(path), _cause(error, path)) from error
    with contextlib.closing(database):
        try:
            database.execute("BEGIN EXCLUSIVE")
        except sqlite3.Error as error:
            if getattr(error, "sqlite_errorcode", None) != sqlite3.SQLITE_BUSY:
                raise refusals.cannot_be("written", str(path), _cause(error, path)) from error
            ours = False
        else:
            ours = True
        yield ours
