"""The report of one ride, made in a process of its own: read and measured once more, as a document needs all of it."""

import contextlib
import hashlib
import shlex
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from io import BytesIO
from pathlib import Path

from ridelog.answer.ride import Answer
from ridelog.budget import within
from ridelog.errors import RidelogError, StoreError
from ridelog.fleet.store.store import open_store
from ridelog.lazy import dataclass
from ridelog.report.making import GivenFile, Making, Paper, short_names
from ridelog.report.ride.files import ride_document
from ridelog.report.ride.page import renamed
from ridelog.tell.documents import ride as words
from ridelog.tell.numbers import POINTS, STYLES, Style, typeset
from ridelog.web.jobs.measuring import NamedFile, NamedPath, Task, is_map, measure_given, named, sort_files
from ridelog.web.jobs.process import Tell
from ridelog.web.orders.order import Far, or_why_not, result
from ridelog.web.rides import Columns

FORMS = (".html", ".zip", ".pdf")  # the slowest last
DOCUMENT = "report"


@dataclass(frozen=True)
class DocumentLook:
    """How a document is to look.

    ``units`` : "metric" or "imperial" · ``numbers`` : "point" or "comma" · ``paper`` : "a4" or "letter" ·
    ``with_places`` : whether positions may be shown
    """

    units: str = "metric"
    numbers: str = "point"
    paper: Paper = "a4"
    with_places: bool = True

    @property
    def style(self) -> Style:
        """Units, digits and separators."""
        return typeset(replace(STYLES[self.units], point=POINTS[self.numbers]))

    def options(self) -> Iterator[str]:
        """The options by which the command line makes a document of this look."""
        if not self.with_places:
            yield "--no-place"
        for option, usual in (("paper", "a4"), ("units", "metric"), ("numbers", "point")):
            if (chosen := getattr(self, option)) != usual:
                yield from (f"--{option}", str(chosen))


@dataclass(frozen=True)
class Kept:
    """The files of a ride as a command would be given them, by their roles, with the bytes of the small ones."""

    logs: tuple[str, ...]
    beside: Mapping[str, tuple[str, bytes]]  # "bike" or "columns" -> name and content

    def command(self, look: DocumentLook, form: str) -> str:
        """The command that makes the document again in a folder that holds the files."""
        arguments = ["ridelog", "report", *self.logs]
        arguments += [part for option, (name, _) in self.beside.items() for part in (f"--{option}", name)]
        return shlex.join([*arguments, *look.options(), "--output", f"{DOCUMENT}{form}"])

    def given(self) -> tuple[GivenFile, ...]:
        """The small files as a document names them."""
        roles = {"bike": "bike file", "columns": "column map"}
        return tuple(
            GivenFile(name, roles[option], hashlib.sha256(content).hexdigest())
            for option, (name, content) in self.beside.items()
        )


def report_made(task: Task, look: DocumentLook, folder: Path, tell: Tell) -> Sequence[bytes]:
    """Make the report of a ride in every form.

    Parameters
    ----------
    task : its files
    look : of the documents
    folder : that they are written to
    tell : to whoever waits

    Returns
    -------
    Messages: its title, the forms that could not be made with the reason, or the lines that say why there is none.
    """

    def work() -> Sequence[bytes]:
        with contextlib.ExitStack() as opened, within():
            tell(Far("measuring").message())
            given = sort_files([_opened(each, opened) for each in task.files], task.corrections)
            answer, columns = measure_given(given)
            kept = kept_files(task, columns)
        return _written(answer, kept, look, folder, tell)

    return or_why_not(work, folder, tell)


def kept_report_made(address: str, key: str, look: DocumentLook, folder: Path, tell: Tell) -> Sequence[bytes]:
    """Make the report of a ride of a store in every form, without a command: its files may be elsewhere by now.

    Parameters
    ----------
    address : of the store
    key : of the ride
    look : of the documents
    folder : that they are written to
    tell : to whoever waits

    Returns
    -------
    As `report_made`.
    """

    def work() -> Sequence[bytes]:
        tell(Far("reading").message())
        store = open_store(address)
        answer = store.answer(key)
        with contextlib.suppress(StoreError):  # it is kept without
            answer = replace(answer, series=store.series(key))
        names = short_names([path for source in answer.sources for path in source.path.split(" + ")])
        return _written(renamed(answer, names), None, look, folder, tell)

    return or_why_not(work, folder, tell)


def _written(answer: Answer, kept: Kept | None, look: DocumentLook, folder: Path, tell: Tell) -> Sequence[bytes]:
    missing: dict[str, list[str]] = {}
    for done, form in enumerate(FORMS):
        tell(Far("writing", done, len(FORMS)).message())
        making = Making(
            style=look.style,
            paper=look.paper,
            with_places=look.with_places,
            command=None if kept is None else kept.command(look, form),
            given=() if kept is None else kept.given(),
        )
        try:
            (folder / f"{DOCUMENT}{form}").write_bytes(ride_document(answer, making, form))
        except RidelogError as error:  # a library that this form takes is not there
            missing[form] = error.lines()
    return result(tell, folder, title=words.title(answer), missing=missing)


def _opened(file: NamedPath, opened: contextlib.ExitStack) -> NamedFile:
    name, path = file
    if name.lower().endswith(".toml"):
        return named(name, path.read_bytes())
    return name, opened.enter_context(path.open("rb"))


def kept_files(task: Task, columns: Sequence[Columns]) -> Kept | None:
    """The files as a command would be given them; ``None`` where none would read them as the page did."""
    logs = tuple(name for name, _ in task.files if not name.lower().endswith(".toml"))
    beside: dict[str, tuple[str, bytes]] = {}
    for name, path in task.files:
        if name.lower().endswith(".toml"):
            content = path.read_bytes()
            beside["columns" if is_map(name, BytesIO(content)) else "bike"] = (name, content)
    said = {each.header: task.corrections[each.header] for each in columns if each.header in task.corrections}
    if len(said) > 1 or (said and "columns" in beside) or len(set(logs)) < len(logs):
        return None
    if said:
        beside["columns"] = ("columns.toml", next(iter(said.values())).encode())
    return Kept(logs, {option: beside[option] for option in ("bike", "columns") if option in beside})
