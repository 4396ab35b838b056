"""Connections that do not speak, or speak too slowly, are closed, so that others get through; who asks fast, waits."""

import time
from collections.abc import Callable
from typing import Any

from waitress.channel import HTTPChannel

from ridelog.lazy import dataclass
from ridelog.web.door.pace import DEFAULT_PACE, Aside, Pace, Paces


@dataclass(frozen=True)
class Patience:
    """How long a connection is waited for, and how much may arrive at once.

    Attributes
    ----------
    silent_s : without a byte either way; browsers open a new connection unasked [s]
    head_s : for the first line and the headers of a request, which fit one packet mostly [s]
    least_bytes_per_s : of a request's body, after ``head_s``; a slow mobile network sends ten times that [byte/s]
    most_bytes : of bodies that are arriving at the same time, all connections together [byte]
    most_connections : open at the same time; a page takes six [1]
    look_s : between looks at all connections [s]
    """

    silent_s: float = 20.0
    head_s: float = 10.0
    least_bytes_per_s: float = 4_000.0
    most_bytes: int = 1_000_000_000
    most_connections: int = 600
    look_s: float = 1.0


DEFAULT_PATIENCE = Patience()


class TimedChannel(HTTPChannel):  # type: ignore[misc]
    """A connection that knows since when its present request is arriving."""

    began = 0.0

    def received(self, data: bytes) -> Any:
        """Take what arrived."""
        if self.request is None:
            self.began = time.time()
        return super().received(data)


def impatient(
    server: Any,
    patience: Patience = DEFAULT_PATIENCE,
    pace: Pace = DEFAULT_PACE,
    clock: Callable[[], float] = time.monotonic,
) -> Any:
    """The server, which from now on closes connections that nobody should wait for, and answers nobody too fast.

    Parameters
    ----------
    server : of waitress, not yet run
    patience : how long it waits
    pace : how fast one address is answered
    clock : by which that is counted, in seconds that never go back

    Returns
    -------
    The same server.
    """

    aside = Aside(Paces(pace, clock), server.add_task, clock)

    def look(now: float) -> None:
        aside.look()
        channels = list(server.active_channels.values())
        for channel in channels:
            if channel.requests or channel.total_outbufs_len:  # being answered
                channel.will_close |= now - channel.last_activity > patience.silent_s and not channel.requests
            elif too_slow(channel, now, patience):
                channel.will_close = True
        arriving = [channel for channel in channels if channel.request is not None and not channel.will_close]
        for channel in beyond(arriving, patience.most_bytes):
            channel.will_close = True

    server.channel_class = TimedChannel
    server.maintenance = look
    server.add_task = aside.take
    return server


def too_slow(channel: Any, now: float, patience: Patience) -> bool:
    """Whether a connection that nobody is answering keeps its request to itself, or sends it by drops.

    Parameters
    ----------
    channel : the connection
    now : seconds, as its own
    patience : how long it is waited for

    Returns
    -------
    Whether to close it.
    """
    if channel.request is None:
        return bool(now - channel.last_activity > patience.silent_s)
    arriving_s = now - channel.began
    if arriving_s <= patience.head_s:
        return False
    if not channel.request.headers_finished:
        return True
    received = channel.request.body_bytes_received
    return bool(received < patience.least_bytes_per_s * (arriving_s - patience.head_s))


def beyond(arriving: list[Any], most_bytes: int) -> list[Any]:
    """The connections that came last, as many as keep what is arriving within its bound; never the first."""
    kept, over = 0, []
    for channel in sorted(arriving, key=lambda each: each.began):
        size = max(channel.request.content_length or 0, channel.request.body_bytes_received)
        if kept and kept + size > most_bytes:
            over.append(channel)
        else:
            kept += size
    return over
