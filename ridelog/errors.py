"""Every exception of ridelog and the exit statuses of its commands.

An error says where, what, and what next: ``b.csv, line 2: current: '1,5' is not a number`` and a hint.
"""

from collections.abc import Callable, Mapping
from enum import IntEnum
from typing import Any
from unicodedata import category


class Exit(IntEnum):
    """Exit statuses of the command ``ridelog``."""

    OK = 0
    DANGER = 1  # done, but a finding of severity "danger" wants reading
    USAGE = 2
    UNREADABLE = 3
    INTERRUPTED = 130


def printable(text: str) -> str:
    """``text`` with everything replaced that could disturb a terminal or a line of a message; all blanks stay."""
    if text.isprintable():
        return text
    return "".join(letter if letter.isprintable() or category(letter) == "Zs" else "�" for letter in text)


def printable_lines(text: str) -> str:
    """As `printable`, of a text of several lines."""
    return text if text.isprintable() else "\n".join(map(printable, text.split("\n")))


class RidelogError(Exception):
    """An error with a sentence for people and, where there is one, a hint on what to do next."""

    exit_status = Exit.UNREADABLE

    def __init__(self, message: str, *, hint: str | None = None) -> None:
        super().__init__(message)
        self.message = message
        self.hint = hint

    def __reduce__(self) -> tuple[Callable[..., "RidelogError"], tuple[Any, ...]]:
        return _again, (type(self), self.args, vars(self))

    def lines(self) -> list[str]:
        """The error as one line, followed by its hint line where there is one."""
        return [printable(self.message), *([f"hint: {printable(self.hint)}"] if self.hint else [])]


def _again(kind: type[RidelogError], arguments: tuple[Any, ...], held: Mapping[str, Any]) -> RidelogError:
    """An error as it was in another process."""
    error = kind.__new__(kind, *arguments)
    vars(error).update(held)
    return error


class InputError(RidelogError):
    """A file cannot be read as what it claims to be.

    Parameters
    ----------
    source : name of the file, as the user gave it
    what : the cause, in one sentence without a full stop
    place : where in the file ("line 7", "byte 1024"), if known
    hint : what the user can do about it
    """

    def __init__(self, source: str, what: str, *, place: str | None = None, hint: str | None = None) -> None:
        self.source = source
        self.place = place
        self.what = what
        super().__init__(f"{source}{', ' + place if place else ''}: {what}", hint=hint)


class NotRecognisedError(InputError):
    """No importer takes the file for its own."""


class ColumnQuestionError(InputError):
    """A log whose columns can be understood in more than one way; ``hint`` holds the lines that answer it."""


class NoTimeError(ColumnQuestionError):
    """A log in which no column tells the time, or none whose times can be read."""


class BikeFileError(InputError):
    """A key of the bike file is unknown or out of range."""


class ColumnMapError(InputError):
    """A key of the column map is unknown, out of range, or speaks of a column that is not there."""


class ManifestError(InputError):
    """A key of the manifest of rides is unknown, or not as it must be."""


class AnswerError(InputError):
    """Data that were to be read back are no answer of ridelog, or one of another schema."""


class HillNamesError(InputError):
    """The names of hills are not written as they must be."""


class StoreError(RidelogError):
    """A store cannot be opened, read or written."""


class UsageError(RidelogError):
    """The command was called in a way that it does not offer."""

    exit_status = Exit.USAGE
