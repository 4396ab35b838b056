"""Work in a process of its own, which is ended where it takes too long, too much, or nobody waits for it.

Its memory goes back to the system with it, and a file that brings it down brings nothing else down. What it says while
it works is told at once; what came of it comes as messages that are data alone.
"""

import contextlib
import multiprocessing
import os
import signal
import sys
import threading
import time
from collections.abc import Callable, Sequence
from multiprocessing.connection import Connection
from typing import Any

from ridelog.lazy import dataclass
from ridelog.processes import context, one_thread

Stopped = Callable[[], bool]
Tell = Callable[[bytes], None]
Work = Callable[..., Sequence[bytes]]
_LOOK_S = 0.05  # between looks whether somebody still waits
_RESULT, _SAID = b"r", b"s"


@dataclass(frozen=True)
class Limits:
    """What one process may take.

    Attributes
    ----------
    longest_s : the longest ride of the tests takes a tenth of it [s]
    most_memory_bytes : of address space, of which half a gigabyte is taken before anything is read; the rest is enough
        for a log of 150 MB, at 30 bytes for each of its own [byte]
    """

    longest_s: float = 300.0
    most_memory_bytes: int = 5_000_000_000


DEFAULT_LIMITS = Limits()


Run = Callable[[Work, tuple[Any, ...], Stopped, Limits, Tell], Sequence[bytes] | None]


class TooLongError(Exception):
    """A process was not done in time."""


def messages_of(
    work: Work,
    given: tuple[Any, ...],
    stopped: Stopped,
    limits: Limits,
    heard: Tell | None = None,
) -> list[bytes] | None:
    """What a process says that does some work.

    Parameters
    ----------
    work : a function that a module holds, as it goes to another process; where somebody hears, it is given last how it
        tells how far it is
    given : to it
    stopped : whether nobody waits any more
    limits : what the process may take
    heard : what it tells while it works

    Returns
    -------
    messages : that the work gave; ``None`` where nobody waits any more

    Raises
    ------
    TooLongError : it was not done in time
    EOFError : the process was ended
    OSError : there is no process to be had
    """
    made = context()
    mine, its = made.Pipe(duplex=False)
    given_all = (its, work, given, limits, heard is not None)
    process = made.Process(target=_process, args=given_all, daemon=True)
    with mine, one_thread():
        process.start()
        its.close()
        try:
            end = time.monotonic() + limits.longest_s
            while True:
                said = mine.poll(_LOOK_S)
                if stopped():
                    return None
                if time.monotonic() > end:
                    raise TooLongError
                if not said:
                    continue
                message = mine.recv_bytes()
                if message[:1] == _RESULT:
                    return [mine.recv_bytes() for _ in range(int.from_bytes(message[1:]))]
                if heard is not None:
                    heard(message[1:])
        finally:
            process.kill()
            process.join()
            process.close()


def run_here(work: Work, given: tuple[Any, ...], stopped: Stopped, _limits: Limits, tell: Tell) -> Sequence[bytes]:
    """Work in the thread that asks and without a bound, otherwise as `messages_of`.

    Parameters
    ----------
    work, given, tell : as there
    stopped : not asked
    _limits : not held

    Returns
    -------
    What the work gave.
    """
    del stopped
    return work(*given, tell)


def _process(
    connection: "Connection[Any, Any]",
    work: Work,
    given: tuple[Any, ...],
    limits: Limits,
    tells: bool,
) -> None:
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # an interrupt ends the server, which ends this
    threading.Thread(target=_end_with_the_server, daemon=True).start()
    _bound(limits)

    def tell(said: bytes) -> None:
        with contextlib.suppress(OSError):
            connection.send_bytes(_SAID + said)

    messages = work(*given, tell) if tells else work(*given)
    with connection, contextlib.suppress(OSError):  # nobody waits any more
        for message in (_RESULT + len(messages).to_bytes(8), *messages):
            connection.send_bytes(message)


def _end_with_the_server() -> None:
    """Where the server is killed, nobody waits for this any more."""
    server = multiprocessing.parent_process()
    if server is not None:
        server.join()
        os._exit(1)


def _bound(limits: Limits) -> None:
    """Let the system end what takes too much; where it cannot, the server does so by time alone."""
    if sys.platform == "win32":
        return
    import resource

    seconds = int(limits.longest_s) + 10
    for what, most in (
        (resource.RLIMIT_AS, limits.most_memory_bytes),
        (resource.RLIMIT_CPU, seconds),
        (resource.RLIMIT_CORE, 0),
    ):
        _, hard = resource.getrlimit(what)
        resource.setrlimit(what, (most if hard == resource.RLIM_INFINITY else min(most, hard), hard))
