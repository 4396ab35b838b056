"""Commands called in a way that they do not offer, and what cannot be written or served."""

import errno
from collections.abc import Sequence

from ridelog.errors import InputError, RidelogError, UsageError, printable
from ridelog.tell.findings.words import listed
from ridelog.tell.numbers import plain

CLOSED = "it is closed"  # a standard stream
FOREIGN_NAME = "This page does not answer to that name: 127.0.0.1 and localhost are its own.\n"
NO_SUCH_CALL = "The page makes no such call: load it anew.\n"
NO_SUCH_PART = "The page has no such part.\n"
STANDARD_OUTPUT = "standard output"
_FOLDER = "name a file in a folder that exists and that you may write to"
_NO_ROOM = "make room, or write to another disk"
_WHAT_NEXT = {
    errno.ENOSPC: _NO_ROOM,
    errno.EDQUOT: _NO_ROOM,
    errno.EFBIG: _NO_ROOM,
    errno.EBADF: "the shell or the program that called ridelog closed it",
    errno.EIO: "is the disk, or the network to it, in order?",
    errno.ENAMETOOLONG: "give a shorter name",
    errno.EISDIR: "name a file, not a folder",
}


def what_next(code: int | None) -> str | None:
    """What can be done about an error of the system, by its number; ``None`` where nothing is known."""
    return _WHAT_NEXT.get(code or 0)


def unknown_usage(message: str, command: str) -> UsageError:
    """What the parser of arguments says."""
    return UsageError(message, hint=f"`{command} --help` shows what there is")


def no_port(text: str) -> str:
    """Not a number of a port; for the parser of arguments, which names the option."""
    return f"{text!r} is not a port from 1 to 65535"


def no_workers(text: str, most: int) -> str:
    """Not a number of processes; for the parser of arguments, which names the option."""
    return f"{text!r} is not a number of processes from 1 to {most}"


def no_day(text: str) -> str:
    """Not a date; for the parser of arguments, which names the option."""
    return f"{text!r} is not a date as 2026-05-04"


def files_or_groups() -> UsageError:
    """Neither the files of a ride nor the groups of a comparison, or both."""
    what = "a report is of the files of one ride, or of groups of rides"
    return UsageError(what, hint="give FILE..., or --group NAME=PATH for each group")


def not_with_groups(option: str) -> UsageError:
    """An option of one ride, in a comparison."""
    return UsageError(f"{option}: goes with the files of one ride, not with --group", hint="leave it out")


def unknown_form(target: str, suffix: str, known: Sequence[str]) -> UsageError:
    """A file to write whose ending says nothing of its form.

    Parameters
    ----------
    target : its name
    suffix : how it ends, or nothing
    known : the endings that there are

    Returns
    -------
    The error.
    """
    what = f"ends in {suffix!r}" if suffix else "has no ending"
    return UsageError(f"{target}: {what}, which names no form", hint=f"end it in {listed(known, 'or')}")


def nothing_to_write(target: str) -> RidelogError:
    """A coast-down that found nothing better than what is assumed."""
    hint = "what ridelog assumes without a measurement is more certain than this ride; see the findings above"
    return RidelogError(f"{target}: not written, because nothing was measured well enough", hint=hint)


def second_table_argument(path: str, other: str, *, is_map: bool) -> UsageError:
    """Two bike files or two column maps on a command line.

    Parameters
    ----------
    path : of the file
    other : the first of the two
    is_map : it is, or looks like, a column map

    Returns
    -------
    The error.
    """
    return UsageError(f"{path}: is a second {_table(is_map=is_map)}, beside {other}", hint="give one of them")


def second_table(path: str, other: str, *, is_map: bool) -> InputError:
    """Two bike files or two column maps among the files of the page.

    Parameters
    ----------
    path : of the file
    other : the first of the two
    is_map : it is, or looks like, a column map

    Returns
    -------
    The error.
    """
    return InputError(path, f"is a second {_table(is_map=is_map)}, beside {other}", hint="give one of them")


