"""The coasting of a visitor's ride, fitted in a process of its own as rides are measured."""

import json
from collections.abc import Callable, Collection, Sequence
from functools import partial

from ridelog.answer.coastdown import CoastDown
from ridelog.budget import within
from ridelog.errors import RidelogError
from ridelog.tell.refusals import commands as refusals
from ridelog.web.jobs.measuring import Given, Task, opened_files, read_recordings, sort_files
from ridelog.web.jobs.process import DEFAULT_LIMITS, Limits, TooLongError, messages_of

Stopped = Callable[[], bool]
Coasted = CoastDown | RidelogError | None


def coasted_apart(
    task: Task, only: Collection[int] | None, stopped: Stopped, *, limits: Limits = DEFAULT_LIMITS
) -> Coasted:
    """What the coasting of a ride tells of its drag.

    Parameters
    ----------
    task : its files
    only : numbers of the stretches that are fitted; all that fit together where ``None``
    stopped : whether nobody waits any more
    limits : what the process may take

    Returns
    -------
    The coast-down, or why there is none; ``None`` where nobody waits any more.
    """
    try:
        told = messages_of(partial(_coast, only=only), (task,), stopped, limits)
        return None if told is None else heard(told[0])
    except TooLongError:
        return refusals.took_too_long(limits.longest_s)
    except (EOFError, OSError, ValueError, TypeError, KeyError, RidelogError):  # ended, or says nonsense
        return refusals.took_too_much()


def coasted_here(task: Task, only: Collection[int] | None, _stopped: Stopped) -> Coasted:
    """As `coasted_apart`, in the thread that asks and without a bound.

    Parameters
    ----------
    task, only : as there
    _stopped : not asked

    Returns
    -------
    The coast-down, or why there is none.
    """
    try:
        with opened_files(task) as files:
            return coast_given(sort_files(files, task.corrections), only)
    except RidelogError as error:
        return error


def coast_given(given: Given, only: Collection[int] | None) -> CoastDown:
    """The coast-down of given files.

    Raises
    ------
    RidelogError : the files cannot be read
    """
    import ridelog

    recordings, _, known = read_recordings(given)
    ride = ridelog.load_ride(recordings, bike=given.bike[1] if given.bike else None, columns=known)
    return ridelog.coastdown(ride, only=only)


def _coast(task: Task, only: Collection[int] | None) -> Sequence[bytes]:
    """Read, fit, hand back."""
    try:
        with within():
            told = coasted_here(task, only, lambda: False)
    except RidelogError as error:
        told = error
    except MemoryError:
        told = refusals.took_too_much()
    except Exception as error:  # noqa: BLE001 - a fault of ridelog itself, told as on the command line
        told = refusals.failed_apart(type(error).__name__, str(error))
    return [said(told)]


def said(told: Coasted) -> bytes:
    """A coast-down, or why there is none, as a message that is data alone."""
    if isinstance(told, CoastDown):
        return json.dumps({"coastdown": told.to_dict()}, allow_nan=False).encode()
    message, hint = ("", None) if told is None else (told.message, told.hint)
    return json.dumps({"message": message, "hint": hint}).encode()


def heard(message: bytes) -> CoastDown | RidelogError:
    """What such a message says.

    Raises
    ------
    ValueError : it is none
    AnswerError : the coast-down in it is none
    """
    data = json.loads(message)
    if "coastdown" in data:
        return CoastDown.from_dict(data["coastdown"])
    return refusals.as_told(str(data["message"]), None if data["hint"] is None else str(data["hint"]))
