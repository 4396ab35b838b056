"""Processes of our own: how they begin, and with how many threads of linear algebra.

Several processes with several threads each are slower than with one.
"""

import contextlib
import multiprocessing
import os
import socket
import tempfile
from collections.abc import Iterator, Sequence
from functools import cache
from pathlib import Path
from typing import Any

from ridelog.tell.refusals import commands as refusals

_THREADS = ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS")


def context(preload: Sequence[str] = ()) -> Any:
    """How processes are made: from one that has loaded what they need, where the system can.

    Parameters
    ----------
    preload : modules that it loads; only the first call in a process counts

    Returns
    -------
    A context of `multiprocessing`.

    Raises
    ------
    UsageError : the folder for temporary files is none where processes can speak to each other
    """
    if "forkserver" not in multiprocessing.get_all_start_methods():
        return multiprocessing.get_context("spawn")
    _tried()
    made = multiprocessing.get_context("forkserver")
    if preload:
        made.set_forkserver_preload(list(preload))
    return made


@cache
def _tried() -> None:
    """Open such a socket as processes will: systems bound its path (Linux to 107 bytes), and not all disks have any."""
    from multiprocessing.connection import arbitrary_address  # type: ignore[attr-defined]  # where a fork server asks

    address = arbitrary_address("AF_UNIX")
    try:
        with socket.socket(socket.AF_UNIX) as listener:
            listener.bind(address)
    except OSError as error:
        raise refusals.no_sockets(tempfile.gettempdir(), error.strerror) from error
    finally:
        with contextlib.suppress(OSError):
            Path(address).unlink()


@contextlib.contextmanager
def one_thread() -> Iterator[None]:
    """Processes that begin within have one thread of linear algebra each."""
    before = {name: os.environ.get(name) for name in _THREADS}
    os.environ.update(dict.fromkeys(_THREADS, "1"))
    try:
        yield
    finally:
        for name, value in before.items():
            if value is None:
                os.environ.pop(name, None)
            else:
                os.environ[name] = value
