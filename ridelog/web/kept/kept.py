"""The rides of a store, as the page shows them: all of them as tables, each with its answer, and what they tell."""

from __future__ import annotations

import contextlib
import re
import threading
from collections.abc import Callable
from dataclasses import replace
from typing import TYPE_CHECKING

from ridelog.errors import AnswerError, RidelogError, StoreError
from ridelog.fleet.audit import Progress
from ridelog.fleet.store.store import Store
from ridelog.web.jobs.process import Run, Stopped, run_here
from ridelog.web.kept.apart import audit_by, listed_by
from ridelog.web.kept.fresh import Fresh, Made
from ridelog.web.kept.listed import Listed
from ridelog.web.rides import ShownRide, shown_ride

if TYPE_CHECKING:
    from ridelog.fleet.record import Audit

_KEY = re.compile(r"[0-9a-f]{64}")
PATIENCE_S = 1.5  # of who asks, before they are told how far it is [s]
RIDE_PATIENCE_S = 10.0  # of who opens one ride, until its store is found, whose rides are then looked at anew [s]
Told = Callable[[Progress], None]
Found = Callable[[Store], None]
Opened = Callable[[Told, Found], Store]


class ClosedError(Exception):
    """The server ends; nobody waits any more."""


class UnderwayError(Exception):
    """What was asked for is not there yet; ``progress`` says how far it is, where rides are being measured for it."""

    def __init__(self, progress: Progress | None) -> None:
        super().__init__()
        self.progress = progress


class Kept:
    """A store and what the page shows of it.

    Parameters
    ----------
    opened : opens it; that may take long, and tells how far it is, and of a store from when on its rides can be read
    keeps : visitors' rides may be kept in it
    run : works out beside the page's threads what all rides tell
    """

    def __init__(self, opened: Opened, *, keeps: bool = False, run: Run = run_here) -> None:
        self.keeps = keeps
        self._closed = False
        self._progress: Progress | None = None
        self._early: Store | None = None
        self._found = threading.Event()
        self._store = Fresh(lambda: opened(self._told, self._finds), lambda: "", "store")
        self._listed = Fresh(lambda: self._beside(listed_by, run), self._state, "rides")
        self._audit = Fresh(lambda: self._beside(audit_by, run), self._state, "audit")
        self._naming = threading.Lock()

    def close(self) -> None:
        """Break the work off."""
        self._closed = True

    @property
    def is_there(self) -> bool:
        """Whether the store is there, or takes no time to be; nothing is begun where it would be measured first."""
        return self.keeps or self._store.is_made

    def store(self) -> Store:
        """The store.

        Raises
        ------
        UnderwayError : it is not there yet
        RidelogError, OSError : it cannot be
        """
        return self._there(self._store.get(PATIENCE_S))

    def listed(self) -> Listed:
        """All its rides; raises as `store` does."""
        self.store()
        return self._there(self._listed.get(PATIENCE_S))

    def bikes(self) -> tuple[str, ...]:
        """Names of its bikes, as far as they are known: no sample rides are measured for it."""
        if self.is_there:
            with contextlib.suppress(RidelogError, OSError, UnderwayError):
                self._listed.get(PATIENCE_S)
        there = self._listed.there
        return () if there is None else tuple(sorted(map(str, there.rides["bike"].unique())))

    def is_listing(self) -> bool:
        """Whether its rides are being listed, so that more may be known of its bikes soon."""
        return self._listed.is_under_way

    def audit(self) -> Audit:
        """What its rides tell together, hills called as they are by now; raises as `store` does."""
        from ridelog.fleet.together import hill_names, with_hill_names

        store = self.store()
        return with_hill_names(self._there(self._audit.get(PATIENCE_S)), hill_names(store))

    def shown(self, key: str) -> ShownRide | None:
        """One of its rides as the page shows rides; ``None`` where there is none of that key, or it cannot be read."""
        if not _KEY.fullmatch(key):
            return None
        try:
            known = self._store.get(0.0)
            if known is None:
                self._found.wait(RIDE_PATIENCE_S)
            store = self._there(known or self._early)
            ready = None if known is None else self._listed.get(0.0)
            named = store.answers(columns=["key", "bike", "name"]) if ready is None else ready.rides
            found = named[named["key"] == key]
            if found.empty:
                return None
            return shown_of(store, key, f"{found['bike'].iloc[0]}, {found['name'].iloc[0]}")
        except (UnderwayError, StoreError, AnswerError, OSError):
            return None

    def hills_of(self, key: str) -> dict[float, str]:
        """The hills of a ride by the second at which it enters each; none as long as the rides are not listed."""
        there = self._listed.there if _KEY.fullmatch(key) else None
        if there is None:
            return {}
        own = there.passes[there.passes["key"] == key].dropna(subset=["place"])
        return dict(zip(own["start_s"].map(float), own["place"].map(str), strict=True))

    def name_hill(self, road: str, name: str) -> None:
        """Call a hill otherwise, both ways; by its number again where ``name`` is empty.

        Parameters
        ----------
        road : the hill's identifier without its direction
        name : what it is called

        Raises
        ------
        RidelogError : the names cannot be written
        """
        from pathlib import Path

        from ridelog.settings.hill_names import NAME, write_hill_name

        with self._naming:
            write_hill_name(Path(self.store().address) / NAME, road, name)

    def _beside(self, find: Callable[[Run, Store, Stopped], Made | None], run: Run) -> Made:
        """What all rides tell; nobody hears of it where the page ends meanwhile."""
        found = find(run, self.store(), lambda: self._closed)
        if found is None:
            raise ClosedError
        return found

    def _state(self) -> str:
        from pathlib import Path

        from ridelog.settings.hill_names import NAME

        store = self.store()
        names = Path(store.address) / NAME
        return store.state() + (str(names.stat().st_mtime_ns) if store.local and names.exists() else "")

    def _there(self, made: Made | None) -> Made:
        if made is None:
            raise UnderwayError(self._progress)
        return made

    def _finds(self, store: Store) -> None:
        self._early = store
        self._found.set()

    def _told(self, progress: Progress) -> None:
        if self._closed:
            raise ClosedError
        self._progress = progress


def shown_of(store: Store, key: str, title: str) -> ShownRide:
    """A ride of a store, ready to be shown.

    Parameters
    ----------
    store : that holds it
    key : of the ride
    title : shown above it

    Returns
    -------
    The ride.

    Raises
    ------
    StoreError : no such ride
    AnswerError : it was measured by a version whose answers this one does not read
    """
    from ridelog import with_drawn

    answer = store.answer(key)
    with contextlib.suppress(StoreError):  # it is kept without
        answer = replace(answer, series=with_drawn(store.series(key)))
    return shown_ride(answer, title=title)
