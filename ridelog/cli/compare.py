"""The command ``ridelog compare``: what differs between rides under different set-ups."""

import argparse
from pathlib import Path
from typing import IO, Any

from ridelog.cli.given import check_target, destination, dump_json
from ridelog.errors import Exit
from ridelog.tell.refusals import commands as refusals

FORMS = (".json", ".txt")
OTHERS_FORMS = (".csv", ".html", ".parquet", ".pdf", ".zip")  # of other commands: text under such a name opens nowhere


def add_compare(commands: Any, units: tuple[str, ...]) -> None:
    """The command's parser among those of the others.

    Parameters
    ----------
    commands : of argparse
    units : that there are
    """
    compare = commands.add_parser("compare", help="say what differs between rides under two or more set-ups")
    compare.add_argument(
        "--group", action="append", required=True, metavar="NAME=PATH",
        help="rides of one set-up: a folder, a log, or STORE?bike=…&from=…&to=…; several of one name add up",
    )  # fmt: skip
    compare.add_argument("--bike", metavar="BIKE.toml", help="of the rides in folders that hold no bike.toml")
    compare.add_argument("--json", action="store_true", help="everything, as JSON")
    compare.add_argument("--units", choices=units, default="metric", help="what people read (default: %(default)s)")
    compare.add_argument(
        "--output", metavar="FILE", help="write to FILE instead of standard output, as JSON where it ends in .json"
    )
    compare.add_argument("--force", action="store_true", help="replace the file of --output where there is one")


def run_compare(arguments: argparse.Namespace, out: IO[str], err: IO[str]) -> Exit:
    """Compare groups of rides.

    Parameters
    ----------
    arguments : as parsed
    out, err : streams

    Returns
    -------
    The exit status.
    """
    from ridelog.compare.comparison import comparison_of
    from ridelog.compare.groups import compared
    from ridelog.compare.places import group_place
    from ridelog.console.comparisons import print_comparison
    from ridelog.console.progress import progress_on
    from ridelog.tell.numbers import STYLES

    check_target(arguments.output, [arguments.bike] if arguments.bike else [], "--output", force=arguments.force)
    form = Path(arguments.output or "").suffix.lower()
    if form in OTHERS_FORMS:
        raise refusals.unknown_form(arguments.output, form, FORMS)
    as_json = arguments.json or form == ".json"
    places = [group_place(text) for text in arguments.group]
    bike = None if arguments.bike is None else Path(arguments.bike)
    with progress_on(err) as told:
        result = comparison_of(compared(places, bike=bike, told=told))
    with destination(arguments.output, out) as stream:
        if as_json:
            dump_json(result.to_dict(), stream)
        else:
            print_comparison(result, stream, STYLES[arguments.units])
    danger = any(finding.severity == "danger" for finding in result.findings)
    return Exit.DANGER if danger else Exit.OK
