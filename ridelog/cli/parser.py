"""Which commands and options there are. Heavy modules are imported by the command that needs them, so that ``--help``
answers at once.
"""

import argparse
from typing import Any, NoReturn

from ridelog import __version__
from ridelog.cli.compare import add_compare
from ridelog.cli.plan import add_plan
from ridelog.cli.report import add_report
from ridelog.tell.refusals import commands as refusals

TABLES = ("events", "hills", "samples", "ledger", "bands")
UNITS = ("metric", "imperial")
MOST_WORKERS = 512
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


def parser() -> argparse.ArgumentParser:
    """What reads the arguments of the program; it raises instead of ending the process."""
    whole = _Parser(
        prog="ridelog",
        description="How much energy regenerative braking really gave back, from the ride's own logs.",
    )
    whole.add_argument("--version", action="version", version=f"ridelog {__version__}")
    commands = whole.add_subparsers(dest="command", metavar="COMMAND", required=True, parser_class=_Command)

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

    columns = commands.add_parser("columns", help="show how each column of a log was understood, and why")
    columns.add_argument("file", metavar="FILE", help="a delimited log")
    columns.add_argument("--columns", metavar="MAP.toml", help="a column map to try")
    columns.add_argument("--write", metavar="MAP.toml", help="write the column map, to edit and give back as --columns")
    columns.add_argument("--force", action="store_true", help="replace the file of --write where there is one")

    coast = commands.add_parser("coastdown", help="find drag area and rolling resistance from the coasting in a ride")
    coast.add_argument("files", nargs="+", metavar="FILE", help=FILES_HELP)
    coast.add_argument("--bike", metavar="BIKE.toml", help="what you know about bike, sensor and weather")
    coast.add_argument("--columns", metavar="MAP.toml", help="how the columns of a log are to be read")
    coast.add_argument("--json", action="store_true", help="everything, as JSON")
    coast.add_argument("--write", metavar="BIKE.toml", help="put the results in this bike file, or make it")

    add_compare(commands, UNITS)
    add_plan(commands)

    add_report(commands, FILES_HELP, UNITS)

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

    bike = commands.add_parser("bike", help="show what the rides of a bike in a store teach of it")
    bike.add_argument("--store", required=True, help="that holds its rides, see ridelog audit")
    bike.add_argument("--bike", required=True, metavar="NAME", help="of the bike")
    bike.add_argument("--write", metavar="BIKE.toml", help="put what was learned in this bike file, or make it")

    serve = commands.add_parser("serve", help="open the web page on this computer")
    serve.add_argument("--host", default="127.0.0.1", help="address to listen on (default: %(default)s)")
    serve.add_argument("--port", type=_port, default=8050, help="port to listen on (default: %(default)s)")
    serve.add_argument("--store", help="whose rides the page shows, see ridelog audit; made if missing")
    others = serve.add_mutually_exclusive_group()
    others.add_argument(
        "--password-file", metavar="FILE", help="ask everybody for the password whose hash FILE holds; made if missing"
    )
    others.add_argument(
        "--unprotected", action="store_true", help="let others reach --host: whoever does can use the page, unencrypted"
    )
    return whole


def _port(text: str) -> int:
    if not text.isdecimal() or not 1 <= int(text) <= 65535:
        raise argparse.ArgumentTypeError(refusals.no_port(text))
    return int(text)


def _workers(text: str) -> int:
    if not text.isdecimal() or not 1 <= int(text) <= MOST_WORKERS:
        raise argparse.ArgumentTypeError(refusals.no_workers(text, MOST_WORKERS))
    return int(text)
