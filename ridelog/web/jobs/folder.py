"""Where visitors' files lie until they are measured: a folder that goes with the server, or with the next one.

A server that is killed leaves its folder behind, with rides in it. Each server holds a lock on a file in its own, which
the system lets go however the server ends; the next one removes what nobody holds.
"""

import contextlib
import os
import shutil
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

PREFIX = "ridelog-page-"
LOCK = "lock"
JUST_MADE_S = 60.0  # a lock file younger than that may be about to be locked [s]


def made_folder() -> tuple[Path, Callable[[], None]]:
    """A folder of this user alone, and what removes it; what servers left that were killed is removed first."""
    remove_left()
    folder = Path(tempfile.mkdtemp(prefix=PREFIX))
    handle = os.open(folder / LOCK, os.O_RDWR | os.O_CREAT, 0o600)
    _lock(handle)

    def remove() -> None:
        shutil.rmtree(folder, ignore_errors=True)
        with contextlib.suppress(OSError):
            os.close(handle)

    return folder, remove


def remove_left() -> None:
    """Remove the folders of servers that are no more; those of other users, and of those that run, stay."""
    for folder in Path(tempfile.gettempdir()).glob(f"{PREFIX}*"):
        with contextlib.suppress(OSError):
            if folder.is_symlink() or not folder.is_dir() or not _is_ours(folder):
                continue
            if time.time() - (folder / LOCK).stat().st_mtime < JUST_MADE_S:
                continue
            handle = os.open(folder / LOCK, os.O_RDWR)
            try:
                if _lock(handle):
                    shutil.rmtree(folder, ignore_errors=True)
            finally:
                os.close(handle)


def _is_ours(folder: Path) -> bool:
    return sys.platform == "win32" or folder.stat().st_uid == os.geteuid()


def _lock(handle: int) -> bool:
    """Whether the file is now held here; never where the system has no such locks."""
    if sys.platform == "win32":
        return False
    import fcntl

    try:
        fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError:
        return False
    return True
