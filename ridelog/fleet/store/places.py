"""Where a store can lie: a folder of this computer, or any address that fsspec knows. Bytes by name, whole or not.

On the disk a file is written beside its place and renamed; an object is put in one piece. What others wrote meanwhile
is seen: nothing of a listing is remembered.
"""

from __future__ import annotations

import contextlib
import os
import re
import time
from collections.abc import Container, Iterable, Iterator, Mapping, Sequence
from pathlib import Path
from typing import Any, Protocol

from ridelog.destination import PART, put_whole
from ridelog.errors import StoreError
from ridelog.fleet.store.catalogue import locked
from ridelog.tell.refusals import store as refusals

TABLE = ".parquet"
LOCK = ".rows/merging.sqlite"
AT_ONCE = 256  # objects asked for together
_STAMPS = ("ETag", "etag", "md5Hash", "created", "LastModified", "mtime", "size")  # of an object, where known
ABANDONED_AFTER_S = 3600.0  # a file that is not whole after so long has nobody who writes it
_EXTRAS = {"s3": ("s3fs", "s3"), "s3a": ("s3fs", "s3"), "gs": ("gcsfs", "gs"), "gcs": ("gcsfs", "gs"),
           "az": ("adlfs", "az"), "abfs": ("adlfs", "az"), "abfss": ("adlfs", "az")}  # fmt: skip


class Place(Protocol):
    """What a store needs of where it lies; paths are relative, with ``/``."""

    address: str
    local: bool

    def listing(self, folder: str) -> dict[str, str]:
        """All whole files below a folder, path -> a stamp that changes with the file; none where it is not there."""

    def read(self, paths: Sequence[str]) -> Iterator[tuple[str, bytes]]:
        """Files that are there, with their paths."""

    def put(self, contents: Mapping[str, bytes]) -> None:
        """Write files, each whole, in their order."""

    def remove(self, paths: Iterable[str]) -> None:
        """Remove files, in their order; one that is not there is passed over."""

    def is_empty(self) -> bool:
        """Whether nothing but unfinished files is there."""

    def tidy(self, whole: Container[str]) -> None:
        """Remove what writers left that were ended: whatever is not among the paths of whole rides."""

    def alone(self, patience_s: float) -> contextlib.AbstractContextManager[bool]:
        """Whether nobody else merges files within, so long as that can be told; waits for others."""


class Folder:
    """A folder of this computer."""

    local = True

    def __init__(self, folder: Path) -> None:
        self.address = str(folder)
        self.root = folder.absolute()

    def listing(self, folder: str) -> dict[str, str]:
        """All whole files below a folder, path -> a stamp that changes with the file; none where it is not there."""
        before = len(os.path.join(self.root, ""))  # noqa: PTH118  (with a separator at its end)
        with _told("read", self.address):
            return {
                path[before:].replace(os.sep, "/"): f"{held.st_size} {held.st_mtime_ns} {held.st_ino}"
                for path, held in _files(str(self.root / folder))
                if path.endswith(TABLE)
            }

    def read(self, paths: Sequence[str]) -> Iterator[tuple[str, bytes]]:
        """Files that are there, with their paths."""
        for path in paths:
            with _told("read", f"{self.address}/{path}"):
                try:
                    content = (self.root / path).read_bytes()
                except (FileNotFoundError, NotADirectoryError):
                    continue
            yield path, content

    def put(self, contents: Mapping[str, bytes]) -> None:
        """Write files that belong together: all are on the disk before the first has its name."""
        with _told("written", self.address):
            put_whole({self.root / path: content for path, content in contents.items()})

    def remove(self, paths: Iterable[str]) -> None:
        """Remove files, in their order; one that is not there is passed over."""
        with _told("written", self.address):
            for path in paths:
                (self.root / path).unlink(missing_ok=True)

    def is_empty(self) -> bool:
        """Whether nothing but unfinished files is there."""
        with _told("read", self.address):
            if self.root.is_file():
                raise refusals.not_a_folder(self.address)
            return not self.root.exists() or all(path.name.endswith(PART) for path in self.root.iterdir())

    def tidy(self, whole: Container[str]) -> None:
        """Remove what writers left that were ended: whatever is not among the paths of whole rides."""
        before = time.time() - ABANDONED_AFTER_S
        for path, held in _files(str(self.root)):
            place = Path(path).relative_to(self.root).as_posix()
            left = (path.endswith(TABLE) and place not in whole) or path.endswith(PART)
            if left and held.st_mtime < before:
                with contextlib.suppress(OSError):  # another one tidies, or we may not
                    Path(path).unlink()

    @contextlib.contextmanager
    def alone(self, patience_s: float) -> Iterator[bool]:
        """Whether nobody else merges files within; waits for others. Ended with whoever holds it."""
        with _told("written", self.address):
            (self.root / LOCK).parent.mkdir(exist_ok=True)
        with locked(self.root / LOCK, patience_s) as alone:
            yield alone


