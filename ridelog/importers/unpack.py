"""Bytes in, however they come: opened, bounded, hashed and unpacked, before anybody looks at what they say."""

import hashlib
import io
import zipfile
import zlib
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from pathlib import Path
from typing import IO, BinaryIO

from ridelog import budget
from ridelog.errors import InputError, printable
from ridelog.lazy import dataclass
from ridelog.tell.refusals import files

_GZIP_MAGIC = b"\x1f\x8b\x08"
_ZIP_MAGICS = (b"PK\x03\x04", b"PK\x05\x06")  # the second begins an archive without members
_ARCHIVE_MAGICS = (_GZIP_MAGIC, *_ZIP_MAGICS)
# Of others a block of four kilobytes may come out as gigabytes at once, before anything can stop it.
_COMPRESSIONS = (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED)
_CHUNK_BYTES = 1 << 20
_DAMAGE = (zipfile.BadZipFile, zlib.error, EOFError, OSError, ValueError, IndexError)


@dataclass(frozen=True)
class Bounds:
    """How much a file may hold, so that a small one cannot fill the memory of the machine that reads it.

    Attributes
    ----------
    largest_bytes : of the file as given, and of all that it unpacks to; a day at 100 Hz with ten columns
        is about 0.5 GB of text [byte]
    largest_ratio : unpacked by packed size; logs reach 5 to 30, and a log of a parked bike 200 [1]
    free_bytes : unpacked size up to which no ratio is asked for, as it cannot do harm [byte]
    most_members : entries of an archive; one ride has a handful of files [1]
    """

    largest_bytes: int = 500_000_000
    largest_ratio: float = 250.0
    free_bytes: int = 10_000_000
    most_members: int = 200


DEFAULT_BOUNDS = Bounds()


@dataclass(frozen=True)
class Unpacked:
    """One log: the name for people, its bytes, and the hash of the file that was given."""

    name: str
    content: bytes
    sha256: str


class Window:
    """One log, of which no more is read than is asked for.

    Attributes
    ----------
    name : of the log, for people
    n_bytes : its size, unpacked [byte]
    """

    def __init__(self, name: str, stream: BinaryIO, n_bytes: int) -> None:
        self.name, self.n_bytes, self._stream = name, n_bytes, stream

    def part(self, start: int, n_bytes: int) -> bytes:
        """Bytes from ``start`` on, as many as there are up to ``n_bytes`` [byte]."""
        self._stream.seek(start)
        return self._stream.read(n_bytes)

    def whole(self) -> bytes:
        """All of it."""
        return self.part(0, self.n_bytes)


@contextmanager
def windows(
    source: str | Path | BinaryIO, *, name: str | None = None, bounds: Bounds = DEFAULT_BOUNDS
) -> Iterator[list[Window]]:
    """Open a file to look into its logs without reading it whole; an archive is unpacked, within its bounds.

    Parameters
    ----------
    source, name, bounds : as for `unpacked`

    Returns
    -------
    The files in it, open while the block that asked for them runs.

    Raises
    ------
    InputError : as for `unpacked`
    """
    name = _called(source, name)
    with ExitStack() as opened:
        with _in_words(name):
            stream = source
            if isinstance(stream, str | Path):
                stream = opened.enter_context(Path(stream).open("rb"))
            if not (hasattr(stream, "seekable") and stream.seekable()):
                stream = io.BytesIO(_read(stream, name, bounds))
            n_bytes = stream.seek(0, io.SEEK_END)
            stream.seek(0)
            first = _read(stream, name, bounds, at_most=4)
        if n_bytes > bounds.largest_bytes:
            raise files.too_large(name, bounds.largest_bytes)
        if first.startswith(_ARCHIVE_MAGICS):
            stream.seek(0)
            logs = unpacked(stream, name=name, bounds=bounds)
            yield [Window(log.name, io.BytesIO(log.content), len(log.content)) for log in logs]
        elif not n_bytes:
            raise files.empty(name)
        else:
            yield [Window(name, stream, n_bytes)]


def unpacked(
    source: str | Path | BinaryIO, *, name: str | None = None, bounds: Bounds = DEFAULT_BOUNDS
) -> list[Unpacked]:
    """Open a file, and take it out of its gzip or zip wrapping.

    Parameters
    ----------
    source : path, or a file open for binary reading
    name : what to call it in messages; by default the path as given
    bounds : how much it may hold

    Returns
    -------
    one entry for a plain or gzip-compressed file, one for each member of a zip archive
    (``archive.zip/log.csv``); directories and hidden members are passed over

    Raises
    ------
    InputError : it cannot be opened, is empty, damaged, encrypted, an archive in an archive, or too large
    """
    name = _called(source, name)
    given = _opened(source, name, bounds)
    budget.count(len(given))
    sha256 = hashlib.sha256(given).hexdigest()
    if not given:
        raise files.empty(name)
    if given.startswith(_ZIP_MAGICS):
        members = list(_zip_members(given, name, bounds))
    elif given.startswith(_GZIP_MAGIC):
        members = [(name, _gunzipped(given, name, bounds))]
    else:
        return [Unpacked(name, given, sha256)]
    for member, content in members:
        if content.startswith(_ARCHIVE_MAGICS):
            raise files.archive_in_archive(member)
        if not content and len(members) == 1:
            raise files.empty_once_unpacked(member)
    return [Unpacked(member, content, sha256) for member, content in members]


