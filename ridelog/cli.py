"""Arguments -> the same functions that Python users call -> standard output.

Data goes to standard output, messages and progress to standard error. Heavy modules are imported by the command
that needs them, so that ``--help`` answers at once.
"""

from __future__ import annotations

import argparse
import contextlib
import io
import os
import re
import sys
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path
from typing import IO, TYPE_CHECKING, Any, NoReturn, cast

from ridelog import __version__
from ridelog.budget import within
from ridelog.destination import Outlet, refuse_unwritable, written_whole
from ridelog.errors import Exit, RidelogError, printable
from ridelog.tell import commands as words
from ridelog.tell.refusals import commands as refusals

if TYPE_CHECKING:
    from ridelog.answer.ride import Answer
    from ridelog.importers.registry import ColumnReport
    from ridelog.recording import Ride

TRACEBACK = "RIDELOG_TRACEBACK"  # set, a fault of ridelog itself is shown with its place
TABLES = ("events", "hills", "samples", "ledger", "bands")
UNITS = ("metric", "imperial")
MOST_WORKERS = 512
AUDIT_FORMS = (".json", ".csv", ".parquet", ".html")
# what JSON leaves unescaped and a terminal may obey, or a reader not see: C1 controls, marks of direction, separators
UNSEEN = re.compile("[\x7f-\x9f\u200b-\u200f\u2028-\u202e\u2060-\u206f\ufeff]")
FILES_HELP = "GPX, FIT or delimited logs of one ride; a bike file or a column map among them is taken as such"


class _Parser(argparse.ArgumentParser):
    """A parser that raises instead of ending the process."""

    def error(self, message: str) -> NoReturn:
        raise refusals.unknown_usage(message, self.prog)


class _Command(_Parser):
    """A parser of one command, which says itself what it does not know."""

    def parse_known_args(self, args: Any = None, namespace: Any = None) -> tuple[Any, list[str]]:
        known, unknown = super().parse_known_args(args, namespace)
        if unknown:
            self.error(f"unrecognized arguments: {' '.join(unknown)}")
        return known, unknown


def _parser() -> _Parser:
    parser = _Parser(
        prog="ridelog",
        description="How much energy regenerative braking really gave back, from the ride's own logs.",
    )
    parser.add_argument("--version", action="version", version=f"ridelog {__version__}")
    commands = parser.add_subparsers(dest="command", metavar="COMMAND", required=True, parser_class=_Command)

    measure = commands.add_parser("measure", help="measure one ride from its logs")
    measure.add_argument("files", nargs="+", metavar="FILE", help=FILES_HELP)
    measure.add_argument("--bike", metavar="BIKE.toml", help="what you know about bike, battery, sensor and road")
    measure.add_argument("--columns", metavar="MAP.toml", help="how the columns of a log are to be read")
    form = measure.add_mutually_exclusive_group()
    form.add_argument("--json", action="store_true", help="everything, as JSON")
    form.add_argument("--table", choices=TABLES, help="one table; CSV unless it goes to a terminal")
    form.add_argument("--budget", action="store_true", help="where the uncertainty of the recovered share comes from")
    measure.add_argument(
        "--units",
        choices=UNITS,
        default="metric",
        help="what people read; CSV and JSON stay metric (default: %(default)s)",
    )
    measure.add_argument("--output", metavar="FILE", help="write to FILE instead of standard output")
    measure.add_argument("--force", action="store_true", help="replace the file of --output where there is one")
    measure.set_defaults(run=_measure)

    columns = commands.add_parser("columns", help="show how each column of a log was understood, and why")
    columns.add_argument("file", metavar="FILE", help="a delimited log")
    columns.add_argument("--columns", metavar="MAP.toml", help="a column map to try")
    columns.add_argument("--write", metavar="MAP.toml", help="write the column map, to edit and give back as --columns")
    columns.add_argument("--force", action="store_true", help="replace the file of --write where there is one")
    columns.set_defaults(run=_columns)

    coast = commands.add_parser("coastdown", help="find drag area and rolling resistance from the coasting in a ride")
    coast.add_argument("files", nargs="+", metavar="FILE", help=FILES_HELP)
    coast.add_argument("--bike", metavar="BIKE.toml", help="what you know about bike, sensor and weather")
    coast.add_argument("--columns", metavar="MAP.toml", help="how the columns of a log are to be read")
    coast.add_argument("--json", action="store_true", help="everything, as JSON")
    coast.add_argument("--write", metavar="BIKE.toml", help="put the results in this bike file, or make it")
    coast.set_defaults(run=_coastdown)

    audit = commands.add_parser("audit", help="measure many rides of many bikes, and say what stands out")
    audit.add_argument("folders", nargs="+", metavar="FOLDER", help="of bikes: a bike is a folder with a bike.toml")
    audit.add_argument(
        "--store", help="where the rides are kept, a folder or an address (default: in the first FOLDER)"
    )
    hands = audit.add_mutually_exclusive_group()
    hands.add_argument("--workers", type=_workers, metavar="N", help="processes (default: one a core)")
    hands.add_argument("--scheduler", metavar="ADDRESS", help="of a Dask cluster, which measures instead")
    audit.add_argument("--json", action="store_true", help="everything, as JSON")
    audit.add_argument("--units", choices=UNITS, default="metric", help="what people read (default: %(default)s)")
    audit.add_argument("--output", metavar="FILE", help="write to FILE, a .json, .csv, .parquet or .html")
    audit.add_argument("--force", action="store_true", help="replace the file of --output where there is one")
    audit.set_defaults(run=_audit)

    bike = commands.add_parser("bike", help="show what the rides of a bike in a store teach of it")
    bike.add_argument("--store", required=True, help="that holds its rides, see ridelog audit")
    bike.add_argument("--bike", required=True, metavar="NAME", help="of the bike")
    bike.add_argument("--write", metavar="BIKE.toml", help="put what was learned in this bike file, or make it")
    bike.set_defaults(run=_bike)

    serve = commands.add_parser("serve", help="open the web page on this computer")
    serve.add_argument("--host", default="127.0.0.1", help="address to listen on (default: %(default)s)")
    serve.add_argument("--port", type=_port, default=8050, help="port to listen on (default: %(default)s)")
    serve.add_argument(
        "--unprotected", action="store_true", help="let others reach --host: whoever does can use the page, unencrypted"
    )
    serve.set_defaults(run=_serve)
    return parser


