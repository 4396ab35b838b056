"""The command ``ridelog report``: the document of a ride or of a comparison, for somebody who was not there."""

import argparse
import hashlib
import shlex
from collections.abc import Iterator, Mapping
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import IO, TYPE_CHECKING, Any, cast

from ridelog.budget import within
from ridelog.cli.given import check_target, load, progress
from ridelog.destination import put_whole, refuse_unwritable, refuse_unwritable_folder, written_whole
from ridelog.errors import Exit, printable
from ridelog.lazy import dataclass
from ridelog.tell import commands as words
from ridelog.tell.refusals import commands as refusals
from ridelog.there import is_folder, is_there

if TYPE_CHECKING:
    from typing import TextIO

    from ridelog.report.making import GivenFile, Making

FORMS = (".html", ".pdf", ".zip")
CHARTS = ("profile", "power", "map", "ledger", "differences", "rides-recovered", "rides-captured", "rides-net")
FIGURES = tuple(f"{name}.{form}" for name in CHARTS for form in ("svg", "png"))
ROLES = {"bike": "bike file", "columns": "column map"}


def add_report(commands: Any, files_help: str, units: tuple[str, ...]) -> None:
    """The command's parser among those of the others.

    Parameters
    ----------
    commands : of argparse
    files_help : what FILE may be
    units : that there are
    """
    report = commands.add_parser("report", help="a document of a ride or a comparison to hand over: HTML, PDF, zip")
    report.add_argument("files", nargs="*", metavar="FILE", help=files_help)
    report.add_argument(
        "--group",
        action="append",
        metavar="NAME=PATH",
        help="of a comparison, instead of FILE: two groups or more, each a folder, a file or rides of a store",
    )
    report.add_argument("--bike", metavar="BIKE.toml", help="what you know about bike, battery, sensor and road")
    report.add_argument("--columns", metavar="MAP.toml", help="how the columns of a log are to be read")
    report.add_argument("--output", metavar="FILE", required=True, help="an .html, .pdf or .zip (with every table)")
    report.add_argument("--figures", metavar="FOLDER", help="put the charts there as well, as SVG and PNG")
    report.add_argument("--no-place", action="store_true", help="leave out the map and every position")
    report.add_argument("--paper", choices=("a4", "letter"), default="a4", help="to print on (default: %(default)s)")
    report.add_argument("--units", choices=units, default="metric", help="what people read (default: %(default)s)")
    report.add_argument(
        "--numbers", choices=("point", "comma"), default="point", help="the decimal sign (default: %(default)s)"
    )
    report.add_argument("--date", type=_day, metavar="YYYY-MM-DD", help="a date to put on the document")
    report.add_argument("--force", action="store_true", help="replace files that are there")


def _day(text: str) -> date:
    try:
        return date.fromisoformat(text)
    except ValueError as error:
        raise argparse.ArgumentTypeError(refusals.no_day(text)) from error


def run_report(arguments: argparse.Namespace, out: IO[str], err: IO[str]) -> Exit:
    """Make the document.

    Parameters
    ----------
    arguments : as parsed
    out, err : streams; nothing is written to ``out``

    Returns
    -------
    The exit status.
    """
    del out
    if bool(arguments.files) == bool(arguments.group):
        raise refusals.files_or_groups()
    given = [path for path in (*arguments.files, arguments.bike, arguments.columns) if path is not None]
    check_target(arguments.output, given, "--output", force=arguments.force)
    form = Path(arguments.output).suffix.lower()
    if form not in FORMS:
        raise refusals.unknown_form(arguments.output, form, FORMS)
    if form == ".pdf":
        from ridelog.report.pdf import layout

        layout()  # or it would be missed after all the work
    if arguments.figures is not None:
        _check_figures(arguments.figures, force=arguments.force)
    if arguments.group:
        made = _of_comparison(arguments, form, err)  # whose rides are bounded one by one
    else:
        with within(err=err):
            made = _of_ride(arguments, form, err)
    with written_whole(arguments.output) as stream:
        cast("TextIO", stream).buffer.write(made.content)
    if made.figures:
        try:
            put_whole({Path(arguments.figures) / name: picture for name, picture in made.figures.items()})
        except OSError as error:
            raise refusals.cannot_write(arguments.figures, error) from error
    for written in (arguments.output, arguments.figures):
        if written:
            print(words.written(printable(written)), file=err)
    return Exit.DANGER if made.danger else Exit.OK