def refuse_larger(n_bytes: int, name: str, largest_bytes: int, kind: str) -> None:
    """Refuse a file that is larger than one ride of its kind can be.

    Parameters
    ----------
    n_bytes : size of the file, unpacked [byte]
    name : what to call it in messages
    largest_bytes : what is allowed [byte]
    kind : of file, for the message

    Raises
    ------
    InputError : it is larger
    """
    if n_bytes > largest_bytes:
        raise files.larger_than_a_ride(name, n_bytes, largest_bytes, kind)


def _called(source: str | Path | BinaryIO, name: str | None) -> str:
    """What to call a file in messages."""
    if source == "":
        raise files.no_name()
    if name is None and isinstance(source, str | Path):
        name = str(source)
    known = name or getattr(source, "name", None)
    return printable(known if isinstance(known, str) else files.UPLOADED)


@contextmanager
def _in_words(name: str) -> Iterator[None]:
    """What opening and reading a file may raise, as errors for people."""
    try:
        yield
    except FileNotFoundError:
        raise files.not_there(name) from None
    except IsADirectoryError:
        raise files.folder(name) from None
    except PermissionError:
        raise files.no_permission(name) from None
    except (OSError, ValueError) as error:  # ValueError: a null character in the name, or a closed file
        reason = error.strerror if isinstance(error, OSError) and error.strerror else str(error)
        raise files.cannot_open(name, reason) from None


def _opened(source: str | Path | BinaryIO, name: str, bounds: Bounds) -> bytes:
    """The bytes as given; one more than allowed is read at most."""
    with _in_words(name):
        if isinstance(source, str | Path):
            with Path(source).open("rb") as stream:
                return _read(stream, name, bounds)
        return _read(source, name, bounds)


def _read(stream: BinaryIO, name: str, bounds: Bounds, at_most: int | None = None) -> bytes:
    """What an open file holds, or its first bytes."""
    content = stream.read(bounds.largest_bytes + 1 if at_most is None else at_most)
    if not isinstance(content, bytes):
        raise files.opened_as_text(name)
    if len(content) > bounds.largest_bytes:
        raise files.too_large(name, bounds.largest_bytes)
    return content


class _Meter:
    """Counts what comes out of a wrapping, and stops it when it is too much."""

    def __init__(self, name: str, n_packed: int, bounds: Bounds) -> None:
        self.name, self.n_packed, self.bounds, self.n_unpacked = name, n_packed, bounds, 0

    def drained(self, stream: IO[bytes] | io.BufferedIOBase) -> bytes:
        """All that ``stream`` holds."""
        parts = []
        while part := stream.read(_CHUNK_BYTES):
            self.n_unpacked += len(part)
            budget.count(len(part))
            self._check()
            parts.append(part)
        return b"".join(parts)

    def _check(self) -> None:
        bounds = self.bounds
        if self.n_unpacked > bounds.largest_bytes:
            raise files.unpacks_to_more(self.name, bounds.largest_bytes)
        if self.n_unpacked > max(bounds.free_bytes, bounds.largest_ratio * self.n_packed):
            raise files.unpacks_too_far(self.name, bounds.largest_ratio)


def _damaged(name: str, kind: str, error: Exception) -> InputError:
    reason = str(error).strip().rstrip(".") or type(error).__name__
    return files.damaged(name, kind, reason)


def _gunzipped(given: bytes, name: str, bounds: Bounds) -> bytes:
    import gzip

    try:
        with gzip.GzipFile(fileobj=io.BytesIO(given)) as stream:
            return _Meter(name, len(given), bounds).drained(stream)
    except _DAMAGE as error:
        raise _damaged(name, files.GZIP, error) from None


def _is_log(info: zipfile.ZipInfo) -> bool:
    """Whether a member may be a log: folders and the hidden files that systems leave in archives are not."""
    parts = info.filename.replace("\\", "/").split("/")
    return bool(info.filename) and not info.is_dir() and not any(part.startswith((".", "__MACOSX")) for part in parts)


def _zip_members(given: bytes, name: str, bounds: Bounds) -> Iterator[tuple[str, bytes]]:
    meter = _Meter(name, len(given), bounds)
    try:
        archive = zipfile.ZipFile(io.BytesIO(given))
    except (*_DAMAGE, NotImplementedError) as error:
        raise _damaged(name, files.ZIP, error) from None
    entries = archive.infolist()
    if len(entries) > bounds.most_members:
        raise files.too_many_members(name, len(entries), bounds.most_members)
    logs = [info for info in entries if _is_log(info)]
    if not logs:
        raise files.no_members(name)
    for info in logs:
        member = f"{name}/{printable(info.filename)}"
        if info.flag_bits & 0x1:
            raise files.encrypted(member)
        if info.compress_type not in _COMPRESSIONS:
            raise files.packed_otherwise(member)
        try:
            with archive.open(info) as stream:
                yield member, meter.drained(stream)
        except (*_DAMAGE, NotImplementedError) as error:
            raise _damaged(member, files.ZIP, error) from None
