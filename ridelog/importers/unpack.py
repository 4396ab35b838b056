"""Bytes in, however they come: opened, bounded, hashed and unpacked, before anybody looks at what they say."""

import hashlib
import io
import zipfile
import zlib
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import IO, BinaryIO

from ridelog.errors import InputError, printable

_GZIP_MAGIC = b"\x1f\x8b\x08"
_ZIP_MAGICS = (b"PK\x03\x04", b"PK\x05\x06")  # the second begins an archive without members
_ARCHIVE_MAGICS = (_GZIP_MAGIC, *_ZIP_MAGICS)
# Others let a small file claim gigabytes of memory before the first byte comes out.
_COMPRESSIONS = (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED, zipfile.ZIP_BZIP2)
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
            raise _too_large(name, bounds)
        if first.startswith(_ARCHIVE_MAGICS):
            stream.seek(0)
            logs = unpacked(stream, name=name, bounds=bounds)
            yield [Window(log.name, io.BytesIO(log.content), len(log.content)) for log in logs]
        elif not n_bytes:
            raise _empty(name)
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
    sha256 = hashlib.sha256(given).hexdigest()
    if not given:
        raise _empty(name)
    if given.startswith(_ZIP_MAGICS):
        members = list(_zip_members(given, name, bounds))
    elif given.startswith(_GZIP_MAGIC):
        members = [(name, _gunzipped(given, name, bounds))]
    else:
        return [Unpacked(name, given, sha256)]
    for member, content in members:
        if content.startswith(_ARCHIVE_MAGICS):
            raise InputError(member, "is an archive inside an archive", hint="unpack the outer one yourself")
        if not content and len(members) == 1:
            raise InputError(
                member, "is empty once unpacked", hint="was it packed before the device had stored the ride?"
            )
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
        raise InputError(
            name,
            f"holds {n_bytes / 1e6:.0f} MB of {kind}, and {largest_bytes / 1e6:g} MB are allowed",
            hint="one ride at a time; cut it into rides where it was recorded or exported",
        )


def _called(source: str | Path | BinaryIO, name: str | None) -> str:
    """What to call a file in messages."""
    if source == "":
        raise InputError("FILE", "an empty name was given", hint="is a variable of the command line not set?")
    if name is None and isinstance(source, str | Path):
        name = str(source)
    known = name or getattr(source, "name", None)
    return printable(known if isinstance(known, str) else "the uploaded file")


@contextmanager
def _in_words(name: str) -> Iterator[None]:
    """What opening and reading a file may raise, as errors for people."""
    try:
        yield
    except FileNotFoundError:
        raise InputError(name, "there is no such file", hint="is the name spelled right?") from None
    except IsADirectoryError:
        raise InputError(name, "is a folder", hint="name the files in it, as in `FOLDER/*`") from None
    except PermissionError:
        raise InputError(name, "may not be read by you", hint="look at the file's permissions") from None
    except (OSError, ValueError) as error:  # ValueError: a null character in the name, or a closed file
        reason = error.strerror if isinstance(error, OSError) and error.strerror else str(error)
        raise InputError(name, f"cannot be opened: {reason}") from None


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
        raise InputError(name, "was opened as text", hint='open it in binary mode, as in open(path, "rb")')
    if len(content) > bounds.largest_bytes:
        raise _too_large(name, bounds)
    return content


def _too_large(name: str, bounds: Bounds) -> InputError:
    return InputError(
        name, f"is larger than {bounds.largest_bytes / 1e6:g} MB", hint="one ride at a time; cut the log into rides"
    )


def _empty(name: str) -> InputError:
    return InputError(name, "is empty", hint="did the copy finish, and did the device store the ride?")


class _Meter:
    """Counts what comes out of a wrapping, and stops it when it is too much."""

    def __init__(self, name: str, n_packed: int, bounds: Bounds) -> None:
        self.name, self.n_packed, self.bounds, self.n_unpacked = name, n_packed, bounds, 0

    def drained(self, stream: IO[bytes] | io.BufferedIOBase) -> bytes:
        """All that ``stream`` holds."""
        parts = []
        while part := stream.read(_CHUNK_BYTES):
            self.n_unpacked += len(part)
            self._check()
            parts.append(part)
        return b"".join(parts)

    def _check(self) -> None:
        bounds = self.bounds
        hint = "is this really a ride's log? unpack it yourself and look"
        if self.n_unpacked > bounds.largest_bytes:
            raise InputError(self.name, f"unpacks to more than {bounds.largest_bytes / 1e6:g} MB", hint=hint)
        if self.n_unpacked > max(bounds.free_bytes, bounds.largest_ratio * self.n_packed):
            raise InputError(self.name, f"unpacks to more than {bounds.largest_ratio:g} times its size", hint=hint)


def _damaged(name: str, kind: str, error: Exception) -> InputError:
    reason = str(error).strip().rstrip(".") or type(error).__name__
    return InputError(
        name, f"the {kind} is damaged or cut off ({printable(reason)})", hint="copy the file from the device again"
    )


def _gunzipped(given: bytes, name: str, bounds: Bounds) -> bytes:
    import gzip

    try:
        with gzip.GzipFile(fileobj=io.BytesIO(given)) as stream:
            return _Meter(name, len(given), bounds).drained(stream)
    except _DAMAGE as error:
        raise _damaged(name, "gzip file", error) from None


def _is_log(info: zipfile.ZipInfo) -> bool:
    """Whether a member may be a log: folders and the hidden files that systems leave in archives are not."""
    parts = info.filename.replace("\\", "/").split("/")
    return bool(info.filename) and not info.is_dir() and not any(part.startswith((".", "__MACOSX")) for part in parts)


def _zip_members(given: bytes, name: str, bounds: Bounds) -> Iterator[tuple[str, bytes]]:
    meter = _Meter(name, len(given), bounds)
    try:
        archive = zipfile.ZipFile(io.BytesIO(given))
    except (*_DAMAGE, NotImplementedError) as error:
        raise _damaged(name, "zip archive", error) from None
    entries = archive.infolist()
    if len(entries) > bounds.most_members:
        raise InputError(
            name,
            f"holds {len(entries)} entries, and {bounds.most_members} are allowed",
            hint="one ride at a time; give the files of one ride",
        )
    logs = [info for info in entries if _is_log(info)]
    if not logs:
        raise InputError(name, "is an archive without a file in it", hint="put the logs themselves into it")
    for info in logs:
        member = f"{name}/{printable(info.filename)}"
        if info.flag_bits & 0x1:
            raise InputError(member, "is encrypted", hint="unpack the archive yourself")
        if info.compress_type not in _COMPRESSIONS:
            raise InputError(member, "is compressed in a way that is not read here", hint="unpack the archive yourself")
        try:
            with archive.open(info) as stream:
                yield member, meter.drained(stream)
        except (*_DAMAGE, NotImplementedError) as error:
            raise _damaged(member, "zip archive", error) from None
