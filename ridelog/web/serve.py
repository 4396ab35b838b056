"""Serve the page on this computer."""

import logging
import select
import socket
import sys
from collections.abc import Callable
from pathlib import Path
from typing import IO

from ridelog.tell.commands import address
from ridelog.tell.commands import unprotected as warning
from ridelog.tell.refusals import commands as refusals

DEFAULT_HOST = "127.0.0.1"
DEFAULT_PORT = 8050


def serve(
    host: str = DEFAULT_HOST,
    port: int = DEFAULT_PORT,
    samples: Path | None = None,
    out: IO[str] | None = None,
    *,
    unprotected: bool = False,
    fleet: Callable[[], Path] | None = None,
) -> None:
    """Serve the page until interrupted; prints its address.

    Parameters
    ----------
    host : address to listen on
    port : port to listen on, 0 for any that is free
    samples : folder of sample rides
    out : where the address is printed, stdout by default
    unprotected : others than this computer may reach it
    fleet : makes a sample fleet where there is none, and says where it is

    Raises
    ------
    UsageError : the port is taken, the address is not one of this computer, or others could reach it and may not
    InputError : a sample ride's description cannot be read
    KeyboardInterrupt : the user's way to end it
    """
    from waitress import create_server

    from ridelog.web.app import create_app
    from ridelog.web.connections import DEFAULT_PATIENCE, impatient
    from ridelog.web.fleet import FleetPage
    from ridelog.web.hosts import OWN_NAMES, names_for
    from ridelog.web.jobs.apart import measured_apart, ready
    from ridelog.web.jobs.workshop import Workshop
    from ridelog.web.rides import RideStore
    from ridelog.web.upload import MOST_BYTES

    names = names_for(host, unprotected=unprotected) if host else None
    workshop = Workshop(RideStore(), measured_apart)
    fleet_page = None if fleet is None else FleetPage(fleet)
    app = create_app(samples, names=names or OWN_NAMES, workshop=workshop, fleet=fleet_page)
    with _bound(host, port) as listener:
        patience = DEFAULT_PATIENCE
        server = create_server(
            app.server,
            sockets=[listener],
            threads=8,
            ident=None,
            max_request_body_size=MOST_BYTES + 1_000_000,
            max_request_header_size=32_768,
            connection_limit=patience.most_connections,
            cleanup_interval=patience.look_s,
            asyncore_use_poll=hasattr(select, "poll"),  # where there is none, descriptors beyond 1024 cannot be watched
        )
        impatient(server, patience)
        logging.getLogger("waitress.queue").setLevel(logging.ERROR)  # that requests wait is no news for a terminal
        if names is not None and names.any_number:
            print(warning(host), file=sys.stderr if out is None else out, flush=True)
        print(address(host, listener.getsockname()[1]), file=out or sys.stdout, flush=True)
        try:
            ready()
            server.run()
        finally:
            server.close()
            workshop.close()
            if fleet_page is not None:
                fleet_page.close()
    raise KeyboardInterrupt  # the server swallows it, and nothing else ends its loop


def _bound(host: str, port: int) -> socket.socket:
    """A socket bound to the address, or an error that says why not."""
    if not 0 <= port <= 65535:
        raise refusals.port_out_of_range(port)
    if not host:
        raise refusals.no_address(DEFAULT_HOST)
    try:
        family, kind, _, _, address = socket.getaddrinfo(host, port, type=socket.SOCK_STREAM)[0]
        listener = socket.socket(family, kind)
    except (OSError, UnicodeError, OverflowError) as error:
        cause = getattr(error, "strerror", None) or str(error)
        raise refusals.not_this_computer(host, port, cause, DEFAULT_HOST) from error
    try:
        listener.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        listener.bind(address)
    except (OSError, OverflowError) as error:
        listener.close()
        cause = getattr(error, "strerror", None) or str(error)
        raise refusals.cannot_listen(host, port, cause) from error
    return listener
