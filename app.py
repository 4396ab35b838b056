"""The page on the sample rides: ``python app.py``."""

import argparse
import sys
from pathlib import Path

from ridelog.errors import Exit, RidelogError
from ridelog.web.door.access import protection_of
from ridelog.web.jobs.process import messages_of
from ridelog.web.kept.sources import sample_rides
from ridelog.web.serve import DEFAULT_HOST, DEFAULT_PORT, serve

SAMPLES = Path(__file__).parent / "sample_rides"
FLEET = Path(__file__).parent / ".sample-fleet"


def sample_folders() -> list[Path]:
    """The sample fleet, which is made when it is first asked for, and the sample campaign."""
    from sample_rides.fleet import write_sample_fleet

    write_sample_fleet(FLEET)
    return [FLEET, SAMPLES / "campaign"]


def main(argv: list[str] | None = None) -> int:
    """Parse the arguments and serve; returns the exit status."""
    parser = argparse.ArgumentParser(description="The ridelog page on the sample rides.")
    parser.add_argument("--host", default=DEFAULT_HOST, help="address to listen on (default: %(default)s)")
    parser.add_argument("--port", type=int, default=DEFAULT_PORT, help="port to listen on (default: %(default)s)")
    others = parser.add_mutually_exclusive_group()
    others.add_argument("--password-file", metavar="FILE", help="ask everybody for the password whose hash FILE holds")
    others.add_argument("--unprotected", action="store_true", help="let others reach --host, without a password")
    arguments = parser.parse_args(argv)
    try:
        protection = protection_of(arguments.password_file, unprotected=arguments.unprotected)
        kept = sample_rides(sample_folders, messages_of)
        serve(arguments.host, arguments.port, SAMPLES, protection=protection, kept=kept)
    except RidelogError as error:
        sys.stderr.write("\n".join(error.lines()) + "\n")
        return error.exit_status
    except KeyboardInterrupt:
        return Exit.INTERRUPTED
    return Exit.OK


if __name__ == "__main__":
    sys.exit(main())
