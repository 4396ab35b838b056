"""The page on the sample rides: ``python app.py``."""

import argparse
import sys
from pathlib import Path

from ridelog.errors import Exit, RidelogError
from ridelog.web.serve import DEFAULT_HOST, DEFAULT_PORT, serve

SAMPLES = Path(__file__).parent / "sample_rides"
FLEET = Path(__file__).parent / ".sample-fleet"


def sample_fleet() -> Path:
    """The folder of the sample fleet, which is made when it is first asked for."""
    from sample_rides.fleet import write_sample_fleet

    write_sample_fleet(FLEET)
    return FLEET


def main(argv: list[str] | None = None) -> int:
    """Parse the arguments and serve; returns the exit status."""
    parser = argparse.ArgumentParser(description="The ridelog page on the sample rides.")
    parser.add_argument("--host", default=DEFAULT_HOST, help="address to listen on (default: %(default)s)")
    parser.add_argument("--port", type=int, default=DEFAULT_PORT, help="port to listen on (default: %(default)s)")
    parser.add_argument("--unprotected", action="store_true", help="let others reach --host, without a password")
    arguments = parser.parse_args(argv)
    try:
        serve(arguments.host, arguments.port, SAMPLES, unprotected=arguments.unprotected, fleet=sample_fleet)
    except RidelogError as error:
        sys.stderr.write("\n".join(error.lines()) + "\n")
        return error.exit_status
    except KeyboardInterrupt:
        return Exit.INTERRUPTED
    return Exit.OK


if __name__ == "__main__":
    sys.exit(main())
