"""How much memory and time a command may take for what it reads: beyond that it is ended, in one sentence.

Parsers and steps are bounded one by one; this is what stands where one of them is not. A thread looks several times a
second at what the process takes, and breaks the work off; where that does not come to an end, in a library that runs
on, it ends the process. It counts memory that is really used: address space, which a system can bound by itself, is
reserved by libraries in gigabytes that they never touch, the more the more cores there are.
"""

from __future__ import annotations

import contextlib
import os
import signal
import sys
import threading
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from types import FrameType
from typing import IO

from ridelog.errors import RidelogError
from ridelog.lazy import dataclass
from ridelog.tell.refusals import commands as refusals

_LOOK_S = 0.05
_GRACE_S = 1.0  # from breaking off to ending the process
_CURSOR_SHOWN = "\r\x1b[K\x1b[?25h"  # a spinner hides it, and no longer gets to show it again
_STATM = Path("/proc/self/statm")


@dataclass(frozen=True)
class Budget:
    """What a command may take beyond what the program itself does.

    Nothing that a rider has comes near it. A day at 100 Hz with nothing but time, current and voltage, the leanest log
    that there is, takes 17 bytes for each of its own; 13 hours at 1 Hz with a stop every half minute take 0.4 GB, most
    of it for the trials of braking events.

    Attributes
    ----------
    free_bytes, bytes_per_byte : memory, and more of it for each byte read or unpacked [byte, 1]
    free_s, s_per_byte : time of the processor, and more of it for each byte; a long ride takes 1 µs [s, s]
    """

    free_bytes: int = 2_500_000_000
    bytes_per_byte: float = 60.0
    free_s: float = 300.0
    s_per_byte: float = 30e-6


DEFAULT_BUDGET = Budget()


class _BrokenOffError(BaseException):
    """Raised amid the work; nothing that looks out for errors takes it for one of its own."""


class _Watch:
    """Looks at what this process takes until it is told to stop, or it is too much."""

    def __init__(self, budget: Budget, err: IO[str], stop: Callable[[], None]) -> None:
        self.budget, self.err, self._stop = budget, err, stop
        self.n_bytes, self.inside = 0, True
        self.beyond: RidelogError | None = None
        self._over = threading.Event()
        self._first_bytes, self._first_s = _taken_bytes(), time.process_time()
        self._thread = threading.Thread(target=self._look, daemon=True, name="budget")

    def start(self) -> None:
        """Begin to look."""
        self._thread.start()

    def end(self) -> None:
        """Look no more."""
        self._over.set()
        self._thread.join()

    def _look(self) -> None:
        while not self._over.wait(_LOOK_S):
            self.beyond = self._exceeded()
            if self.beyond is not None:
                break
        else:
            return
        self._stop()
        if not self._over.wait(_GRACE_S):
            if self.err.isatty():
                self.err.write(_CURSOR_SHOWN)
            print(*self.beyond.lines(), sep="\n", file=self.err, flush=True)
            os._exit(self.beyond.exit_status)

    def _exceeded(self) -> RidelogError | None:
        budget = self.budget
        most_bytes = budget.free_bytes + budget.bytes_per_byte * self.n_bytes
        if _taken_bytes() - self._first_bytes > most_bytes:
            return refusals.beyond_memory(self.n_bytes, most_bytes)
        most_s = budget.free_s + budget.s_per_byte * self.n_bytes
        if time.process_time() - self._first_s > most_s:
            return refusals.beyond_time(self.n_bytes, most_s)
        return None


_watches: list[_Watch] = []


def count(n_bytes: int) -> None:
    """Allow what is granted for so many more bytes that were read or unpacked, where a budget is kept at all."""
    for watch in _watches:
        watch.n_bytes += n_bytes


@contextlib.contextmanager
def within(budget: Budget = DEFAULT_BUDGET, err: IO[str] | None = None) -> Iterator[None]:
    """Keep the budget while the block runs, where the system can interrupt a thread (all but Windows).

    Parameters
    ----------
    budget : to keep
    err : where the sentence goes if the process itself has to be ended; standard error by default

    Raises
    ------
    RidelogError : the block took more, and was broken off
    """
    number = getattr(signal, "SIGUSR2", None)
    if number is None or threading.current_thread() is not threading.main_thread():
        yield
        return

    def break_off(_number: int, _frame: FrameType | None) -> None:
        if watch.inside:
            raise _BrokenOffError

    main_thread = threading.get_ident()
    watch = _Watch(budget, err or sys.stderr, lambda: signal.pthread_kill(main_thread, number))
    before = signal.signal(number, break_off)
    _watches.append(watch)
    watch.start()
    try:
        try:
            yield
        finally:
            watch.inside = False
    except BaseException as error:
        if watch.beyond is not None and not isinstance(error, KeyboardInterrupt):  # whatever became of it on its way
            raise watch.beyond from None
        raise
    finally:
        _watches.remove(watch)
        watch.end()
        signal.signal(number, before)


def give_back() -> None:
    """Hand memory that is free within this process back to the system, where its C library can (Linux: glibc).

    Trials of some kilobytes each leave gaps among them that only others like them fill again: after a ride of 400 hills
    124 of 294 MB.
    """
    import ctypes
    import gc

    gc.collect()  # a command does not look for cycles by itself
    with contextlib.suppress(AttributeError, OSError):  # another C library
        ctypes.CDLL(None).malloc_trim(0)


def _taken_bytes() -> int:
    """Memory that this process uses now; where only its most is known, that."""
    if _STATM.exists():
        return int(_STATM.read_text().split()[1]) * os.sysconf("SC_PAGE_SIZE")
    import resource

    most = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    return most if sys.platform == "darwin" else most * 1024
