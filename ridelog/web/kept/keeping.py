"""Visitors' rides on their way into a store: measured once more beside the page, and what became of that."""

import threading
from collections import OrderedDict
from collections.abc import Callable
from functools import partial
from typing import Literal

from ridelog.lazy import dataclass
from ridelog.web.jobs.keeping import Place, keep_given
from ridelog.web.jobs.measuring import Task
from ridelog.web.rides import ShownRide
from ridelog.web.tray.trays import Trays

MOST = 1000  # of which it is remembered what became of them
Stopped = Callable[[], bool]


@dataclass(frozen=True)
class Fate:
    """What became of a ride; ``lines`` say why it is not kept, ``job`` is under way."""

    state: Literal["under way", "kept", "refused"]
    lines: tuple[str, ...] = ()
    job: str | None = None


class Keeping:
    """What became of the rides that visitors wanted to be kept.

    Parameters
    ----------
    trays : of visitors
    """

    def __init__(self, trays: Trays) -> None:
        self._trays = trays
        self._lock = threading.Lock()
        self._fates: OrderedDict[tuple[str, str], Fate] = OrderedDict()

    def keep(self, visitor: str, token: str, place: Place) -> bool:
        """Have a ride kept; returns whether it is one of the visitor's.

        Parameters
        ----------
        visitor : who wants it
        token : of the ride
        place : where it goes

        Returns
        -------
        Whether it is under way.
        """
        measure = partial(keep_given, place=place)

        def do(task: Task, stopped: Stopped) -> ShownRide | None:
            return self._trays.hands.otherwise(task, stopped, measure)

        def done(shown: ShownRide | None) -> None:
            if shown is not None:
                lines = shown.error_lines
                self._note(visitor, token, Fate("refused", lines) if lines else Fate("kept"))

        with self._lock:
            self._fates[visitor, token] = Fate("under way")
        job = self._trays.have_done(visitor, token, do, done)
        with self._lock:
            if job is None:
                del self._fates[visitor, token]
            elif self._fates.get((visitor, token)) == Fate("under way"):
                self._fates[visitor, token] = Fate("under way", job=job)
        return job is not None

    def fate(self, visitor: str, token: str) -> Fate | None:
        """What became of a ride; ``None`` where nobody wanted it to be kept, or it was given up."""
        with self._lock:
            fate = self._fates.get((visitor, token))
        if fate is None or fate.state != "under way" or self._trays.workshop.progress(fate.job) is not None:
            return fate
        with self._lock:  # done since, or given up
            after = self._fates.get((visitor, token))
            if after == fate:
                return self._fates.pop((visitor, token)) and None
            return after

    def forget(self) -> None:
        """Offer to keep what was kept once more, as somebody took rides out of the store."""
        with self._lock:
            self._fates = OrderedDict((of, fate) for of, fate in self._fates.items() if fate.state != "kept")

    def _note(self, visitor: str, token: str, fate: Fate) -> None:
        with self._lock:
            self._fates[visitor, token] = fate
            while len(self._fates) > MOST:
                self._fates.popitem(last=False)
