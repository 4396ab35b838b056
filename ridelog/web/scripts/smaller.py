"""Replies are sent compressed; scripts of libraries, which stay as they are, are compressed once."""

import threading
from collections import OrderedDict

from flask import Flask, Request
from flask_compress import Compress

SCRIPTS = "/_dash-component-suites/"
MOST = 64  # scripts of all codings together; the page has some twenty, of 2 MB
# Figures are four times as small so. Neither coding takes longer to make than a slow line takes for the rest.
SMALLER_REPLIES = {"COMPRESS_ALGORITHM": ["br", "gzip"], "COMPRESS_BR_LEVEL": 4, "COMPRESS_LEVEL": 5}


def add_compression(server: Flask) -> None:
    """Compress replies for a browser that asks for it."""
    server.config |= {**SMALLER_REPLIES, "COMPRESS_CACHE_BACKEND": Once, "COMPRESS_CACHE_KEY": _script}
    Compress(server)


class Once:
    """Scripts as they were compressed; the one that was asked for longest ago goes first."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._held: OrderedDict[str, bytes] = OrderedDict()

    def get(self, key: str) -> bytes | None:
        """What is held for a coding and a script; ``None`` where nothing is."""
        with self._lock:
            return self._held.get(key)

    def set(self, key: str, value: bytes) -> None:
        """Hold a script; any other reply is another one each time."""
        if key.endswith(";"):
            return
        with self._lock:
            self._held[key] = value
            self._held.move_to_end(key)
            while len(self._held) > MOST:
                self._held.popitem(last=False)


def _script(request: Request) -> str:
    """Which script is asked for; empty for whatever else."""
    return request.path if request.path.startswith(SCRIPTS) else ""
