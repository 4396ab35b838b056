"""Where a command writes: a file whole or not at all, and standard output with a word where it takes nothing.

A file is written beside its place, put on the disk, and only then given its name: whatever goes wrong, what stood
there before is still there, and never half of a new one.
"""

from __future__ import annotations

import contextlib
import errno
import os
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import IO, Any

from ridelog.tell.refusals import commands as refusals
from ridelog.there import is_folder

PART = ".part"  # how the name of a file ends that is not whole yet


def refuse_unwritable(target: str) -> None:
    """Raise before the work is done where it is plain that ``target`` cannot be written after it.

    Raises
    ------
    RidelogError : no file can have that name, or be made or replaced in that folder
    """
    if "\0" in target:
        raise refusals.impossible_target(target)
    try:
        path = Path(target).resolve()
        if path.is_dir():
            raise refusals.cannot_write(target, OSError(errno.EISDIR, os.strerror(errno.EISDIR)))
        if not path.parent.is_dir():
            raise refusals.no_folder(target, str(path.parent))
        place = path if _is_device(path) else path.parent
        if not os.access(place, os.W_OK):
            raise refusals.cannot_write(target, OSError(errno.EACCES, os.strerror(errno.EACCES)), kept=path.is_file())
    except (OSError, RuntimeError) as error:  # RuntimeError: links that lead in a circle
        cause = error if isinstance(error, OSError) else OSError(errno.ELOOP, os.strerror(errno.ELOOP))
        raise refusals.cannot_write(target, cause) from error


def refuse_unwritable_folder(target: str) -> None:
    """Raise before the work is done where the folder ``target``, there or not yet, takes no files.

    What the system allows by its permissions does not tell: some folders take none from anybody. So the folder is made
    and a file in it, and both are taken away again.

    Raises
    ------
    RidelogError : the folder cannot be made, or no file in it
    """
    if not is_folder(target):
        refuse_unwritable(target)
    folder, made = Path(target), False
    try:
        with contextlib.suppress(FileExistsError):
            folder.mkdir()
            made = True
        trial = folder / f".{os.urandom(8).hex()}{PART}"
        try:
            trial.touch(exist_ok=False)
        finally:
            with contextlib.suppress(OSError):
                trial.unlink(missing_ok=True)
            if made:
                folder.rmdir()
    except OSError as error:
        raise refusals.cannot_write(target, error) from error


@contextlib.contextmanager
def written_whole(target: str) -> Iterator[IO[str]]:
    """A stream of text that becomes the file ``target`` once all of it is on the disk.

    A link stays one, a file that is replaced hands on its permissions, and a pipe or a device, which holds nothing
    that could be lost, is written to as it is.

    Raises
    ------
    RidelogError : it cannot be written, and what stood there is as it was
    """
    refuse_unwritable(target)
    path = Path(target).resolve()
    kept = path.is_file()
    try:
        if _is_device(path):
            with path.open("w", encoding="utf-8", newline="\n") as stream:
                yield stream
            return
        temporary = path.with_name(f".{os.urandom(8).hex()}{PART}")
        try:
            with temporary.open("x", encoding="utf-8", newline="\n") as stream:
                yield stream
                stream.flush()
                os.fsync(stream.fileno())
            if kept:
                temporary.chmod(path.stat().st_mode & 0o777)
            temporary.replace(path)
        finally:
            with contextlib.suppress(OSError):
                temporary.unlink(missing_ok=True)
        _settle(path.parent)
    except OSError as error:
        raise refusals.cannot_write(target, error, kept=kept) from error


def put_whole(contents: Mapping[Path, bytes]) -> None:
    """Write files that belong together, in their order: all of them are on the disk before the first has its name.

    Raises
    ------
    OSError : one cannot be written, and none was
    """
    temporaries: dict[Path, Path] = {}
    try:
        with contextlib.ExitStack() as opened:
            streams = []
            for path, content in contents.items():
                path.parent.mkdir(parents=True, exist_ok=True)
                temporaries[path] = path.with_name(f".{os.urandom(8).hex()}{PART}")
                streams.append(opened.enter_context(temporaries[path].open("xb")))
                streams[-1].write(content)
                streams[-1].flush()
            for stream in streams:  # together: the disk is waited for once
                os.fsync(stream.fileno())
        for path, temporary in temporaries.items():
            temporary.replace(path)
            _settle(path.parent)  # before the next one has its name
    finally:
        for temporary in temporaries.values():
            with contextlib.suppress(OSError):
                temporary.unlink(missing_ok=True)


def _is_device(path: Path) -> bool:
    return path.exists() and not path.is_file() and not path.is_dir()


def _settle(folder: Path) -> None:
    """Put the new name on the disk as well, where the system offers that for a folder."""
    with contextlib.suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)


class _Closed:
    """A stream that takes nothing."""

    def write(self, _text: str) -> None:
        raise OSError(errno.EBADF, refusals.CLOSED)

    def flush(self) -> None:
        """Nothing is held back."""


class Outlet:
    """A standard stream that says in words that it takes nothing, or, of messages, lets them go.

    Parameters
    ----------
    stream : the system's, ``None`` where it was closed before the command began
    name : what people call it
    needed : whether what is written must arrive; messages need not, there is nobody left to tell
    """

    def __init__(self, stream: IO[str] | None, name: str, *, needed: bool = True) -> None:
        self._stream = stream
        self._name = name
        self._needed = needed

    def write(self, text: str) -> int:
        """Hand the text on.

        Raises
        ------
        RidelogError : the stream is closed, or its disk is full
        BrokenPipeError : its reader has gone
        """
        self._do("write", text)
        return len(text)

    def flush(self) -> None:
        """Hand on what is held back; raises as writing does."""
        self._do("flush")

    def isatty(self) -> bool:
        """Whether somebody looks at a terminal."""
        return self._stream is not None and self._stream.isatty()

    def __getattr__(self, name: str) -> Any:
        return getattr(self._stream, name)

    def _do(self, what: str, *given: str) -> None:
        try:
            getattr(self._stream or _Closed(), what)(*given)
        except BrokenPipeError:
            if self._needed:
                raise
        except OSError as error:
            if self._needed:
                raise refusals.cannot_write(self._name, error) from error