def _port(text: str) -> int:
    if not text.isdecimal() or not 1 <= int(text) <= 65535:
        raise argparse.ArgumentTypeError(refusals.no_port(text))
    return int(text)


def _workers(text: str) -> int:
    if not text.isdecimal() or not 1 <= int(text) <= MOST_WORKERS:
        raise argparse.ArgumentTypeError(refusals.no_workers(text, MOST_WORKERS))
    return int(text)


def main(argv: Sequence[str], out: IO[str], err: IO[str]) -> Exit:
    """Run one command.

    Parameters
    ----------
    argv : arguments without the program's name
    out, err : text streams for data, and for messages and progress

    Returns
    -------
    exit : the status to leave with; errors have been written to ``err`` as one line and a hint line
    """
    try:
        with contextlib.redirect_stdout(out):  # where argparse prints --help and --version
            arguments = _parser().parse_args(argv)
        command: Callable[[argparse.Namespace, IO[str], IO[str]], Exit] = arguments.run
        with contextlib.nullcontext() if command in (_serve, _audit) else within(err=err):  # these bound ride by ride
            status = command(arguments, out, err)
        out.flush()
    except SystemExit:
        return Exit.OK
    except RidelogError as error:
        print(*error.lines(), sep="\n", file=err)
        return error.exit_status
    except KeyboardInterrupt:
        print(words.interrupted(), file=err)
        return Exit.INTERRUPTED
    except BrokenPipeError:
        raise
    except MemoryError:
        print(*refusals.no_memory().lines(), sep="\n", file=err)
        return Exit.UNREADABLE
    except Exception as error:  # the last edge: a fault of ridelog itself, told in one line
        if os.environ.get(TRACEBACK):
            raise
        print(*refusals.own_fault(type(error).__name__, str(error), TRACEBACK), sep="\n", file=err)
        return Exit.UNREADABLE
    return status


