"""Arguments -> the same functions that Python users call -> standard output.

Data goes to standard output, messages and progress to standard error. Heavy modules are imported by the command
that needs them, so that ``--help`` answers at once.
"""

from __future__ import annotations

import argparse
import contextlib
import gc
import io
import os
import sys
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path
from typing import IO, TYPE_CHECKING, NoReturn, cast

from ridelog.budget import within
from ridelog.cli.compare import run_compare
from ridelog.cli.given import check_target, destination, dump_json, load, progress, sort_files
from ridelog.cli.parser import parser
from ridelog.cli.plan import run_plan
from ridelog.cli.report import run_report
from ridelog.destination import Outlet
from ridelog.errors import Exit, RidelogError, printable
from ridelog.tell import commands as words
from ridelog.tell.refusals import commands as refusals

if TYPE_CHECKING:
    from ridelog.answer.ride import Answer
    from ridelog.importers.registry import ColumnReport

TRACEBACK = "RIDELOG_TRACEBACK"  # set, a fault of ridelog itself is shown with its place
AUDIT_FORMS = (".json", ".csv", ".parquet", ".html")


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
            arguments = parser().parse_args(argv)
        command = COMMANDS[arguments.command]
        with _looking_for_cycles() if command in OWN_BOUNDS else within(err=err):
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


@contextlib.contextmanager
def _looking_for_cycles() -> Iterator[None]:
    """Let Python look for cycles of objects while a command works that may measure many rides."""
    looked = gc.isenabled()
    gc.enable()
    try:
        yield
    finally:
        if not looked:
            gc.disable()


def run() -> NoReturn:
    """Entry point of the command ``ridelog``.

    Python does not look for cycles of objects where one ride is measured: it leaves 2 MB in them, and to look among all
    that libraries have loaded, and once more at the end, takes a fifth of a short command.
    """
    gc.disable()
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
    gc.freeze()
    sys.exit(status)


def _measure(arguments: argparse.Namespace, out: IO[str], err: IO[str]) -> Exit:
    given = [path for path in (*arguments.files, arguments.bike, arguments.columns) if path is not None]
    check_target(arguments.output, given, "--output", force=arguments.force)
    ride = load(arguments, err)
    with progress(err, "measuring"):
        from ridelog import measure

        answer = measure(ride)
    with destination(arguments.output, out) as stream:
        _print_answer(answer, arguments, stream)
    danger = any(finding.severity == "danger" for finding in answer.findings)
    return Exit.DANGER if danger else Exit.OK


def _print_answer(answer: Answer, arguments: argparse.Namespace, stream: IO[str]) -> None:
    if arguments.json:
        dump_json(answer.to_dict(), stream)
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


def _coastdown(arguments: argparse.Namespace, out: IO[str], err: IO[str]) -> Exit:
    sort_files(arguments)  # first: a bike file among FILE may be the one to write to
    given = [path for path in (*arguments.files, arguments.columns) if path is not None]
    check_target(arguments.write, given, "--write", force=True)
    ride = load(arguments, err)
    with progress(err, "fitting"):
        from ridelog import coastdown

        answer = coastdown(ride)
    if arguments.json:
        dump_json(answer.to_dict(), out)
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

    check_target(arguments.write, [arguments.file], "--write", force=arguments.force)
    reports = explain(arguments.file, columns=arguments.columns)
    for report in reports:
        print_columns(report, out)
    if arguments.columns:
        _name_strangers(arguments.columns, reports, err)
    if arguments.write:
        with destination(arguments.write, out) as stream:
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
    from ridelog.tell.fleet.audit import headline
    from ridelog.tell.numbers import STYLES

    check_target(arguments.output, [], "--output", force=arguments.force)
    for name, given in (("FOLDER", arguments.folders), ("--store", [arguments.store])):
        if "" in given:
            raise refusals.no_target(name)
    if arguments.output and (suffix := Path(arguments.output).suffix.lower()) not in AUDIT_FORMS:
        raise refusals.unknown_form(arguments.output, suffix, AUDIT_FORMS)
    refuse_without_rides([Path(folder) for folder in arguments.folders])
    store = open_store(arguments.store or default_store(arguments.folders), create=True, tidy=False)
    with progress_on(err) as told:
        hands = Hands(arguments.workers, arguments.scheduler)
        result = audit(arguments.folders, store, hands=hands, told=told)
    if arguments.output:
        write_audit(result, arguments.output, STYLES[arguments.units])
        print(words.audit_written(printable(arguments.output), headline(result)), file=err)
    if arguments.json:
        dump_json(result.to_dict(), out)
    elif not arguments.output:
        print_audit(result, out, STYLES[arguments.units])
    return Exit.DANGER if result.grave else Exit.OK


def _bike(arguments: argparse.Namespace, out: IO[str], err: IO[str]) -> Exit:
    from ridelog.console.learnings import print_teaching
    from ridelog.fleet.learning import teaching_of
    from ridelog.fleet.store.store import open_store

    check_target(arguments.write, [], "--write", force=True)
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
    from ridelog.web.door.access import protection_of
    from ridelog.web.jobs.process import messages_of
    from ridelog.web.kept.sources import store_rides
    from ridelog.web.serve import serve

    del out
    samples = Path("sample_rides")
    folder = samples if samples.is_dir() else None
    protection = protection_of(arguments.password_file, unprotected=arguments.unprotected)
    kept = None if arguments.store is None else store_rides(arguments.store, messages_of)
    serve(arguments.host, arguments.port, folder, err, protection=protection, kept=kept)
    return Exit.OK


Command = Callable[[argparse.Namespace, IO[str], IO[str]], Exit]
COMMANDS: dict[str, Command] = {
    "measure": _measure,
    "columns": _columns,
    "coastdown": _coastdown,
    "report": run_report,
    "audit": _audit,
    "bike": _bike,
    "compare": run_compare,
    "plan": run_plan,
    "serve": _serve,
}
OWN_BOUNDS = (_serve, _audit, run_compare, run_plan, run_report)  # these bound ride by ride, or themselves
