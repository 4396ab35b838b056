"""A small input is looked at, read and told, and what is written of it is read back; nothing is measured."""

import atexit
import gzip
import io
import json
import tempfile
from collections.abc import Callable
from dataclasses import replace
from datetime import datetime
from functools import cache, partial
from pathlib import Path
from unittest.mock import patch

import numpy as np

from ridelog.console.columns import print_columns
from ridelog.errors import RidelogError
from ridelog.fleet.folders import BIKE_FILE, find_rides
from ridelog.fleet.look import Look
from ridelog.importers.delimited import peek as delimited_peek
from ridelog.importers.peek import Peek
from ridelog.importers.registry import peek, read_logs
from ridelog.importers.report import ReadLog
from ridelog.recording import Recording
from ridelog.settings.bike import read_bike
from ridelog.settings.column_map import ColumnMap, read_map
from ridelog.settings.hill_names import read_hill_names, write_hill_name
from ridelog.settings.manifest import read_manifest
from ridelog.settings.toml_edit import with_values
from ridelog.tell import tables
from ridelog.tell.findings import sentence as finding_sentence
from ridelog.tell.numbers import METRIC
from ridelog.web.parts.reading.columns import column_editor
from ridelog.web.parts.reading.sources import column_table
from ridelog.web.rides import Columns
from tests.fuzz.case import Case
from tests.fuzz.checks import Wrong, encoder
from tests.fuzz.readers.cases import small_case

_MEMORY = "/dev/shm" if Path("/dev/shm").is_dir() else None  # where writing through to a disk costs nothing
ENDS_BYTES = 400  # of either block where a log is looked at as a large one is
ENDS_EACH = 4  # by size, one of so many is
DRAWN_EACH = 20  # by number, one of so many reports is drawn as a terminal shows it, and its map read back


@cache
def warm_readers() -> None:
    """Load what is loaded once, so that it is not taken for what an input needs."""
    table = b"time [s],battery current [A],battery voltage [V],speed [km/h]\n"
    table += b"".join(b"%d,%d.5,48.%d,%d\n" % (row, row % 9 - 3, row % 10, 20 + row % 5) for row in range(30))
    for name, content in (("a.csv", table), ("a.csv.gz", gzip.compress(table))):
        read_and_told(Case(0, "log", ((name, content),), columns=b""))
    for kind in ("gpx", "fit"):
        for seed in range(8):
            _refused_or_not(partial(read_and_told, replace(small_case(seed, kind), seed=0)))
    read_and_told(Case(0, "bike", bike=b"[bike]\ntotal_mass_kg = 90\n"))
    read_and_told(Case(0, "hills", (("hills.toml", b"[hill]\n"),)))
    atexit.register(_folder().cleanup)


def read_and_told(case: Case) -> None:
    """Look, read and tell; what is raised tells how it ended."""
    if case.kind == "manifest":
        _manifest(_written(case.files[0]))
    elif case.kind == "hills":
        _hills(_written(case.files[0]))
    elif case.kind == "bike":
        _bike(case.bike or b"")
    else:
        columns = read_map(io.BytesIO(case.columns)) if case.columns is not None else None
        for name, content in case.files:
            _log(name, content, columns, drawn=case.seed % DRAWN_EACH == 0)


def _log(name: str, content: bytes, columns: ColumnMap | None, *, drawn: bool) -> None:
    looked = _looked_at(name, content)
    if len(content) % ENDS_EACH == 0:
        with patch.object(delimited_peek, "_BLOCK_BYTES", ENDS_BYTES):
            _looked_at(name, content)
    logs = read_logs(io.BytesIO(content), name=name, columns=columns)
    if columns is None and all(log.recording for log in logs):
        if isinstance(looked, RidelogError):
            raise Wrong(f"a look refuses what can be read: {type(looked).__name__}")
        for shown, log in zip(looked, logs, strict=True):
            _confirmed(shown, log.required())
    for log in logs:
        _told(log, drawn=drawn)
        if drawn:
            _back(name, content, log, logs)


def _looked_at(name: str, content: bytes) -> list[Peek] | RidelogError:
    """What a look shows, or why it is refused."""
    try:
        return peek(io.BytesIO(content), name=name)
    except RidelogError as error:
        error.lines()
        return error


def _confirmed(shown: Peek, read: Recording) -> None:
    """What a look shows, reading confirms; what it does not show may be anything."""
    confirmed = {
        "clock": shown.clock in (None, read.clock),
        "start": shown.start is None or _same_second(shown.start, read.start),
        "end": shown.end is None or _same_second(shown.end, read.end),
        "role": shown.role in (None, read.role),
        "n_samples": shown.n_samples in (None, len(read.frame)),
    }
    if wrong := [name for name, is_so in confirmed.items() if not is_so]:
        raise Wrong(f"a look at {shown.format} shows what reading does not confirm: {wrong[0]}")


