"""Serve the page on this computer."""

import contextlib
import logging
import select
import signal
import socket
import sys
import threading
from collections.abc import Iterator
from pathlib import Path
from typing import IO, TYPE_CHECKING

from ridelog.tell.commands import address
from ridelog.tell.commands import unprotected as warning
from ridelog.tell.refusals import commands as refusals
from ridelog.tell.refusals.page.door import in_clear
from ridelog.web.door.access import NO_PROTECTION, Protection, access_to

if TYPE_CHECKING:
    from ridelog.web.kept.kept import Kept

DEFAULT_HOST = "127.0.0.1"
DEFAULT_PORT = 8050


@contextlib.contextmanager
def _ended_in_order() -> Iterator[None]:
    """Take the system's wish to end the server as its user's, so that nothing is left behind."""
    if threading.current_thread() is not threading.main_thread():
        yield
        return
    before = signal.signal(signal.SIGTERM, signal.default_int_handler)
    try:
        yield
    finally:
        signal.signal(signal.SIGTERM, before)


@_ended_in_order()
def serve(
    host: str = DEFAULT_HOST,
    port: int = DEFAULT_PORT,
    samples: Path | None = None,
    out: IO[str] | None = None,
    *,
    protection: Protection = NO_PROTECTION,
    kept: "Kept | None" = None,
) -> None:
    """Serve the page until interrupted; prints its address.

    Parameters
    ----------
    host : address to listen on
    port : port to listen on, 0 for any that is free
    samples : folder of sample rides
    out : where the address is printed, stdout by default
    protection : what keeps others out, where others than this computer reach it
    kept : the rides of a store

    Raises
    ------
    UsageError : the port is taken, the address is not one of this computer, or others could reach it and may not, or
        there is no password; or processes have nowhere to speak to each other
    InputError : the file of the password, or a sample ride's description cannot be read
    KeyboardInterrupt : the user's way to end it
    """
    from waitress import create_server

    from ridelog.web.app import create_app
    from ridelog.web.connections import DEFAULT_PATIENCE, impatient
    from ridelog.web.jobs.apart import looked_apart, measured_apart, measured_apart_by, ready
    from ridelog.web.jobs.carried import folded
    from ridelog.web.jobs.coasting import coasted_apart
    from ridelog.web.jobs.process import messages_of
    from ridelog.web.jobs.workshop import Workshop
    from ridelog.web.rides import RideStore
    from ridelog.web.tray.trays import Hands, Trays
    from ridelog.web.upload import MOST_BYTES

    access = access_to(host, protection)
    hands = Hands(measured_apart, looked_apart, coasted_apart, made=messages_of, otherwise=measured_apart_by)
    trays = Trays(RideStore(fold=folded), Workshop(), hands)
    app = create_app(samples, access=access, trays=trays, kept=kept)
    with _bound(host, port) as listener:
        patience = DEFAULT_PATIENCE
        server = create_server(
            app.server,
            sockets=[listener],
            threads=8,
            ident=None,
            max_request_body_size=MOST_BYTES + 1_000_000,
            max_request_header_size=32_768,
            clear_untrusted_proxy_headers=False,  # door/origin.py says which of them are believed, and of whom
            connection_limit=patience.most_connections,
            cleanup_interval=patience.look_s,
            asyncore_use_poll=hasattr(select, "poll"),  # where there is none, descriptors beyond 1024 cannot be watched
        )
        impatient(server, patience)
        logging.getLogger("waitress.queue").setLevel(logging.ERROR)  # that requests wait is no news for a terminal
        try:
            ready()
            if access.names.any_number:
                print((in_clear if access.door else warning)(host), file=sys.stderr if out is None else out, flush=True)
            print(address(host, listener.getsockname()[1]), file=out or sys.stdout, flush=True)
            server.run()
        finally:
            server.close()
            trays.close()
            if kept is not None:
                kept.close()
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
