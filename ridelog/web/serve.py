"""Serve the page on this computer."""

import sys
from pathlib import Path
from typing import IO

from ridelog.errors import UsageError

DEFAULT_HOST = "127.0.0.1"
DEFAULT_PORT = 8050


def serve(
    host: str = DEFAULT_HOST, port: int = DEFAULT_PORT, samples: Path | None = None, out: IO[str] | None = None
) -> None:
    """Serve the page until interrupted; prints its address.

    Parameters
    ----------
    host : address to listen on. Any but the default is taken as the wish to be reached by other names.
    port : port to listen on
    samples : folder of sample rides
    out : where the address is printed, stdout by default

    Raises
    ------
    UsageError : the port is taken, or the address is not one of this computer
    InputError : a sample ride's description cannot be read
    """
    from waitress import create_server

    from ridelog.web.app import LOCAL_HOSTS, create_app
    from ridelog.web.upload import MOST_BYTES

    local = host in (DEFAULT_HOST, "localhost", "::1")
    app = create_app(samples, hosts=LOCAL_HOSTS if local else None)
    try:
        server = create_server(
            app.server, host=host, port=port, threads=8, ident=None, max_request_body_size=MOST_BYTES + 1_000_000
        )
    except (OSError, ValueError, OverflowError) as error:
        raise UsageError(
            f"cannot listen on {host}, port {port}: {getattr(error, 'strerror', None) or error}",
            hint=f"is another program using it? try --port {port + 1 if port < 65535 else DEFAULT_PORT}",
        ) from error
    shown = f"[{host}]" if ":" in host else host
    print(f"ridelog: http://{shown}:{server.effective_port}/", file=out or sys.stdout, flush=True)
    try:
        server.run()
    finally:
        server.close()
