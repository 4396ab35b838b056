"""A ride measured in a process of its own, which is ended where it takes too long, too much, or nobody waits for it.

Its memory goes back to the system with it, and a file that brings it down brings nothing else down.
"""

import contextlib
import signal
import sys
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from multiprocessing.connection import Connection
from pathlib import Path
from typing import Any

from ridelog.budget import within
from ridelog.errors import RidelogError
from ridelog.processes import context, one_thread
from ridelog.tell.refusals import commands as refusals
from ridelog.web.jobs.carried import packed, unpacked
from ridelog.web.rides import ShownRide
from ridelog.web.upload import Measure, NamedFile, measure_given, named, read_files

NamedPath = tuple[str, Path]
_LOOK_S = 0.1  # between looks whether somebody still waits


@dataclass(frozen=True)
class Limits:
    """What one measuring process may take.

    Attributes
    ----------
    longest_s : the longest ride of the tests takes a tenth of it [s]
    most_memory_bytes : of address space, of which half a gigabyte is taken before anything is read; the rest is enough
        for a log of 150 MB, at 30 bytes for each of its own [byte]
    """

    longest_s: float = 300.0
    most_memory_bytes: int = 5_000_000_000


DEFAULT_LIMITS = Limits()


def ready() -> None:
    """Start what processes are made from, with everything loaded that they need, so that each begins at once."""
    made = context([__name__, "ridelog.analysis.measure", "ridelog.timeline.ride"])
    if made.get_start_method() == "forkserver":
        with one_thread():
            from multiprocessing import forkserver

            forkserver.ensure_running()


def measured_apart(
    files: Sequence[NamedPath],
    stopped: Callable[[], bool],
    *,
    measure: Measure = measure_given,
    limits: Limits = DEFAULT_LIMITS,
) -> ShownRide | None:
    """The visitor's files as a ride to show, or as the lines that say why not.

    Parameters
    ----------
    files : names, and where the files lie
    stopped : whether nobody waits any more
    measure : from given files to an answer; a function that a module holds, as it goes to another process
    limits : what the process may take

    Returns
    -------
    ride : ``None`` where nobody waits any more
    """
    made = context()
    mine, its = made.Pipe(duplex=False)
    process = made.Process(target=_work, args=(its, list(files), measure, limits), daemon=True)
    with mine, one_thread():
        process.start()
        its.close()
        try:
            return _outcome(mine, stopped, [name for name, _ in files], limits)
        finally:
            process.kill()
            process.join()
            process.close()


def _outcome(
    connection: "Connection[Any, Any]", stopped: Callable[[], bool], names: list[str], limits: Limits
) -> ShownRide | None:
    end = time.monotonic() + limits.longest_s
    while not connection.poll(_LOOK_S):
        if stopped():
            return None
        if time.monotonic() > end:
            return _refused(names, refusals.took_too_long(limits.longest_s))
    try:
        return unpacked(connection.recv_bytes(), connection.recv_bytes())
    except (EOFError, OSError, ValueError, TypeError, KeyError, RidelogError):  # it was ended, or what it says is none
        return _refused(names, refusals.took_too_much())


def _refused(names: list[str], error: RidelogError) -> ShownRide:
    return ShownRide("Your files", error_lines=tuple(error.lines()), files=tuple(names))


def _work(connection: "Connection[Any, Any]", files: list[NamedPath], measure: Measure, limits: Limits) -> None:
    """What the process does: read, measure, hand back."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # an interrupt ends the server, which ends this
    _bound(limits)
    with contextlib.ExitStack() as opened:
        try:
            with within():
                messages = packed(read_files(_opened(files, opened), measure))
        except RidelogError as error:
            messages = packed(_refused([name for name, _ in files], error))
        except MemoryError:
            messages = packed(_refused([name for name, _ in files], refusals.took_too_much()))
        except Exception as error:  # noqa: BLE001 - a fault of ridelog itself, told as on the command line
            fault = refusals.failed_apart(type(error).__name__, str(error))
            messages = packed(_refused([name for name, _ in files], fault))
    with connection, contextlib.suppress(OSError):  # nobody waits any more
        for message in messages:
            connection.send_bytes(message)


def measured_here(files: Sequence[NamedPath], _stopped: Callable[[], bool], *, measure: Measure) -> ShownRide:
    """As `measured_apart`, in the thread that asks and without a bound.

    Parameters
    ----------
    files : names, and where the files lie
    _stopped : not asked
    measure : from given files to an answer

    Returns
    -------
    The ride to show.
    """
    with contextlib.ExitStack() as opened:
        return read_files(_opened(files, opened), measure)


def _opened(files: Sequence[NamedPath], opened: contextlib.ExitStack) -> list[NamedFile]:
    """The files open for reading; small tables know the name that the visitor gave them, which messages show."""
    return [
        named(name, path.read_bytes())
        if name.lower().endswith(".toml")
        else (name, opened.enter_context(path.open("rb")))
        for name, path in files
    ]


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
