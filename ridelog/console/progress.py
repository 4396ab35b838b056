"""How far many rides are, on a terminal as a bar, elsewhere as a line now and then."""

import contextlib
import time
from collections.abc import Callable, Iterator
from typing import IO

from rich.console import Console
from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn, TimeRemainingColumn

from ridelog.fleet.audit import Progress as Far
from ridelog.tell import commands as words

LINE_EACH_S = 30.0


@contextlib.contextmanager
def progress_on(err: IO[str]) -> Iterator[Callable[[Far], None]]:
    """A function that shows how far an audit is.

    Parameters
    ----------
    err : stream of messages

    Yields
    ------
    To be called at the beginning and with each ride that is done.
    """
    if not err.isatty():
        yield _Lines(err)
        return
    columns = (
        TextColumn("measuring"), BarColumn(), MofNCompleteColumn(), TextColumn("{task.fields[rate]}"),
        TimeRemainingColumn(), TextColumn("{task.fields[failed]}"),
    )  # fmt: skip
    with Progress(*columns, console=Console(file=err), transient=True) as bar:
        task = bar.add_task("rides", total=None, rate="", failed="", visible=False)  # until it is known how many
        began = time.monotonic()

        def show(far: Far) -> None:
            rate = words.rate(far.done / max(time.monotonic() - began, 1e-9)) if far.done else ""
            failed = words.failed_so_far(far.failed) if far.failed else ""
            bar.update(task, total=far.of, completed=far.done, rate=rate, failed=failed, visible=far.of > 0)

        yield show


class _Lines:
    """A line at the beginning, one each half minute, and one at the end."""

    def __init__(self, err: IO[str]) -> None:
        self._err = err
        self._began = self._last = time.monotonic()

    def __call__(self, far: Far) -> None:
        now = time.monotonic()
        last = far.done == far.of
        if far.of and (far.done == 0 or last or now - self._last >= LINE_EACH_S):
            self._last = now
            left_s = None if far.done == 0 or last else (far.of - far.done) * (now - self._began) / far.done
            print(words.so_far(far.done, far.of, far.failed, left_s), file=self._err, flush=True)
