"""Who measures the rides: processes of this computer, or the workers of a Dask cluster. Both run the same task."""

import contextlib
import os
import signal
import socket
from collections.abc import Callable, Generator, Iterator, Sequence
from concurrent.futures import FIRST_COMPLETED, Future, ProcessPoolExecutor, wait
from concurrent.futures.process import BrokenProcessPool
from dataclasses import replace
from typing import Any, TypeVar

from ridelog.errors import StoreError
from ridelog.fleet.task import Failure, Task, measured
from ridelog.processes import context, one_thread
from ridelog.tell.refusals import fleet as refusals
from ridelog.tell.refusals import folders

Given = TypeVar("Given")
Result = TypeVar("Result")
Outcome = tuple[Task, Failure | None]
AHEAD = 2  # tasks a worker that are handed out before they are needed
FEWEST_SHARED = 40  # pieces of work of some milliseconds; fewer are done before other processes have begun
AT_ONCE = 8  # of them that a process is handed
FEWEST_LARGE = 8  # pieces of a twentieth of a second, once processes can begin at once: the first have been there
RIDES_A_PROCESS = 200  # about; then a fresh one takes over, so that what a library never gives back does not add up


def n_cores() -> int:
    """Cores that this process may use."""
    return len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1


def spread(
    work: Callable[[Given], Result], given: Sequence[Given], n_workers: int, *,
    fewest: int = FEWEST_SHARED, at_once: int = AT_ONCE,
) -> Iterator[Result]:  # fmt: skip
    """Map a function, in processes of this computer where there is much to do; what a broken one had, is done here.

    Parameters
    ----------
    work : some milliseconds each; it may be done twice
    given : to each of which it is done
    n_workers : processes
    fewest : pieces that are worth other processes
    at_once : pieces that a process is handed

    Returns
    -------
    What comes of each, in order.
    """
    n_done = 0
    if n_workers > 1 and len(given) >= fewest:
        with contextlib.suppress(BrokenProcessPool), one_thread(), _pool(n_workers) as pool:
            for result in pool.map(work, given, chunksize=at_once):
                n_done += 1
                yield result
    yield from map(work, given[n_done:])


def on_processes(tasks: Sequence[Task], n_workers: int) -> Iterator[Outcome]:
    """Measure rides in processes of this computer.

    Parameters
    ----------
    tasks : in the order in which they begin
    n_workers : processes

    Returns
    -------
    Each task as it is done, with why it could not be. A ride that ends its process is one that could not.

    Raises
    ------
    StoreError : the store cannot be written
    """
    left = list(tasks)
    while left:
        # Fresh processes for each batch: a pool that renews them itself (``max_tasks_per_child``) stands still once all
        # have ended while work is queued (seen with Python 3.11).
        batch = left[: RIDES_A_PROCESS * n_workers]
        del left[: len(batch)]
        suspects = yield from _until_broken(batch, n_workers)
        left = batch + left  # what a pool that broke had not begun
        for task in suspects:  # one of them ended its process: each by itself, to see which
            rest = [task]
            if (yield from _until_broken(rest, 1)):
                yield task, _ended(task)


def _ended(task: Task) -> Failure:
    path = str(task.ride.paths[0])
    return replace(Failure.of(folders.ended(path), path), again=True)


def _at_fault(task: Task, fault: BaseException) -> Failure:
    """A worker that could not even begin, as one without this ridelog."""
    path = str(task.ride.paths[0])
    return replace(Failure.of(folders.own_fault(path, f"{type(fault).__name__}: {fault}"), path), again=True)


def _until_broken(left: list[Task], n_workers: int) -> Generator[Outcome, None, list[Task]]:
    """Take tasks off the list and measure them; gives back those that were under way when a process was ended."""
    under_way: dict[Future[Failure | None], Task] = {}
    with one_thread(), _pool(min(n_workers, len(left))) as pool:
        try:
            while left or under_way:
                while left and len(under_way) < AHEAD * n_workers:
                    future = pool.submit(
                        measured, left[0]
                    )  # raises where the pool is broken: the task stays on the list
                    under_way[future] = left.pop(0)
                for done in wait(under_way, return_when=FIRST_COMPLETED).done:
                    failure = done.result()
                    yield under_way.pop(done), failure
        except BrokenProcessPool:
            return list(under_way.values())
        finally:
            pool.shutdown(wait=True, cancel_futures=True)
    return []


def _pool(n_workers: int) -> ProcessPoolExecutor:
    made = context(["ridelog.fleet.task", "ridelog.analysis.measure", "ridelog.timeline.ride"])
    return ProcessPoolExecutor(n_workers, made, initializer=_begin)


def _begin() -> None:
    """An interrupt ends the audit, which lets the rides under way be written and then ends its processes."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)


def on_cluster(tasks: Sequence[Task], address: str, *, patience_s: float = 10.0) -> Iterator[Outcome]:
    """Measure rides on the workers of a Dask cluster, which read the files and write the store themselves.

    Parameters
    ----------
    tasks : in the order in which they are handed out; their paths and their store must be those of the workers too
    address : of the scheduler, as ``tcp://127.0.0.1:8786``
    patience_s : how long the scheduler may take to answer [s]

    Returns
    -------
    Each task as it is done, with why it could not be.

    Raises
    ------
    StoreError : the scheduler is not reached, Dask is not installed, or the store cannot be written
    """
    try:
        from distributed import Client, KilledWorker, as_completed
        from distributed.comm import get_address_host_port
    except ImportError as error:
        raise refusals.no_dask() from error
    try:  # knocked first: a client that finds nobody ends in a traceback of its own, long after
        socket.create_connection(get_address_host_port(address), timeout=patience_s).close()
        client: Any = Client(address, timeout=patience_s, set_as_default=False)
    except (OSError, TimeoutError, ValueError) as error:
        raise refusals.no_scheduler(address) from error
    with client:
        futures = client.map(measured, tasks, pure=False, key=[f"ride-{place}" for place in range(len(tasks))])
        of_future = dict(zip((future.key for future in futures), tasks, strict=True))
        for future in as_completed(futures, loop=client.loop):
            task = of_future[future.key]
            fault = future.exception()  # waits where its worker was ended with the result, and it is measured again
            if fault is None:
                yield task, future.result()
            elif isinstance(fault, StoreError):
                raise fault
            elif isinstance(fault, KilledWorker):  # each time that it was tried
                yield task, _ended(task)
            else:
                yield task, _at_fault(task, fault)
            future.release()