def run() -> NoReturn:
    """Entry point of the command ``ridelog``."""
    for stream in (sys.stdout, sys.stderr):  # a letter that the terminal's encoding lacks must not end the command
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="backslashreplace")
    out = Outlet(sys.stdout, refusals.STANDARD_OUTPUT)
    err = Outlet(sys.stderr, "standard error", needed=False)
    try:
        status = main(sys.argv[1:], cast("IO[str]", out), cast("IO[str]", err))
    except BrokenPipeError:  # the reader of our output has gone, as `| head` does
        status = Exit.OK
    try:
        out.flush()
    except (RidelogError, BrokenPipeError):  # told already, or nobody reads; what is left must not be tried again
        os.dup2(os.open(os.devnull, os.O_WRONLY), 1)
    err.flush()
    sys.exit(status)


def _measure(arguments: argparse.Namespace, out: IO[str], err: IO[str]) -> Exit:
    given = [path for path in (*arguments.files, arguments.bike, arguments.columns) if path is not None]
    _check_target(arguments.output, given, "--output", force=arguments.force)
    ride = _load(arguments, err)
    with _progress(err, "measuring"):
        from ridelog import measure

        answer = measure(ride)
    with _destination(arguments.output, out) as stream:
        _print_answer(answer, arguments, stream)
    danger = any(finding.severity == "danger" for finding in answer.findings)
    return Exit.DANGER if danger else Exit.OK


def _print_answer(answer: Answer, arguments: argparse.Namespace, stream: IO[str]) -> None:
    if arguments.json:
        _dump_json(answer.to_dict(), stream)
        return
    from ridelog.console import answers
    from ridelog.tell.numbers import STYLES

    style = STYLES[arguments.units]
    if arguments.budget:
        answers.print_budget(answer, stream, style)
    elif arguments.table:
        answers.print_table(answer, arguments.table, stream, style)
    else:
        answers.print_summary(answer, stream, style)


def _dump_json(data: dict[str, Any], stream: IO[str]) -> None:
    import json

    plain = not (getattr(stream, "encoding", None) or "utf-8").lower().startswith("utf")  # JSON has escapes of its own
    text = json.dumps(data, indent=2, ensure_ascii=plain, allow_nan=False)
    stream.write(UNSEEN.sub(lambda found: json.dumps(found[0])[1:-1], text) + "\n")


def _coastdown(arguments: argparse.Namespace, out: IO[str], err: IO[str]) -> Exit:
    _sort_files(arguments)  # first: a bike file among FILE may be the one to write to
    given = [path for path in (*arguments.files, arguments.columns) if path is not None]
    _check_target(arguments.write, given, "--write", force=True)
    ride = _load(arguments, err)
    with _progress(err, "fitting"):
        from ridelog import coastdown

        answer = coastdown(ride)
    if arguments.json:
        _dump_json(answer.to_dict(), out)
    else:
        from ridelog.console import answers

        answers.print_coastdown(answer, out)
    if arguments.write:
        from ridelog.settings.toml_edit import write_values
        from ridelog.tell import coastdown as coast_words

        if not (values := coast_words.bike_values(answer)):
            raise refusals.nothing_to_write(arguments.write)
        write_values(arguments.write, {"road": values}, base=arguments.bike)
        print(words.written(printable(arguments.write), list(values)), file=err)
    danger = any(finding.severity == "danger" for finding in answer.findings)
    return Exit.DANGER if danger else Exit.OK


def _columns(arguments: argparse.Namespace, out: IO[str], err: IO[str]) -> Exit:
    from ridelog.console.columns import print_columns
    from ridelog.importers.registry import explain

    _check_target(arguments.write, [arguments.file], "--write", force=arguments.force)
    reports = explain(arguments.file, columns=arguments.columns)
    for report in reports:
        print_columns(report, out)
    if arguments.columns:
        _name_strangers(arguments.columns, reports, err)
    if arguments.write:
        with _destination(arguments.write, out) as stream:
            stream.write("\n".join(report.to_toml() for report in reports))
        print(words.written(printable(arguments.write)), file=err)
    return Exit.OK


def _name_strangers(columns: str, reports: Sequence[ColumnReport], err: IO[str]) -> None:
    """Say which columns of the map the logs shown do not have: mistyped, or those of another log of the ride."""
    from ridelog.settings.column_map import read_map

    there = {reading.header.strip() for report in reports for reading in report.readings}
    for entry in read_map(columns).column:
        if entry.header.strip() not in there:
            print(words.stranger(entry.header, printable(columns)), file=err)


