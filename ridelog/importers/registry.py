"""Files to recordings: every importer is asked whether a file is its own; none has priority.

An importer is a module with ``FORMAT`` (its short name), ``LOOKED_FOR`` (what it looks for, in words),
``recognises(content, name)`` (cheap, by content), ``peek(window)`` (a look, for sorting many files),
``read_log(content, name, sha256, columns)``, which ends in `ridelog.recording.checked`, and ``report_on(log, columns)``
for its report alone. Its reader of the format is imported when something is read, not before.
"""

from __future__ import annotations

from dataclasses import replace
from importlib import import_module
from typing import TYPE_CHECKING, BinaryIO, Protocol, cast

from ridelog.errors import NotRecognisedError
from ridelog.findings import Finding
from ridelog.importers.unpack import DEFAULT_BOUNDS, Bounds, Unpacked, Window, unpacked, windows
from ridelog.tell.refusals import files

if TYPE_CHECKING:
    from pathlib import Path

    from ridelog.importers.peek import Peek
    from ridelog.importers.report import ColumnReport, ReadLog
    from ridelog.recording import Recording
    from ridelog.settings.column_map import ColumnMap

__all__ = [
    "Bounds",
    "ColumnReport",
    "Importer",
    "Peek",
    "ReadLog",
    "Unpacked",
    "explain",
    "importers",
    "peek",
    "read",
    "read_logs",
    "unpacked",
]

_MODULES = ("gpx", "fit", "delimited.read")
_HEAD_BYTES = 65_536 + 1  # what importers look at to know a file, and one byte that says that there is more
_N_SHOWN = 40  # first bytes of an unknown file that a message shows


class Importer(Protocol):
    """What the module of one format offers."""

    FORMAT: str
    LOOKED_FOR: str

    def recognises(self, content: bytes, name: str) -> bool:
        """Whether the file is this importer's own."""

    def peek(self, window: Window) -> Peek:
        """What a look shows of a file that is this importer's own; an `InputError` only where `read_log` raises one."""

    def read_log(self, content: bytes, name: str, sha256: str, columns: ColumnMap | None) -> ReadLog:
        """The whole file, read once: its recording and the report on its columns.

        Parameters
        ----------
        content : the file, unpacked
        name : what to call it in messages
        sha256 : of the bytes as given
        columns : what the user says about its columns

        Returns
        -------
        The recording, or why there is none, and the report.

        Raises
        ------
        InputError : it cannot be read
        """

    def report_on(self, log: Unpacked, columns: ColumnMap | None) -> ColumnReport:
        """The report on the columns alone, as `read_log` gives it, with the same errors."""


def importers() -> list[Importer]:
    """All importers; loading them loads no third-party reader."""
    return [cast("Importer", import_module(f"ridelog.importers.{module}")) for module in _MODULES]


def read_logs(
    source: str | Path | BinaryIO,
    *,
    name: str | None = None,
    columns: ColumnMap | None = None,
    bounds: Bounds = DEFAULT_BOUNDS,
) -> list[ReadLog]:
    """Read one file, or each member of one archive, for its recording and for the report on its columns alike.

    Parameters
    ----------
    source : path, or a file open for binary reading; gzip or zip compressed or not
    name : what to call it in messages; by default the path as given
    columns : the user's own understanding of a log's columns
    bounds : how much the file may hold

    Returns
    -------
    one entry a log. What an archive holds beside its logs (a readme, a picture) is named in a finding of the
    first recording. A log with an open question has a report and no recording.

    Raises
    ------
    NotRecognisedError : no importer takes it for its own
    InputError : it cannot be opened, unpacked or read, or two importers claim it
    """
    owners = _owners(unpacked(source, name=name, bounds=bounds))
    logs = [owner.read_log(log.content, log.name, log.sha256, columns) for log, owner in owners if owner is not None]
    strangers = [log for log, owner in owners if owner is None]
    if not logs:
        raise _not_recognised(strangers)
    first = next((place for place, log in enumerate(logs) if log.recording), None)
    if strangers and first is not None:
        names = tuple(log.name for log in strangers)
        finding = Finding("member-not-recognised", "note", {"files": names})
        recording = logs[first].required()
        logs[first] = replace(logs[first], recording=replace(recording, findings=(*recording.findings, finding)))
    return logs