class Objects:
    """Object storage, or whatever else fsspec reaches: an object is put in one piece."""

    local = False

    def __init__(self, address: str) -> None:
        import fsspec  # a tenth of a second, and most stores are folders

        self.address = without_secrets(address)
        with _told("read", self.address), _known(address, self.address):
            filesystem, root = fsspec.core.url_to_fs(address, use_listings_cache=False)
            self.filesystem: Any = filesystem
            self.root = root.rstrip("/")

    def listing(self, folder: str) -> dict[str, str]:
        """All objects below a folder, path -> a stamp that changes with the object; none where it is not there."""
        with _told("read", self.address):
            self.filesystem.invalidate_cache()
            found = self.filesystem.find(f"{self.root}/{folder}", detail=True)
            return {
                path[len(self.root) + 1 :]: " ".join(str(held[name]) for name in _STAMPS if name in held)
                for path, held in found.items()
                if path.endswith(TABLE)
            }

    def read(self, paths: Sequence[str]) -> Iterator[tuple[str, bytes]]:
        """Objects that are there, with their paths; many at a time."""
        for first in range(0, len(paths), AT_ONCE):
            with _told("read", self.address):
                asked = [f"{self.root}/{path}" for path in paths[first : first + AT_ONCE]]
                found = self.filesystem.cat(asked, on_error="return")
                contents = found if isinstance(found, dict) else {asked[0]: found}
                failed = [each for each in contents.values() if isinstance(each, Exception)]
                for error in failed:
                    if not isinstance(error, FileNotFoundError):
                        raise error
            for path, content in contents.items():
                if isinstance(content, bytes):
                    yield path[len(self.root) + 1 :], content

    def put(self, contents: Mapping[str, bytes]) -> None:
        """Put objects, each in one piece, in their order."""
        with _told("written", self.address):
            for path, content in contents.items():
                self.filesystem.pipe_file(f"{self.root}/{path}", content)

    def remove(self, paths: Iterable[str]) -> None:
        """Remove objects, in their order; one that is not there is passed over."""
        with _told("written", self.address):
            for path in paths:
                with contextlib.suppress(FileNotFoundError):
                    self.filesystem.rm_file(f"{self.root}/{path}")

    def is_empty(self) -> bool:
        """Whether nothing is there."""
        with _told("read", self.address):
            self.filesystem.invalidate_cache()
            return not self.filesystem.find(self.root, maxdepth=2)

    def tidy(self, whole: Container[str]) -> None:
        """An object is whole, or not there, and its age is not told alike everywhere."""

    @contextlib.contextmanager
    def alone(self, patience_s: float) -> Iterator[bool]:  # noqa: ARG002  (nothing to wait for)
        """Object storage has no locks: what two merge at once stands there twice, is read once, and merged later."""
        yield True


def _files(folder: str) -> Iterator[tuple[str, os.stat_result]]:
    """All files below a folder; what goes away meanwhile is passed over."""
    with contextlib.suppress(FileNotFoundError, NotADirectoryError), os.scandir(folder) as entries:
        for entry in entries:
            if entry.is_dir(follow_symlinks=False):
                yield from _files(entry.path)
            else:
                with contextlib.suppress(FileNotFoundError):
                    yield entry.path, entry.stat()


def place_of(address: str | Path) -> Place:
    """The place of an address: a folder, or what fsspec knows.

    Raises
    ------
    StoreError : an empty address, no such kind of address, or a package that it needs is not installed
    """
    text = str(address)
    if not text:  # not the folder in which one happens to be
        raise refusals.no_name()
    if isinstance(address, Path) or ("://" not in text and "::" not in text):
        return Folder(Path(address))
    if text.startswith("file://"):
        return Folder(Path(text.removeprefix("file://")))
    return Objects(text)


def without_secrets(address: str) -> str:
    """An address as it may be shown: without the name and password before its host."""
    return re.sub(r"(?<=://)[^/@]*@", "", address)


@contextlib.contextmanager
def _told(what: str, address: str) -> Iterator[None]:
    """Whatever a file system or the library for it raises, as one sentence."""
    try:
        yield
    except StoreError:
        raise
    except Exception as error:  # the libraries of object storage have exceptions of their own
        raise refusals.cannot_be(what, address, error, kept=_holds_something(Path(address))) from error


def _holds_something(path: Path) -> bool:
    """Whether there is a file, or a folder with anything in it."""
    with contextlib.suppress(OSError):
        return path.is_file() or any(path.iterdir())
    return False


@contextlib.contextmanager
def _known(address: str, shown: str) -> Iterator[None]:
    """What is missing for a kind of address, as one sentence."""
    try:
        yield
    except ImportError as error:
        protocol = address.partition("://")[0]
        told = error.name or getattr(error.__cause__, "name", None) or protocol
        package, extra = _EXTRAS.get(protocol, (told, None))
        raise refusals.package_missing(shown, package, extra) from error
    except ValueError as error:
        raise refusals.unknown_address(shown) from error
