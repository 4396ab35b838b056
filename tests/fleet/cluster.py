"""A Dask cluster on this machine: a scheduler and workers as processes of their own."""

import contextlib
import json
import os
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path

from tests.places import ROOT

SETTINGS = {"PYTHONPATH": str(ROOT), "OMP_NUM_THREADS": "1", "OPENBLAS_NUM_THREADS": "1"}
Process = subprocess.Popen[bytes]


def dask(command: str, *arguments: str) -> Process:
    """One of Dask's programs."""
    program = f"from distributed.cli.dask_{command} import main; main()"
    return subprocess.Popen(
        [sys.executable, "-c", program, *arguments],
        stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, env={**os.environ, **SETTINGS}, start_new_session=True,
    )  # fmt: skip


@contextlib.contextmanager
def running_cluster(folder: Path, n_workers: int = 2) -> Iterator[tuple[str, list[Process]]]:
    """Address of the scheduler, and the workers; all are ended afterwards."""
    known = folder / "scheduler.json"
    scheduler = dask(
        "scheduler", "--host", "127.0.0.1", "--port", "0", "--no-dashboard", "--scheduler-file", str(known)
    )
    workers: list[Process] = []
    try:
        address = address_in(known, scheduler)
        own = ("--nthreads", "1", "--no-nanny", "--no-dashboard", "--local-directory", str(folder))
        workers = [dask("worker", address, *own) for _ in range(n_workers)]
        yield address, workers
    finally:
        for process in (*workers, scheduler):
            kill(process)


def address_in(known: Path, scheduler: Process) -> str:
    """The address that a scheduler writes into a file once it listens on a port that was free."""
    while scheduler.poll() is None:
        with contextlib.suppress(FileNotFoundError, json.JSONDecodeError):
            return str(json.loads(known.read_text())["address"])
        time.sleep(0.05)
    raise AssertionError("the scheduler did not begin")


def kill(process: Process) -> None:
    """End a process and its children at once."""
    if process.poll() is None:
        os.killpg(process.pid, signal.SIGKILL)
    process.wait()