def read(
    source: str | Path | BinaryIO,
    *,
    name: str | None = None,
    columns: ColumnMap | None = None,
    bounds: Bounds = DEFAULT_BOUNDS,
) -> list[Recording]:
    """The recordings of one file, or of each member of one archive, each on its own clock.

    Parameters
    ----------
    source, name, columns, bounds : as for `read_logs`

    Returns
    -------
    In the order of the members.

    Raises
    ------
    NotRecognisedError : no importer takes it for its own
    InputError : as for `read_logs`, or a log cannot be used
    ColumnQuestionError : its columns can be understood in more than one way
    """
    return [log.required() for log in read_logs(source, name=name, columns=columns, bounds=bounds)]


def peek(source: str | Path | BinaryIO, *, name: str | None = None, bounds: Bounds = DEFAULT_BOUNDS) -> list[Peek]:
    """Look into one file, or each member of one archive, without reading it as a ride.

    Of a text log the first and the last block are read, whatever its size; GPX and FIT files are read, without
    recordings being made of them. Archives are unpacked, within the bounds.

    Parameters
    ----------
    source : path, or a file open for binary reading; gzip or zip compressed or not
    name : what to call it in messages; by default the path as given
    bounds : how much the file may hold

    Returns
    -------
    one entry a log; members that are no recording are passed over

    Raises
    ------
    NotRecognisedError : no importer takes it for its own
    InputError : it cannot be opened or unpacked, or what was looked at cannot be read
    """
    with windows(source, name=name, bounds=bounds) as logs:
        heads = [Unpacked(log.name, log.part(0, _HEAD_BYTES), "") for log in logs]
        owners = _owners(heads)
        peeks = [owner.peek(log) for log, (_, owner) in zip(logs, owners, strict=True) if owner is not None]
    if not peeks:
        raise _not_recognised(heads)
    return peeks


def explain(
    source: str | Path | BinaryIO,
    *,
    name: str | None = None,
    columns: str | Path | BinaryIO | ColumnMap | None = None,
    bounds: Bounds = DEFAULT_BOUNDS,
) -> list[ColumnReport]:
    """How each column, or each field, of each log in a file is understood.

    Parameters
    ----------
    source, name, bounds : as for `read_logs`
    columns : the user's own understanding, or its file

    Returns
    -------
    In the order of the members.

    Raises
    ------
    InputError : as for `read_logs`
    """
    known_map = _map_of(columns)
    owners = _owners(unpacked(source, name=name, bounds=bounds))
    owned = [(log, owner) for log, owner in owners if owner is not None]
    if not owned:
        raise _not_recognised([log for log, _ in owners])
    return [owner.report_on(log, known_map) for log, owner in owned]


def _map_of(columns: str | Path | BinaryIO | ColumnMap | None) -> ColumnMap | None:
    """The map, read where it is a file; what reads one is loaded only then."""
    if columns is None:
        return None
    from ridelog.settings.column_map import ColumnMap, read_map

    return columns if isinstance(columns, ColumnMap) else read_map(columns)


def _owners(logs: list[Unpacked]) -> list[tuple[Unpacked, Importer | None]]:
    """Each log with the importer that takes it. A text beside other files is taken for its table, not for its name."""
    alone = len(logs) == 1
    return [(log, _owner(log, "" if not alone and log.name.lower().endswith(".txt") else log.name)) for log in logs]


def _owner(log: Unpacked, name: str) -> Importer | None:
    """The one importer that takes the log for its own."""
    claimants = [importer for importer in importers() if importer.recognises(log.content, name)]
    if len(claimants) > 1:
        raise files.claimed_twice(log.name, [importer.FORMAT for importer in claimants])
    return claimants[0] if claimants else None


def _not_recognised(strangers: list[Unpacked]) -> NotRecognisedError:
    first = strangers[0]
    looked_for = [importer.LOOKED_FOR for importer in importers()]
    return files.not_recognised(first.name, files.first_bytes(first.content, _N_SHOWN), len(strangers) - 1, looked_for)