def _audit(arguments: argparse.Namespace, out: IO[str], err: IO[str]) -> Exit:
    from ridelog.console.audits import print_audit, write_audit
    from ridelog.console.progress import progress_on
    from ridelog.fleet.audit import Hands, audit, default_store
    from ridelog.fleet.folders import refuse_without_rides
    from ridelog.fleet.store.store import open_store
    from ridelog.tell.numbers import STYLES

    _check_target(arguments.output, [], "--output", force=arguments.force)
    if arguments.output and (suffix := Path(arguments.output).suffix.lower()) not in AUDIT_FORMS:
        raise refusals.unknown_form(arguments.output, suffix, AUDIT_FORMS)
    refuse_without_rides([Path(folder) for folder in arguments.folders])
    store = open_store(arguments.store or default_store(arguments.folders), create=True, tidy=False)
    with progress_on(err) as told:
        hands = Hands(arguments.workers, arguments.scheduler)
        result = audit(arguments.folders, store, hands=hands, told=told)
    if arguments.output:
        write_audit(result, arguments.output, STYLES[arguments.units])
    if arguments.json:
        _dump_json(result.to_dict(), out)
    elif not arguments.output:
        print_audit(result, out, STYLES[arguments.units])
    return Exit.DANGER if result.grave else Exit.OK


def _bike(arguments: argparse.Namespace, out: IO[str], err: IO[str]) -> Exit:
    from ridelog.console.learnings import print_teaching
    from ridelog.fleet.learning import teaching_of
    from ridelog.fleet.store.store import open_store

    _check_target(arguments.write, [], "--write", force=True)
    teaching = teaching_of(open_store(arguments.store), arguments.bike)
    print_teaching(teaching, out)
    if arguments.write:
        from ridelog.settings.toml_edit import write_values
        from ridelog.tell.refusals import fleet

        if not teaching.values:
            raise fleet.nothing_learned(arguments.write)
        write_values(arguments.write, teaching.values)
        keys = [key for own in teaching.values.values() for key in own]
        print(words.written(printable(arguments.write), keys), file=err)
    return Exit.OK


def _serve(arguments: argparse.Namespace, out: IO[str], err: IO[str]) -> Exit:
    from ridelog.web.serve import serve

    del out
    samples = Path("sample_rides")
    folder = samples if samples.is_dir() else None
    serve(arguments.host, arguments.port, folder, err, unprotected=arguments.unprotected)
    return Exit.OK


def _load(arguments: argparse.Namespace, err: IO[str]) -> Ride:
    """The ride of a command's FILE, --bike and --columns."""
    _sort_files(arguments)
    with _progress(err, "reading"):
        from ridelog import load_ride

        return load_ride(arguments.files, bike=arguments.bike, columns=arguments.columns)


def _sort_files(arguments: argparse.Namespace) -> None:
    """Take a bike file and a column map out of FILE and put them where --bike and --columns would, as the page does."""
    from ridelog.settings.toml_files import is_column_map

    logs = []
    for path in arguments.files:
        if not path.lower().endswith(".toml"):
            logs.append(path)
            continue
        is_map = is_column_map(path, path)
        option = "columns" if is_map else "bike"
        if (other := getattr(arguments, option)) is not None:
            raise refusals.second_table_argument(path, other, is_map=is_map)
        setattr(arguments, option, path)
    arguments.files = logs


def _check_target(target: str | None, given: Sequence[str], option: str, *, force: bool) -> None:
    """Refuse before the work is done a file that would not, or must not, be written after it.

    No name, a file that is being read, one that is there and nobody said that it may go, a folder that takes none.
    """
    if target is None:
        return
    if not target:
        raise refusals.no_target(option)
    if "\0" not in target:
        if any(Path(path).exists() and Path(target).exists() and Path(path).samefile(target) for path in given):
            raise refusals.would_overwrite(option, target)
        if not force and Path(target).is_file():
            raise refusals.exists_already(option, target)
    refuse_unwritable(target)


def _destination(path: str | None, out: IO[str]) -> contextlib.AbstractContextManager[IO[str]]:
    """The file to write to, or ``out``."""
    return contextlib.nullcontext(out) if path is None else written_whole(path)


@contextlib.contextmanager
def _progress(err: IO[str], what: str) -> Iterator[None]:
    """A spinner on a terminal, nothing elsewhere."""
    if not err.isatty():
        yield
        return
    from rich.console import Console

    with Console(file=err).status(words.under_way(what)):
        yield
