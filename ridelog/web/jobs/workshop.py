"""Work on visitors' files is done beside the page's own threads, a little at a time; who waits is told who is ahead."""

import secrets
import threading
import time
from collections.abc import Callable
from functools import partial
from typing import Any, Literal

from ridelog.lazy import dataclass
from ridelog.web.jobs.line import Line

Work = Callable[[Callable[[], bool]], Any]  # asks now and then whether nobody waits any more; then it gives None
Done = Callable[[Any], None]
State = Literal["waiting", "working"]


@dataclass(frozen=True)
class Room:
    """How much the workshop takes in.

    Attributes
    ----------
    n_at_once : works done at the same time, one a process [1]
    most_waiting, most_waiting_each : works that wait, of all visitors and of one [1]
    unasked_s : work that nobody asked for so long is given up; the page asks every second, from a tab in
        the background every minute [s]
    """

    n_at_once: int = 2
    most_waiting: int = 400
    most_waiting_each: int = 60
    unasked_s: float = 75.0


DEFAULT_ROOM = Room()


@dataclass(eq=False)
class Job:
    """One piece of work for a visitor."""

    visitor: str
    work: Work
    done: Done
    asked_s: float
    state: State = "waiting"
    stopped: bool = False


@dataclass(frozen=True)
class Progress:
    """How far work is; ``ahead`` counts who comes first while it waits."""

    state: State
    ahead: int = 0


class Workshop:
    """Takes work in, and has it done in turn.

    Parameters
    ----------
    room : how much is taken in
    clock : seconds that never go back
    """

    def __init__(self, room: Room = DEFAULT_ROOM, clock: Callable[[], float] = time.monotonic) -> None:
        self._room, self._clock = room, clock
        self._jobs: dict[str, Job] = {}
        self._line: Line[Job] = Line(room.most_waiting, room.most_waiting_each)
        self._lock = threading.Lock()
        self._n_hands = 0

    def takes(self, visitor: str) -> bool:
        """Whether more work of this visitor may wait."""
        with self._lock:
            self._give_up()
            return self._line.takes(visitor)

    def take_in(self, visitor: str, work: Work, done: Done) -> str:
        """Let work wait for its turn.

        Parameters
        ----------
        visitor : who wants it; visitors take turns by the time spent on them
        work : to be done
        done : told what came of it, unless nobody waits any more

        Returns
        -------
        Key of the job. Where there is no room for it, nothing is known of it from the beginning.
        """
        job, key = Job(visitor, work, done, self._clock()), secrets.token_urlsafe(18)
        with self._lock:
            self._give_up()
            self._jobs[key] = job
            for crowded in self._line.put(visitor, job):
                self._forget(crowded)
            if self._n_hands < self._room.n_at_once and len(self._line):
                self._n_hands += 1
                threading.Thread(target=self._labour, daemon=True, name="measuring").start()
        return key

    def progress(self, key: str | None) -> Progress | None:
        """How far work is; ``None`` where it is done, was given up, or is unknown."""
        with self._lock:
            self._give_up()
            job = self._jobs.get(key or "")
            if job is None:
                return None
            job.asked_s = self._clock()
            return Progress(job.state, self._line.ahead(job) or 0)

    def stop(self, key: str | None) -> None:
        """Give work up, at the visitor's wish."""
        with self._lock:
            if (job := self._jobs.get(key or "")) is not None:
                self._forget(job)

    def close(self) -> None:
        """Give all work up."""
        with self._lock:
            for job in list(self._jobs.values()):
                self._forget(job)

    def _labour(self) -> None:
        """One pair of hands: works until nothing waits."""
        while (job := self._next()) is not None:
            result, began_s = None, self._clock()
            try:
                result = job.work(partial(self._is_stopped, job))
            finally:
                with self._lock:
                    self._line.charge(job.visitor, self._clock() - began_s)
                if not job.stopped:
                    job.done(result)  # before it is forgotten: work that is neither known nor done is given anew
                with self._lock:
                    self._forget(job)

    def _next(self) -> Job | None:
        with self._lock:
            self._give_up()
            job = self._line.take()
            if job is None:
                self._n_hands -= 1
            else:
                job.state = "working"
            return job

    def _is_stopped(self, job: Job) -> bool:
        with self._lock:
            self._give_up()
            return job.stopped

    def _give_up(self) -> None:
        """Drop work that nobody asks for."""
        now = self._clock()
        for job in list(self._jobs.values()):
            if now - job.asked_s > self._room.unasked_s:
                self._forget(job)

    def _forget(self, job: Job) -> None:
        job.stopped = True
        self._line.drop(job)
        for key in [key for key, other in self._jobs.items() if other is job]:
            del self._jobs[key]