@dataclass(frozen=True)
class _Made:
    """A document, its figures where they were asked for, and whether it tells of a danger."""

    content: bytes
    figures: Mapping[str, bytes]
    danger: bool


def _of_ride(arguments: argparse.Namespace, form: str, err: IO[str]) -> _Made:
    ride = load(arguments, err)
    with progress(err, "measuring"):
        from ridelog import measure

        answer = measure(ride)
    with progress(err, "writing"):
        from ridelog.report.making import short_names
        from ridelog.report.ride.files import ride_document, ride_figures
        from ridelog.report.ride.page import renamed

        names = short_names([path for path in (*arguments.files, arguments.bike, arguments.columns) if path])
        answer, making = renamed(answer, names), _making(arguments, names)
        content = ride_document(answer, making, form)
        figures = ride_figures(answer, making) if arguments.figures else {}
    return _Made(content, figures, any(finding.severity == "danger" for finding in answer.findings))


def _of_comparison(arguments: argparse.Namespace, form: str, err: IO[str]) -> _Made:
    from ridelog.compare.comparison import comparison_of
    from ridelog.compare.groups import compared
    from ridelog.compare.places import Query, group_place
    from ridelog.console.progress import progress_on
    from ridelog.report.comparison.files import comparison_document, comparison_figures
    from ridelog.report.making import short_names

    if arguments.columns:
        raise refusals.not_with_groups("--columns")
    places = [group_place(text) for text in arguments.group]
    bike = None if arguments.bike is None else Path(arguments.bike)
    with progress_on(err) as told:
        rides = compared(places, bike=bike, told=told)
    found = comparison_of(rides)
    paths = [
        text.partition("=")[2] if isinstance(place.place, Path) else place.place.address
        for text, place in zip(arguments.group, places, strict=True)
        if isinstance(place.place, Path) or (isinstance(place.place, Query) and "://" not in place.place.address)
    ]
    names = short_names([path for path in (*paths, arguments.bike) if path])
    making = _making(arguments, names)
    content = comparison_document(found, making, rides.rides, form)
    figures = comparison_figures(found, making, rides.rides) if arguments.figures else {}
    return _Made(content, figures, any(finding.severity == "danger" for finding in found.findings))


def _check_figures(folder: str, *, force: bool) -> None:
    """Refuse before the work is done a folder that would not take the figures, or holds some that nobody gave up."""
    if not folder:
        raise refusals.no_target("--figures")
    if is_folder(folder):
        for name in FIGURES:
            check_target(str(Path(folder) / name), [], "--figures", force=force)
    elif is_there(folder):
        refuse_unwritable(folder)
        raise refusals.no_folder(folder, folder)
    refuse_unwritable_folder(folder)


def _making(arguments: argparse.Namespace, names: dict[str, str]) -> "Making":
    from ridelog.report.making import Making
    from ridelog.tell.numbers import POINTS, STYLES, typeset

    style = typeset(replace(STYLES[arguments.units], point=POINTS[arguments.numbers]))
    return Making(
        style=style,
        paper=arguments.paper,
        with_places=not arguments.no_place,
        command=shlex.join(["ridelog", "report", *_again(arguments, names)]),
        given=tuple(_given(arguments, names)),
        dated=arguments.date,
    )


def _again(arguments: argparse.Namespace, names: dict[str, str]) -> Iterator[str]:
    """The arguments by which the document is made again in a folder that holds the files."""
    for group in arguments.group or ():
        name, _, path = group.partition("=")
        address, mark, asked = path.partition("?")  # of a store, whose folders tell nothing either
        called = names.get(path) or f"{names.get(address, address)}{mark}{asked}"
        yield from ("--group", f"{name}={called}")
    yield from (names[path] for path in arguments.files)
    for option in ("bike", "columns"):
        if path := getattr(arguments, option):
            yield from (f"--{option}", names[path])
    if arguments.no_place:
        yield "--no-place"
    for option, usual in (("paper", "a4"), ("units", "metric"), ("numbers", "point"), ("date", None)):
        if (chosen := getattr(arguments, option)) != usual:
            yield from (f"--{option}", str(chosen))
    yield from ("--output", Path(arguments.output).name)


def _given(arguments: argparse.Namespace, names: dict[str, str]) -> Iterator["GivenFile"]:
    from ridelog.report.making import GivenFile

    for option, role in ROLES.items():
        if path := getattr(arguments, option):
            yield GivenFile(names[path], role, hashlib.sha256(Path(path).read_bytes()).hexdigest())
