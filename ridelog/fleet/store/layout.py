"""Where a ride lies in a store: names of folders and files, and what they tell without being opened.

``answers/bike=…/month=…/<key>-<version>.parquet``, and ``hills/ events/ findings/ series/<key>-<version>.parquet``.
A ride is there if and only if its answers are; they are written last and removed first. The version that measured it
is in the name, so that one listing tells what has to be measured anew, and that the files of two versions never mix.

Rides of one bike and month may share files instead (`merging`), all but their series:
``answers/bike=…/month=…/merged-<digest>.parquet`` and ``hills/ events/ findings/merged-<digest>.parquet``.
"""

import re
from collections.abc import Collection, Iterable, Mapping
from datetime import UTC, datetime
from urllib.parse import quote, unquote

from ridelog.lazy import dataclass

DETAILS = ("hills", "events", "findings", "series")
UNKNOWN_MONTH = "unknown"
LONGEST_NAME = 255  # bytes that a file system allows for the name of a folder
_ANSWERS = re.compile(r"answers/bike=([^/]+)/month=([^/]+)/([0-9a-f]{64})-([^/]+)\.parquet")
_SHARED = re.compile(r"answers/bike=([^/]+)/month=([^/]+)/merged-([0-9a-f]{16})\.parquet")


@dataclass(frozen=True)
class Entry:
    """One ride in a store, as its file's name tells it; ``shared`` is the digest in that of a file of several rides."""

    key: str
    version: str
    bike: str
    month: str
    shared: str = ""

    def path(self, folder: str) -> str:
        """Path of its file in a folder: "answers", or one of the details."""
        inner = f"{bike_folder(self.bike)}/month={self.month}/" if folder == "answers" else ""
        if self.shared and folder != "series":
            return f"{folder}/{inner}merged-{self.shared}.parquet"
        return f"{folder}/{inner}{self.key}-{quote(self.version, safe='+')}.parquet"

    def may_begin(self, since: datetime | None, until: datetime | None) -> bool:
        """Whether it may have begun at or after the one and before the other, as far as the month tells."""
        if self.month == UNKNOWN_MONTH:
            return since is None and until is None
        return (since is None or month_of(since) <= self.month) and (until is None or self.month <= month_of(until))


def bike_folder(bike: str) -> str:
    """The name of the folder of a bike's answers."""
    return f"bike={quote(bike, safe='')}"


def month_of(start: datetime | None) -> str:
    """The month in which a ride began, UTC."""
    return UNKNOWN_MONTH if start is None else start.astimezone(UTC).isoformat()[:7]


def shared_paths(paths: Iterable[str]) -> list[str]:
    """Of paths of answers, those of files that hold several rides."""
    return [path for path in sorted(paths) if _SHARED.fullmatch(path)]


def entries(paths: Iterable[str], held: Mapping[str, Collection[tuple[str, str]]]) -> dict[str, set[Entry]]:
    """All that is kept of each ride, by its key.

    Parameters
    ----------
    paths : of answers; other paths are passed over
    held : key and version of each ride in a file of several, by its path

    Returns
    -------
    Of most rides one entry; of one that was replaced, or merged, as its writer was ended, several.
    """
    found: dict[str, set[Entry]] = {}
    for path in paths:
        if match := _ANSWERS.fullmatch(path):
            bike, month, key, version = match.groups()
            found.setdefault(key, set()).add(Entry(key, unquote(version), unquote(bike), month))
        elif match := _SHARED.fullmatch(path):
            bike, month, digest = match.groups()
            for key, version in held[path]:
                found.setdefault(key, set()).add(Entry(key, version, unquote(bike), month, digest))
    return found


def latest(found: Collection[Entry]) -> Entry:
    """Of all that is kept under one key, the later version; of one version, its own file, which is written later.

    There are two where a version was replaced, or files were merged, and the work ended between the new file and the
    old one.
    """
    return max(found, key=lambda entry: (_order(entry), not entry.shared, entry.path("answers")))


def _order(entry: Entry) -> tuple[tuple[int, int, str], ...]:
    """Versions in their order: 0.9.0 before 0.10.0, and what comes before a version (0.10.0.dev1) before it."""
    parts = re.findall(r"\d+|[^\d.]+", entry.version)
    return (*((2, int(part), "") if part.isdecimal() else (0, 0, part) for part in parts), (1, 0, ""))