def _table(*, is_map: bool) -> str:
    return "column map" if is_map else "bike file"


def would_overwrite(option: str, target: str) -> UsageError:
    """A file to write that is also read: a ride cannot be ridden again."""
    what = f"{option} {target}: this file is being read and would be overwritten"
    return UsageError(what, hint="name another file to write")


def exists_already(option: str, target: str) -> UsageError:
    """A file to write that is there already."""
    return UsageError(f"{option} {target}: this file exists already", hint="name another file, or add --force")


def no_target(option: str) -> UsageError:
    """An empty name of a file to write."""
    return UsageError(f"{option}: an empty name was given", hint="is a variable of the command line not set?")


def impossible_target(target: str) -> RidelogError:
    """A name of a file to write that no file can have."""
    return RidelogError(f"{target}: cannot be written: the name of a file cannot hold a null character")


def cannot_write(target: str, error: OSError, *, kept: bool = False) -> RidelogError:
    """What the system says.

    Parameters
    ----------
    target : the file, or standard output
    error : of the system
    kept : a file of that name was there before, and is as it was

    Returns
    -------
    The error.
    """
    unchanged = "; what it held is still there" if kept else ""
    cause = (error.strerror or str(error)).lower()
    return RidelogError(f"{target}: cannot be written: {cause}{unchanged}", hint=what_next(error.errno) or _FOLDER)


def no_folder(target: str, folder: str) -> RidelogError:
    """A file to write in a folder that is not there."""
    return RidelogError(f"{target}: cannot be written: there is no folder {folder}", hint=_FOLDER)


def own_fault(kind: str, message: str, switch: str) -> list[str]:
    """A fault of ridelog itself: a line, and a hint line.

    Parameters
    ----------
    kind : of fault
    message : what it says
    switch : the variable that shows where

    Returns
    -------
    The error.
    """
    return [
        f"ridelog failed where it should not: {kind}: {printable(message)}",
        f"hint: please report it with the command; {switch}=1 shows where it happened",
    ]


_LEAPS = "cut the log into rides, and take out leaps of its times, its positions or its distance"


def beyond_memory(n_bytes: int, most_bytes: float) -> RidelogError:
    """A command that was broken off.

    Parameters
    ----------
    n_bytes : read and unpacked [byte]
    most_bytes : the most memory for so much [byte]

    Returns
    -------
    The error.
    """
    what = f"{_size(n_bytes)} took more than {_size(most_bytes)} of memory"
    return RidelogError(f"{what}, the most for files of that size, and ridelog ended the work", hint=_LEAPS)


def beyond_time(n_bytes: int, most_s: float) -> RidelogError:
    """As `beyond_memory`, of time of the processor [s]."""
    what = (
        f"{_size(n_bytes)} took longer than {plain(round(most_s))} s of the processor, the most for files of that size"
    )
    return RidelogError(f"{what}, and ridelog ended the work", hint=_LEAPS)


def no_memory() -> RidelogError:
    """A system that gives no more memory."""
    hint = "close other programs, or cut the log into rides"
    return RidelogError("this computer has not enough memory free for these files", hint=hint)


def _size(n_bytes: float) -> str:
    return f"{plain(round(n_bytes / 1e3))} kB" if n_bytes < 10e6 else f"{plain(round(n_bytes / 1e6))} MB"


# ---- the page ----


def port_out_of_range(port: int) -> UsageError:
    """Ports are numbers of 16 bits."""
    return UsageError(f"cannot listen on port {port}: a port is a number from 0 to 65535")


def no_address(own: str) -> UsageError:
    """An empty address."""
    return UsageError("cannot listen on no address", hint=f"--host {own} is this computer alone")


