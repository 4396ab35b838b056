"""Files read in a process of their own: see `ridelog.web.jobs.process`."""

from collections.abc import Sequence
from pathlib import Path

from ridelog.budget import within
from ridelog.errors import RidelogError
from ridelog.fleet.look import Look
from ridelog.processes import context, one_thread
from ridelog.tell.refusals import commands as refusals
from ridelog.web.jobs.carried import packed, unpacked
from ridelog.web.jobs.looking import heard, look_into, told, unseen
from ridelog.web.jobs.measuring import Measure, Task, measure_given, opened_files, read_files
from ridelog.web.jobs.process import DEFAULT_LIMITS, Limits, Stopped, TooLongError, messages_of
from ridelog.web.rides import ShownRide


def ready() -> None:
    """Start what processes are made from, with everything loaded that they need, so that each begins at once."""
    made = context([__name__, "ridelog.analysis.measure", "ridelog.timeline.ride"])
    if made.get_start_method() == "forkserver":
        with one_thread():
            from multiprocessing import forkserver

            forkserver.ensure_running()


def measured_apart(
    task: Task, stopped: Stopped, *, measure: Measure = measure_given, limits: Limits = DEFAULT_LIMITS
) -> ShownRide | None:
    """The visitor's files as a ride to show, or as the lines that say why not.

    Parameters
    ----------
    task : the files
    stopped : whether nobody waits any more
    measure : from given files to an answer; a function that a module holds, as it goes to another process
    limits : what the process may take

    Returns
    -------
    ride : ``None`` where nobody waits any more
    """
    try:
        messages = messages_of(_measure, (task, measure), stopped, limits)
        return None if messages is None else unpacked(messages[0], messages[1])
    except TooLongError:
        return refused(task, refusals.took_too_long(limits.longest_s))
    except (EOFError, OSError, ValueError, TypeError, KeyError, IndexError, RidelogError):  # ended, or says nonsense
        return refused(task, refusals.took_too_much())


def measured_apart_by(task: Task, stopped: Stopped, measure: Measure) -> ShownRide | None:
    """As `measured_apart`, by another measure.

    Parameters
    ----------
    task, stopped, measure : as there

    Returns
    -------
    ride : ``None`` where nobody waits any more
    """
    return measured_apart(task, stopped, measure=measure)


def looked_apart(paths: Sequence[Path], stopped: Stopped, *, limits: Limits = DEFAULT_LIMITS) -> list[Look] | None:
    """A look into each file.

    Parameters
    ----------
    paths : of the files
    stopped : whether nobody waits any more
    limits : what the process may take

    Returns
    -------
    looks : at the files in their order; ``None`` where nobody waits any more
    """
    try:
        messages = messages_of(_look, (list(paths),), stopped, limits)
        return None if messages is None else heard(messages[0], paths)
    except (TooLongError, EOFError, OSError, ValueError, TypeError, KeyError, IndexError):
        return unseen(paths)


def _look(paths: Sequence[Path]) -> Sequence[bytes]:
    with within():
        return [told(look_into(paths))]


def _measure(task: Task, measure: Measure) -> Sequence[bytes]:
    """Read, measure, hand back."""
    try:
        with opened_files(task) as files, within():
            return packed(read_files(files, measure, task.corrections))
    except RidelogError as error:
        return packed(refused(task, error))
    except MemoryError:
        return packed(refused(task, refusals.took_too_much()))
    except Exception as error:  # noqa: BLE001 - a fault of ridelog itself, told as on the command line
        return packed(refused(task, refusals.failed_apart(type(error).__name__, str(error))))


def refused(task: Task, error: RidelogError) -> ShownRide:
    """A ride that gave no answer."""
    return ShownRide("Your files", error_lines=tuple(error.lines()), files=task.names)


def measured_here(task: Task, _stopped: Stopped, *, measure: Measure) -> ShownRide:
    """As `measured_apart`, in the thread that asks and without a bound.

    Parameters
    ----------
    task : the files
    _stopped : not asked
    measure : from given files to an answer

    Returns
    -------
    The ride to show.
    """
    with opened_files(task) as files:
        return read_files(files, measure, task.corrections)


def looked_here(paths: Sequence[Path], _stopped: Stopped) -> list[Look]:
    """As `looked_apart`, in the thread that asks and without a bound."""
    return look_into(paths)