def _same_second(one: datetime, other: datetime | None) -> bool:
    return other is not None and abs((one - other).total_seconds()) <= 1


def _refused_or_not(asked: Callable[[], object]) -> RidelogError | None:
    try:
        asked()
    except RidelogError as error:
        return error
    return None


def _told(log: ReadLog, *, drawn: bool) -> None:
    """Each column in words, what was found, and its glimpse; lines that a terminal may have."""
    report = log.report
    said = [str(cell) for row in tables.column_readings(report.readings).rows for cell in row]
    said += [*report.facts, report.clock, *report.questions]
    said += [finding_sentence(finding, METRIC) for finding in report.findings]
    if log.recording is not None:
        _held(log.recording)
        said += [finding_sentence(finding, METRIC) for finding in log.recording.findings]
    for glimpse in log.seen():
        if any(value is not None and not np.isfinite(value) for value in glimpse.values):
            raise Wrong("a glimpse of a column is no number")
    if log.refusal is not None:
        log.refusal.lines()
    if drawn:
        out = io.StringIO()
        print_columns(report, out)
        text = out.getvalue()
        if any(not letter.isprintable() and not letter.isspace() for letter in text):
            raise Wrong("columns are told in letters that a terminal obeys")
        _on_the_page(log)


def _on_the_page(log: ReadLog) -> None:
    """The table of the columns, each with its picture, and the lists to correct them by."""
    report = log.report
    columns = Columns(report.name, report.readings, report.questions, report.to_toml(), log.seen())
    for part in (*column_table(columns), column_editor("1", columns, corrected=False)):
        json.dumps(part, cls=encoder())


def _held(recording: Recording) -> None:
    """What every recording is: times that increase, and channels with a value, none of them endless."""
    times = recording.frame.index.to_numpy(dtype=float)
    if len(times) == 0 or not np.isfinite(times).all() or (np.diff(times) <= 0).any():
        raise Wrong("the times of a recording do not increase")
    values = recording.frame.to_numpy(dtype=float)
    if np.isinf(values).any():
        raise Wrong("a recording holds what has no end")


def _back(name: str, content: bytes, log: ReadLog, logs: list[ReadLog]) -> None:
    """The map that is written of a log is read, and the log is read by it as it was."""
    written = log.report.to_toml()
    columns = read_map(io.BytesIO(written.encode()))
    if log.recording is None or len(logs) > 1 or log.recording.format != "csv" or log.report.open_headers:
        return
    again = read_logs(io.BytesIO(content), name=name, columns=columns)[0]
    if again.recording is None or list(again.recording.frame) != list(log.recording.frame):
        raise Wrong("a log is read otherwise by its own map")


def _bike(content: bytes) -> None:
    read_bike(io.BytesIO(content), name="bike.toml")
    text = content.decode("utf-8")
    written = with_values(text, {"bike": {"total_mass_kg": 100.0}, "road": {"crr": 0.008}})
    bike = read_bike(io.BytesIO(written.encode()), name="bike.toml")
    if (bike.bike.total_mass_kg, bike.road.crr) != (100.0, 0.008):
        raise Wrong("a bike file does not say what was written into it")


def _manifest(path: Path) -> None:
    """It is read, and said of a folder with two logs; a look at these shows nothing, which costs nothing."""
    for name in ("a.csv", "b.gpx", BIKE_FILE):
        (path.parent / name).touch()
    read_manifest(path)
    found = find_rides([path.parent], None, lambda paths: [Look(each, each.name) for each in paths])
    for error in found.failed:
        if len(error.lines()) > 2 or any("\n" in line for line in error.lines()):
            raise Wrong("a folder is refused in more than two lines")


def _hills(path: Path) -> None:
    before = read_hill_names(path)
    write_hill_name(path, "3f2a91c0", 'Mill "Lane"')
    if read_hill_names(path) != before | {"3f2a91c0": 'Mill "Lane"'}:
        raise Wrong("names of hills do not say what was written into them")
    write_hill_name(path, "3f2a91c0", "")
    if read_hill_names(path) != {road: name for road, name in before.items() if road != "3f2a91c0"}:
        raise Wrong("a name of a hill is not taken back")


@cache
def _folder() -> tempfile.TemporaryDirectory[str]:
    return tempfile.TemporaryDirectory(prefix="ridelog-fuzz-", dir=_MEMORY)


def _written(file: tuple[str, bytes]) -> Path:
    path = Path(_folder().name) / "x" / file[0]
    path.parent.mkdir(exist_ok=True)
    path.write_bytes(file[1])
    return path
