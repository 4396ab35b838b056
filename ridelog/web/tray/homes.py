"""Which bike the files of a folder are of: that of the bike file nearest above them, as in folders that are audited."""

from collections.abc import Callable, Sequence
from pathlib import Path, PurePosixPath
from typing import Any

from ridelog.errors import InputError
from ridelog.lazy import dataclass
from ridelog.settings.manifest import NAME as MANIFEST
from ridelog.web.jobs.measuring import NamedPath

MOST_DEPTH = 12  # folders within folders; what lies deeper is as if it lay there
LONGEST_FOLDER = 60  # letters of its name that are kept


@dataclass(frozen=True)
class OfHome:
    """The files of one bike's folder.

    Attributes
    ----------
    home : the folder, as the visitor has it; empty for files of no such folder
    files : names below it, and paths
    """

    home: str
    files: tuple[NamedPath, ...]


def plain_folders(name: str) -> tuple[str, ...]:
    """The folders in a name that a browser sent, none of which leads anywhere else, without control characters."""
    parts = name.replace("\\", "/").split("/")[:-1]
    kept = ("".join(char for char in part if char.isprintable()).strip()[:LONGEST_FOLDER] for part in parts)
    return tuple(part for part in kept if part.strip("."))[:MOST_DEPTH]


def by_home(files: Sequence[NamedPath], is_map: Callable[[str, Any], bool]) -> list[OfHome]:
    """Files told apart by the bike that they are of.

    Parameters
    ----------
    files : names with their folders, and paths
    is_map : whether a TOML file is a column map

    Returns
    -------
    The files of each bike's folder, in the order in which they were given. All of them are of no folder where none was
    given.
    """
    homes = {str(PurePosixPath(name).parent) for name, path in files if _is_bike(name, path, is_map)} - {"."}
    told: dict[str, list[NamedPath]] = {}
    for name, path in files:
        above = map(str, PurePosixPath(name).parents)
        home = next((folder for folder in above if folder in homes), "")
        below = str(PurePosixPath(name).relative_to(home)) if home else name
        told.setdefault(home, []).append((below, path))
    return [OfHome(home, tuple(each)) for home, each in told.items()]


def _is_bike(name: str, path: Path, is_map: Callable[[str, Any], bool]) -> bool:
    if not name.lower().endswith(".toml") or PurePosixPath(name).name == MANIFEST:
        return False
    try:
        with path.open("rb") as stream:
            return not is_map(name, stream)
    except InputError:  # which is said where it is read
        return False
