"""What is measured for the page: the files of one ride, told apart, read once each, and answered or refused."""

import contextlib
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import field
from io import BytesIO
from pathlib import Path
from typing import TYPE_CHECKING, BinaryIO

from ridelog.answer.ride import Answer
from ridelog.errors import BikeFileError, ColumnMapError, InputError, RidelogError
from ridelog.lazy import dataclass
from ridelog.settings.toml_files import is_column_map
from ridelog.tell.refusals import commands as refusals
from ridelog.web.rides import Columns, ShownRide, header_key, shown_ride

if TYPE_CHECKING:
    from ridelog.importers.registry import ReadLog
    from ridelog.recording import Recording, Ride
    from ridelog.settings.column_map import ColumnMap

NamedFile = tuple[str, BinaryIO]
NamedPath = tuple[str, Path]
Corrections = Mapping[str, str]  # by `header_key`: a column map, as TOML


@dataclass(frozen=True)
class Task:
    """The files of one ride to be measured.

    Attributes
    ----------
    files : names for people, and paths; a bike file and a column map among them
    corrections : what visitors said of logs with a certain header
    """

    files: tuple[NamedPath, ...]
    corrections: Corrections = field(default_factory=dict)

    @property
    def names(self) -> tuple[str, ...]:
        """What its files are called."""
        return tuple(name for name, _ in self.files)


@dataclass(frozen=True)
class Given:
    """What a visitor gave: logs, and perhaps a bike file, a column map, and corrections by header."""

    logs: tuple[NamedFile, ...]
    bike: NamedFile | None = None
    columns: NamedFile | None = None
    corrections: Corrections = field(default_factory=dict)


Measure = Callable[[Given], tuple[Answer, tuple[Columns, ...]]]


class UnclearLogError(InputError):
    """A log that leaves a question open, or whose times or values are not believed.

    ``columns`` is how far the logs of the ride were understood, that log's first, with the map that answers it.
    """

    def __init__(self, refusal: InputError, columns: tuple[Columns, ...]) -> None:
        super().__init__(refusal.source, refusal.what, place=refusal.place, hint=refusal.hint)
        self.columns = columns


def measure_given(
    given: Given, answer_to: "Callable[[Ride], Answer] | None" = None
) -> tuple[Answer, tuple[Columns, ...]]:
    """Read each log once and measure; returns the answer and how each log's columns were understood.

    Parameters
    ----------
    given : what a visitor gave
    answer_to : gives the answer to the ride; `ridelog.measure` by default

    Raises
    ------
    UnclearLogError : a log cannot be used, but its columns can be shown
    RidelogError : the files cannot be read
    """
    import ridelog

    recordings, shown, known = read_recordings(given)
    try:
        ride = ridelog.load_ride(recordings, bike=given.bike[1] if given.bike else None, columns=known)
        return (answer_to or ridelog.measure)(ride), shown
    except (BikeFileError, ColumnMapError):
        raise
    except InputError as error:
        raise UnclearLogError(error, shown) from error


def read_recordings(given: Given) -> "tuple[list[Recording], tuple[Columns, ...], ColumnMap | None]":
    """Read each log once; returns the recordings, how their columns were understood, and the column map given.

    Raises
    ------
    UnclearLogError : a log cannot be used, but its columns can be shown
    RidelogError : the files cannot be read
    """
    from ridelog.settings.column_map import read_map

    known = read_map(given.columns[1]) if given.columns else None
    logs = [log for name, content in given.logs for log in _read(name, content, known, given.corrections)]
    read = [_columns(log) for log in logs]
    for log, understood in zip(logs, read, strict=True):
        if log.refusal is not None:
            raise UnclearLogError(log.refusal, (understood, *(other for other in read if other is not understood)))
    return [log.required() for log in logs], tuple(each for each in read if each.readings), known


def _columns(log: "ReadLog") -> Columns:
    report = log.report
    return Columns(report.name, report.readings, report.questions, report.to_toml(), log.seen())


def _read(name: str, content: BinaryIO, known: "ColumnMap | None", corrections: Corrections) -> "list[ReadLog]":
    """The logs of a file; once more where somebody corrected columns under the same header."""
    from ridelog.importers.registry import read_logs
    from ridelog.settings.column_map import ColumnMap, LogSettings, read_map

    logs = read_logs(content, name=name, columns=known)
    texts = [corrections.get(header_key(log.report.readings)) for log in logs]
    said = [read_map(BytesIO(text.encode())) for text in texts if text]
    if not said:
        return logs
    entries = {entry.header: entry for part in (known, *said) if part is not None for entry in part.column}
    written = {key: value for part in (known, *said) if part for key, value in part.log.model_dump().items() if value}
    content.seek(0)
    columns = ColumnMap(log=LogSettings(**written), column=tuple(entries.values()))
    return read_logs(content, name=name, columns=columns)


@contextlib.contextmanager
def opened_files(task: Task) -> Iterator[list[NamedFile]]:
    """The files of a task, open; small tables know the name that the visitor gave them, which messages show."""
    with contextlib.ExitStack() as opened:
        yield [
            named(name, path.read_bytes())
            if name.lower().endswith(".toml")
            else (name, opened.enter_context(path.open("rb")))
            for name, path in task.files
        ]


def sort_files(files: Sequence[NamedFile], corrections: Corrections | None = None) -> Given:
    """Tell logs, bike file and column map apart: a ``.toml`` with ``[[column]]`` or ``[log]`` is the map.

    Parameters
    ----------
    files : names and contents
    corrections : of columns, by header

    Returns
    -------
    The same, told apart.

    Raises
    ------
    InputError : two of one kind, no log among them, or TOML that cannot be read
    """
    logs: list[NamedFile] = []
    tables: dict[str, NamedFile] = {}
    for name, content in files:
        if not name.lower().endswith(".toml"):
            logs.append((name, content))
            continue
        kind = "columns" if is_map(name, content) else "bike"
        if kind in tables:
            raise refusals.second_table(name, tables[kind][0], is_map=kind == "columns")
        tables[kind] = (name, content)
    if not logs:
        raise refusals.no_log_given([name for name, _ in files])
    return Given(tuple(logs), tables.get("bike"), tables.get("columns"), corrections or {})


def is_map(name: str, content: BinaryIO) -> bool:
    """Whether a TOML file is a column map; it is rewound.

    Raises
    ------
    InputError : it is not TOML
    """
    known = is_column_map(content, name)
    content.seek(0)
    return known


def read_files(files: Sequence[NamedFile], measure: Measure, corrections: Corrections | None = None) -> ShownRide:
    """The visitor's files as a ride to show, or as the lines that say why not.

    Parameters
    ----------
    files : names and contents
    measure : from given files to an answer
    corrections : of columns, by header

    Returns
    -------
    The ride.
    """
    names = tuple(name for name, _ in files)
    try:
        answer, columns = measure(sort_files(files, corrections))
    except UnclearLogError as error:
        return ShownRide("Your files", error_lines=tuple(error.lines()), columns=error.columns, files=names)
    except RidelogError as error:
        return ShownRide("Your files", error_lines=tuple(error.lines()), files=names)
    return shown_ride(answer, title=answer.ride.name or "Your ride", columns=columns, files=names)


def named(name: str, content: bytes) -> NamedFile:
    """A file that knows its name, which messages about bike files and column maps show."""
    file = BytesIO(content)
    file.name = name
    return name, file