def not_this_computer(host: str, port: int, cause: str, own: str) -> UsageError:
    """An address that is none, or another computer's.

    Parameters
    ----------
    host : asked for
    port : asked for
    cause : what the system says
    own : this computer's own address

    Returns
    -------
    The error.
    """
    hint = f"is --host an address of this computer? {own} is this computer alone"
    return UsageError(f"cannot listen on {host}, port {port}: {cause.lower()}", hint=hint)


def cannot_listen(host: str, port: int, cause: str) -> UsageError:
    """A port that is taken, mostly.

    Parameters
    ----------
    host : asked for
    port : asked for
    cause : what the system says

    Returns
    -------
    The error.
    """
    hint = "is another program using it? --port takes another port, --host another address"
    return UsageError(f"cannot listen on {host}, port {port}: {cause.lower()}", hint=hint)


def no_log_given(names: Sequence[str]) -> InputError:
    """A bike file and a column map, and no log."""
    return InputError(
        ", ".join(names) or "no file",
        "no log of a ride among the files",
        hint="give the log of the controller or the pack, and the track, together in one go",
    )


def no_sample_ride(name: str, cause: str) -> InputError:
    """A description of a sample ride that lacks what it must say."""
    return InputError(name, f"does not describe a sample ride: {cause}")


def sample_file_missing(name: str, file: str) -> InputError:
    """A description of a sample ride that names a file which is not there."""
    return InputError(name, f"names a file that is not there: {file}")


def foreign_origin() -> str:
    """An upload that another site sent."""
    return "Files are accepted from this page only."


def too_much_at_once(most_bytes: int, most_files: int) -> str:
    """An upload beyond the limit."""
    return (
        f"Too much at once: the limit is {most_bytes // 1024**2} MB and {most_files} files. "
        "Gzip the log, or measure it with the command `ridelog measure`."
    )


_AT_THE_TERMINAL = "cut the log into rides, or measure it with the command `ridelog measure`"


def took_too_long(longest_s: float) -> RidelogError:
    """A ride that the page does not wait for any longer."""
    return RidelogError(f"measuring took longer than {plain(longest_s)} s and was ended", hint=_AT_THE_TERMINAL)


def took_too_much() -> RidelogError:
    """A ride whose process ended without an answer."""
    what = "measuring took more memory than the page gives to one ride, or broke off, and was ended"
    return RidelogError(what, hint=_AT_THE_TERMINAL)


def as_told(message: str, hint: str | None) -> RidelogError:
    """An error that another process worded."""
    return RidelogError(message, hint=hint)


def failed_apart(kind: str, message: str) -> RidelogError:
    """A fault of ridelog itself while it measured a visitor's files."""
    return RidelogError(own_fault(kind, message, "")[0], hint="please report it with the files")


def no_sockets(folder: str, cause: str | None) -> UsageError:
    """A folder for temporary files whose path is too long for sockets, where the system names no ``cause``."""
    hint = "set TMPDIR to a folder with a short name on a disk of this computer"
    why = cause.lower() if cause else "its path is too long for their sockets"
    return UsageError(
        f"{folder}: processes cannot speak to each other in this folder for temporary files: {why}", hint=hint
    )


def no_process(cause: str) -> RidelogError:
    """A system that starts no process for a ride."""
    return RidelogError(f"could not begin to measure: {cause.lower()}", hint="try again in a minute")


def too_many_wait() -> str:
    """A line that is full."""
    return "Too many rides are waiting to be measured: try again in a minute."


def not_kept(cause: str) -> str:
    """Files for which the disk has no place."""
    return f"The files could not be kept where this page runs: {cause.lower()}."


def nothing_arrived() -> str:
    """An upload without a file."""
    return "No file arrived."


def map_is_gone() -> str:
    """A file of a ride that is no longer held, or that it does not have."""
    return "This is no longer in memory."


def tray_is_full() -> str:
    """More files than are kept for one visitor."""
    return "These files do not fit beside those that you gave before: take some of your rides out first."


def not_your_ride() -> str:
    """A change to a ride that somebody else gave."""
    return "This ride is not among yours, or no longer: give its files once more."
