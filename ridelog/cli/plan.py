"""The command ``ridelog plan``: how many rides would settle a difference, and what to log on them."""

import argparse
import shlex
from collections.abc import Sequence
from pathlib import Path
from typing import IO, TYPE_CHECKING, Any, cast

from ridelog.cli.given import check_target, dump_json, load
from ridelog.destination import written_whole
from ridelog.errors import Exit, printable
from ridelog.tell import commands as words
from ridelog.tell.refusals import commands
from ridelog.tell.refusals import compare as refusals
from ridelog.there import is_folder

if TYPE_CHECKING:
    from typing import TextIO

    from ridelog.compare.plan import Plan, SoFar

FORMS = (".html", ".pdf")


def add_plan(commands: Any) -> None:
    """The command's parser among those of the others.

    Parameters
    ----------
    commands : of argparse
    """
    plan = commands.add_parser("plan", help="how many rides would settle a difference, in which order, what to log")
    plan.add_argument("files", nargs="*", metavar="FILE", help="logs of one ride so far, or folders of rides, if any")
    plan.add_argument("--difference", required=True, type=_points, metavar="POINTS", help="of the recovered share")
    plan.add_argument("--bike", metavar="BIKE.toml", help="what you know about bike, battery, sensor and road")
    plan.add_argument("--columns", metavar="MAP.toml", help="how the columns of a log are to be read")
    plan.add_argument("--json", action="store_true", help="everything, as JSON")
    plan.add_argument("--output", metavar="FILE", help="a page to print: an .html or .pdf")
    plan.add_argument("--paper", choices=("a4", "letter"), default="a4", help="to print on (default: %(default)s)")
    plan.add_argument("--force", action="store_true", help="replace the file of --output where there is one")


def _points(text: str) -> float:
    from ridelog.compare.plan import points

    try:
        return points(text)
    except ValueError:
        raise argparse.ArgumentTypeError(refusals.no_difference(text)) from None


def run_plan(arguments: argparse.Namespace, out: IO[str], err: IO[str]) -> Exit:
    """Plan a campaign.

    Parameters
    ----------
    arguments : as parsed
    out, err : streams

    Returns
    -------
    The exit status.
    """
    from ridelog.compare.plan import plan_of
    from ridelog.console.plans import print_plan

    form = _form(arguments)
    given = [*arguments.files]
    result = plan_of(_so_far(arguments, err), arguments.difference)
    if arguments.output:
        _write(result, arguments, given, form, err)
    if arguments.json:
        dump_json(result.to_dict(), out)
    elif not arguments.output:
        print_plan(result, out)
    return Exit.OK


def _form(arguments: argparse.Namespace) -> str:
    """What the file of --output will be; refused before the work is done where it cannot be written after it."""
    form = Path(arguments.output or "").suffix.lower()
    if arguments.output is not None:
        given = [path for path in (*arguments.files, arguments.bike, arguments.columns) if path is not None]
        check_target(arguments.output, given, "--output", force=arguments.force)
        if form not in FORMS:
            raise commands.unknown_form(arguments.output, form, FORMS)
    if form == ".pdf":
        from ridelog.report.pdf import layout

        layout()  # or it would be missed after all the work
    return form


def _write(result: "Plan", arguments: argparse.Namespace, given: Sequence[str], form: str, err: IO[str]) -> None:
    """Write the page, with the command that makes it again from files by their short names."""
    from ridelog.report.making import Making, short_names
    from ridelog.report.plans import plan_document
    from ridelog.tell.numbers import METRIC, plain, typeset

    beside = {f"--{name}": getattr(arguments, name) for name in ("bike", "columns") if getattr(arguments, name)}
    names = short_names(list(dict.fromkeys([*given, *beside.values()])))
    again = [names[path] for path in given]
    again += [part for option, path in beside.items() if path not in given for part in (option, names[path])]
    again += ["--difference", plain(arguments.difference)]
    again += [] if arguments.paper == "a4" else ["--paper", arguments.paper]
    command = shlex.join(["ridelog", "plan", *again, "--output", Path(arguments.output).name])
    content = plan_document(result, Making(style=typeset(METRIC), paper=arguments.paper, command=command), form)
    with written_whole(arguments.output) as stream:
        cast("TextIO", stream).buffer.write(content)
    print(words.written(printable(arguments.output)), file=err)


def _so_far(arguments: argparse.Namespace, err: IO[str]) -> "SoFar":
    """The rides of folders, each folder a set-up; or the one ride of some logs; or none."""
    from ridelog.compare.plan import SoFar

    if not arguments.files:
        for option in ("bike", "columns"):
            if getattr(arguments, option):
                raise refusals.without_rides(f"--{option}")
        return SoFar.nothing()
    if not any(is_folder(path) for path in arguments.files):
        ride = load(arguments, err)
        from ridelog import measure

        return SoFar.of_ride(measure(ride))
    from ridelog.compare.groups import compared
    from ridelog.compare.places import GroupPlace
    from ridelog.console.progress import progress_on

    places = [GroupPlace(str(path), Path(path)) for path in arguments.files]
    bike = None if arguments.bike is None else Path(arguments.bike)
    with progress_on(err) as told:
        return SoFar.of_rides(compared(places, bike=bike, told=told, fewest=1))
