"""What does a look into one file show, without reading all of it: its digest, when it was recorded, what it offers?"""

import hashlib
from datetime import datetime
from pathlib import Path
from typing import Protocol

from ridelog.errors import RidelogError
from ridelog.importers.registry import peek
from ridelog.lazy import dataclass
from ridelog.tell.refusals import folders as refusals


@dataclass(frozen=True)
class Look:
    """What a look into one file showed.

    Attributes
    ----------
    path : of the file
    sha256 : of its bytes
    start, end : wall time of its first and last sample, UTC; ``None`` where it states none
    local : its wall time is that of a zone that it does not state
    electrical, track : what it can contribute to a ride
    error : why it cannot be looked into
    """

    path: Path
    sha256: str
    start: datetime | None = None
    end: datetime | None = None
    local: bool = False
    electrical: bool = False
    track: bool = False
    error: RidelogError | None = None

    @property
    def timed(self) -> bool:
        """Whether it states when it was recorded."""
        return self.start is not None and self.end is not None


class Looks(Protocol):
    """Looks that were taken before, by path, size and time of change."""

    def look(self, path: Path, size: int, mtime_ns: int) -> Look | None:
        """The look at a file that has not changed since.

        Parameters
        ----------
        path : of the file
        size, mtime_ns : its size and the time of its last change [byte, ns]

        Returns
        -------
        ``None`` without one.
        """

    def keep(self, look: Look, size: int, mtime_ns: int) -> None:
        """Keep a look.

        Parameters
        ----------
        look : at a file
        size, mtime_ns : as it was when it was looked at [byte, ns]
        """


def look_at(path: Path) -> Look:
    """A look into one file; a bike file or column map is only hashed.

    Parameters
    ----------
    path : of the file

    Returns
    -------
    What it showed, or why it cannot be looked into.
    """
    try:
        with path.open("rb") as stream:
            sha256 = hashlib.file_digest(stream, "sha256").hexdigest()
        if path.suffix.lower() == ".toml":
            return Look(path, sha256)
        peeks = peek(path)
    except OSError as error:
        return unreadable(path, error)
    except RidelogError as error:
        return Look(path, sha256, error=error)
    roles = {one.role for one in peeks}
    starts = [one.start for one in peeks if one.start is not None]
    ends = [one.end for one in peeks if one.end is not None]
    timed = len(starts) == len(ends) == len(peeks)
    return Look(
        path,
        sha256,
        min(starts) if timed else None,
        max(ends) if timed else None,
        any(one.clock == "local" for one in peeks),
        electrical=bool(roles & {"electrical", "both"}),
        track=bool(roles & {"track", "both"}),
    )


def unreadable(path: Path, error: OSError) -> Look:
    """The look at a file that cannot be opened."""
    return Look(path, "", error=refusals.unreadable(str(path), error.strerror or str(error)))
