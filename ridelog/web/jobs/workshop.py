"""Rides are measured beside the page's own threads, a few at a time; who waits is told how many are ahead."""

import secrets
import shutil
import tempfile
import threading
import time
import weakref
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from functools import partial
from pathlib import Path
from typing import Literal

from ridelog.tell.refusals import commands as refusals
from ridelog.web.jobs.line import Line
from ridelog.web.rides import RideStore, ShownRide

NamedPath = tuple[str, Path]
Measured = Callable[[Sequence[NamedPath], Callable[[], bool]], ShownRide | None]
State = Literal["waiting", "measuring", "done", "crowded"]


@dataclass(frozen=True)
class Room:
    """How much the workshop takes in.

    Attributes
    ----------
    n_at_once : rides measured at the same time, one a process [1]
    most_waiting, most_waiting_each : rides that wait, of all visitors and of one [1]
    unasked_s : a ride that nobody asked for so long is given up; the page asks every second, from a tab in
        the background every minute [s]
    kept_s : what became of a ride is told for so long [s]
    """

    n_at_once: int = 2
    most_waiting: int = 30
    most_waiting_each: int = 3
    unasked_s: float = 75.0
    kept_s: float = 120.0


DEFAULT_ROOM = Room()


@dataclass(eq=False)
class Job:
    """One visitor's files on their way to an answer."""

    visitor: str
    folder: Path
    files: tuple[NamedPath, ...]
    state: State = "waiting"
    token: str | None = None
    answered: bool = False
    asked_s: float = field(default_factory=time.monotonic)
    stopped: bool = False


@dataclass(frozen=True)
class Progress:
    """What a visitor is told of a ride: ``ahead`` while it waits, ``token`` of the ride once it is done."""

    state: State
    ahead: int = 0
    token: str | None = None
    answered: bool = False


class Workshop:
    """Takes files in, has them measured, and puts the rides into the store.

    Parameters
    ----------
    store : of rides
    measured : from names and paths to a ride; asks the second argument now and then whether nobody waits any more
    room : how much is taken in
    """

    def __init__(self, store: RideStore, measured: Measured, room: Room = DEFAULT_ROOM) -> None:
        self.store, self._measured, self._room = store, measured, room
        self._jobs: dict[str, Job] = {}
        self._line: Line[Job] = Line(room.most_waiting, room.most_waiting_each)
        self._free = threading.Condition()
        self._n_hands = 0
        self._folder = Path(tempfile.mkdtemp(prefix="ridelog-"))
        weakref.finalize(self, shutil.rmtree, self._folder, ignore_errors=True)

    def new_folder(self) -> Path:
        """An empty folder for the files of one ride, which goes with it."""
        return Path(tempfile.mkdtemp(dir=self._folder))

    def takes(self, visitor: str) -> bool:
        """Whether another ride of this visitor may wait, asked before its files are looked at."""
        with self._free:
            self._give_up()
            return self._line.takes(visitor)

    def take_in(self, visitor: str, folder: Path, files: Sequence[NamedPath]) -> str:
        """Let a ride wait for its turn.

        Parameters
        ----------
        visitor : who gives it; visitors take turns by the time spent on them
        folder : made for it here
        files : names for people, and paths in that folder

        Returns
        -------
        Key of the job.
        """
        job, key = Job(visitor, folder, tuple(files)), secrets.token_urlsafe(18)
        with self._free:
            self._give_up()
            self._jobs[key] = job
            for crowded in self._line.put(visitor, job):
                self._end(crowded, "crowded")
            if self._n_hands < self._room.n_at_once and len(self._line):
                self._n_hands += 1
                threading.Thread(target=self._work, daemon=True, name="measuring").start()
        return key

    def measured_now(self, files: Sequence[NamedPath]) -> ShownRide:
        """A ride measured out of turn, by the means of all others and within their bounds.

        Parameters
        ----------
        files : names for people, and paths

        Returns
        -------
        The ride to show.
        """
        try:
            shown = self._measured(files, lambda: False)
        except OSError as error:
            shown = _not_begun(error)
        assert shown is not None  # noqa: S101  (it is given up only where somebody says so)
        return shown

    def progress(self, key: str) -> Progress | None:
        """How far a ride is; ``None`` for a key that is unknown, or was not asked for in time."""
        with self._free:
            self._give_up()
            job = self._jobs.get(key)
            if job is None:
                return None
            job.asked_s = time.monotonic()
            return Progress(job.state, self._line.ahead(job) or 0, job.token, job.answered)

    def stop(self, key: str) -> None:
        """Give a ride up, at the visitor's wish."""
        with self._free:
            if (job := self._jobs.pop(key, None)) is not None:
                self._drop(job)

    def close(self) -> None:
        """Give up all rides, and remove their files."""
        with self._free:
            for key in list(self._jobs):
                self._drop(self._jobs.pop(key))
        shutil.rmtree(self._folder, ignore_errors=True)

    def _work(self) -> None:
        """One pair of hands: takes rides until none waits."""
        while (job := self._next()) is not None:
            shown, began_s = None, time.monotonic()
            try:
                shown = self._measured(job.files, partial(self._is_stopped, job))
            except OSError as error:  # the system gives no process, or no memory for one
                shown = _not_begun(error)
            finally:
                self._hand_over(job, shown, time.monotonic() - began_s)

    def _next(self) -> Job | None:
        with self._free:
            self._give_up()
            job = self._line.take()
            if job is None:
                self._n_hands -= 1
            else:
                job.state = "measuring"
            return job

    def _hand_over(self, job: Job, shown: ShownRide | None, took_s: float) -> None:
        with self._free:
            self._line.charge(job.visitor, took_s)
            if shown is not None and not job.stopped:
                job.token, job.answered = self.store.put(shown), shown.answer is not None
            self._end(job, "done" if job.token else "crowded")

    def _is_stopped(self, job: Job) -> bool:
        with self._free:
            self._give_up()
            return job.stopped

    def _give_up(self) -> None:
        """Drop rides that nobody asks for, and forget what became of others long ago."""
        now = time.monotonic()
        for key, job in list(self._jobs.items()):
            over = job.state in ("done", "crowded")
            if now - job.asked_s > (self._room.kept_s if over else self._room.unasked_s):
                del self._jobs[key]
                self._drop(job)

    def _drop(self, job: Job) -> None:
        job.stopped = True
        self._line.drop(job)
        if job.state != "measuring":  # else its files go when its process has ended
            shutil.rmtree(job.folder, ignore_errors=True)

    def _end(self, job: Job, state: State) -> None:
        job.state, job.asked_s = state, time.monotonic()
        shutil.rmtree(job.folder, ignore_errors=True)


def _not_begun(error: OSError) -> ShownRide:
    return ShownRide("Your files", error_lines=tuple(refusals.no_process(str(error)).lines()))
