"""The file that holds the page's password, as a hash that cannot be turned back.

The hash is scrypt's (RFC 7914), made and compared by werkzeug, which the page stands on anyway: it takes the same time
whatever is given. N = 2¹⁵, r = 8, p = 3 is one of the settings of equal strength in OWASP's Password Storage Cheat
Sheet (from memory), and needs 32 MB for each check.

References
----------
OWASP, Application Security Verification Standard 4.0.3, 2.1.1 and 2.1.2: at least 12 characters, 128 must not be
exceeded (from memory).
"""

import os
import re
import stat
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import field
from pathlib import Path
from unicodedata import normalize

from werkzeug.security import check_password_hash, generate_password_hash

from ridelog.destination import put_whole, refuse_unwritable
from ridelog.lazy import dataclass
from ridelog.tell.refusals import commands
from ridelog.tell.refusals.page import door as refusals

METHOD = "scrypt:32768:8:3"
LEAST_LETTERS, MOST_LETTERS = 12, 128
LEAST_DIFFERENT = 4  # "aaaaaaaaaaaa" and "121212121212" are guessed at once
MOST_BYTES = 4096  # of the file
_HASH = re.compile(r"scrypt:(\d{5,6}):(\d{1,2}):(\d{1,2})\$[A-Za-z0-9]{16,64}\$[0-9a-f]{128}")
_LEAST_WORK, _MOST_WORK = 32768 * 8, 2**20 * 8  # N r p: werkzeug's own default, and some seconds for each check
_MOST_MEMORY = 2**17 * 8  # N r: 128 MB for each check, the most that werkzeug allows

Ask = Callable[[str], str]


@dataclass(frozen=True)
class Password:
    """A password that is known by its hash alone."""

    _hash: str = field(repr=False)

    def fits(self, given: str) -> bool:
        """Whether this is the password; takes as long for a wrong one as for the right one."""
        return check_password_hash(self._hash, _same(given))


def password_of(path: Path, ask: Ask | None = None) -> Password:
    """The password of a file; where there is no such file, it is asked for twice and the file is made.

    Parameters
    ----------
    path : of the file
    ask : shows its argument and returns what was typed; ``None`` where nobody can be asked

    Returns
    -------
    Password.

    Raises
    ------
    UsageError : there is no file and nobody to ask, or what was typed is no good
    InputError : the file cannot be read, is open to others, or holds something else
    """
    if not path.exists():
        if ask is None:
            raise refusals.nobody_to_ask(str(path))
        _make(path, ask)
    text = _content(path).strip()
    found = _HASH.fullmatch(text)
    if found is None:
        raise refusals.no_hash(str(path))
    n, r, p = map(int, found.groups())
    if n & (n - 1) or n * r > _MOST_MEMORY or not _LEAST_WORK <= n * r * p <= _MOST_WORK:
        raise refusals.no_hash(str(path))
    return Password(text)


def hashed(password: str) -> Password:
    """The password as its hash, with salt of its own."""
    return Password(generate_password_hash(_same(password), METHOD))


def _make(path: Path, ask: Ask) -> None:
    refuse_unwritable(str(path))
    try:
        typed = ask(refusals.FIRST)
        again = ask(refusals.AGAIN)
    except EOFError:
        raise refusals.nothing_typed() from None
    if typed != again:
        raise refusals.not_alike()
    letters = _same(typed)
    if not LEAST_LETTERS <= len(letters) <= MOST_LETTERS or len(set(letters)) < LEAST_DIFFERENT:
        raise refusals.password_too_weak(LEAST_LETTERS, MOST_LETTERS)
    try:
        with _for_nobody_else():
            put_whole({path: f"{hashed(typed)._hash}\n".encode()})
    except OSError as error:
        raise commands.cannot_write(str(path), error) from error


@contextmanager
def _for_nobody_else() -> Iterator[None]:
    """Files made within can be read by their owner alone from the first moment on."""
    before = os.umask(0o077)
    try:
        yield
    finally:
        os.umask(before)


def _content(path: Path) -> str:
    """The text of the file, once it is known to be the owner's alone; looked at as opened, so that no other is read."""
    try:
        handle = os.open(path, os.O_RDONLY | getattr(os, "O_NONBLOCK", 0))  # a pipe must not be waited for
        with os.fdopen(handle, "rb") as stream:
            about = os.fstat(handle)
            if not stat.S_ISREG(about.st_mode):
                raise refusals.no_hash(str(path))
            if os.name == "posix" and (about.st_mode & 0o077 or about.st_uid not in (os.geteuid(), 0)):
                raise refusals.others_can_read(str(path))
            return stream.read(MOST_BYTES).decode("ascii", errors="replace")
    except OSError as error:
        raise refusals.not_readable(str(path), error.strerror or str(error)) from error


def _same(typed: str) -> str:
    """One spelling of what looks the same: keyboards differ in how they write an é (RFC 8265, 4.2: NFC)."""
    return normalize("NFC", typed)
