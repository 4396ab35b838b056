"""Processes of our own: how they begin, and with how many threads of linear algebra.

Several processes with several threads each are slower than with one.
"""

import contextlib
import multiprocessing
import os
from collections.abc import Iterator, Sequence
from typing import Any

_THREADS = ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS")


def context(preload: Sequence[str] = ()) -> Any:
    """How processes are made: from one that has loaded what they need, where the system can.

    Parameters
    ----------
    preload : modules that it loads; only the first call in a process counts
    """
    if "forkserver" not in multiprocessing.get_all_start_methods():
        return multiprocessing.get_context("spawn")
    made = multiprocessing.get_context("forkserver")
    if preload:
        made.set_forkserver_preload(list(preload))
    return made


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
