"""Fuzz every reader for some minutes: ``python -m tests.fuzz.run [--minutes M] [--first SEED] [--only KIND]``.

One worker a core, bounded in memory and time; a worker that dies is a finding and another takes its place. Each kind of
finding is made as small as it goes and kept in ``tests/fuzz/found/``; what was counted is added to ``RESULTS.md``. With
``--readers`` inputs are small, many and read only (`tests/fuzz/readers/`).
"""

import argparse
import hashlib
import os
import signal
import subprocess
import sys
import time
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from pathlib import Path
from queue import Empty, Queue
from threading import Lock, Thread
from typing import IO

from tests.fuzz.case import KINDS, Case
from tests.fuzz.checks import smaller
from tests.fuzz.readers.cases import KINDS as KINDS_READ
from tests.fuzz.worker import LONGEST_S, Mode, bound_memory, work

HERE = Path(__file__).parent
FOUND, RESULTS = HERE / "found", HERE / "RESULTS.md"
HEADING_READ = "## Small inputs, which are read only"
STARTS = 4  # of a worker that ends before its first input
WAIT_S = 5.0  # and longer each time, for what kept it from it to pass

Worker = subprocess.Popen[str]


@dataclass
class Tally:
    """What was tried and found."""

    mode: Mode = field(default_factory=Mode)
    tried: Counter[str] = field(default_factory=Counter)
    measured: int = 0
    untried: list[tuple[int, int]] = field(default_factory=list)  # first, and how many, that no worker came to
    found: dict[str, list[int]] = field(default_factory=dict)
    worst: dict[str, tuple[float, int]] = field(default_factory=dict)
    lock: Lock = field(default_factory=Lock)  # two listeners count at once

    def add(self, seed: int, what: str) -> None:
        """Note a finding, and say the first of its kind."""
        with self.lock:
            seeds = self.found.setdefault(what, [])
            seeds.append(seed)
            if len(seeds) == 1:
                print(f"{seed}: {what}", flush=True)  # noqa: T201

    def reached(self, word: str, most: float, seed: int) -> None:
        """Note the most that an input took of something."""
        with self.lock:
            self.worst[word] = max(self.worst.get(word, (0.0, 0)), (most, seed))


def run_block(first: int, n: int, tally: Tally, began: Callable[[list[str]], Worker] | None = None) -> None:
    """One worker over a block; where it dies, what it died of is noted and the rest is done by another.

    A worker that ends before its first input is begun anew some times; then the rest of its block counts as not tried.

    Parameters
    ----------
    first, n : the block
    tally : gets what was tried and found
    began : begins a worker with these options; `begin_worker` by default
    """
    starts = 0
    while n > 0:
        with (began or begin_worker)(["--block", str(first), str(n), *tally.mode.options]) as worker:
            heard = _listen(worker.stdout, tally) if worker.stdout else Heard()
        if heard.done:
            return
        if heard.last is None:
            starts += 1
            if starts == STARTS:
                tally.untried.append((first, n))
                tally.add(first, f"worker that does not begin, status {worker.returncode}")
                return
            time.sleep(WAIT_S * starts)
            continue
        starts = 0
        tally.add(
            heard.last, f"worker ended with status {worker.returncode}: {heard.kind or 'while an input was made'}"
        )
        if not heard.kind:
            tally.untried.append((heard.last, 1))
        n -= heard.last + 1 - first
        first = heard.last + 1


def begin_worker(options: list[str]) -> Worker:
    """Begin a worker with these options."""
    command = [sys.executable, "-W", "error", "-m", "tests.fuzz.run", *options]
    threads = dict.fromkeys(("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"), "1")
    return subprocess.Popen(
        command, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True, env={**os.environ, **threads}
    )


@dataclass
class Heard:
    """The last input that a worker came to, its kind once it was made, and whether the worker came to its end."""

    last: int | None = None
    kind: str = ""
    done: bool = False


def _listen(stream: IO[str], tally: Tally) -> Heard:
    heard = Heard()
    for line in stream:
        word, _, rest = line.rstrip("\n").partition(" ")
        if word == "try":
            heard = Heard(int(rest))
        elif word == "is":
            heard.kind, _, measured = rest.partition(" ")
            with tally.lock:
                tally.tried[heard.kind] += 1
                tally.measured += int(measured)
        elif word == "found":
            seed, _, what = rest.partition(" ")
            tally.add(int(seed), what)
        elif word in ("slowest", "largest"):
            most, _, seed = rest.partition(" ")
            tally.reached(word, float(most), int(seed))
        elif word == "done":
            heard.done = True
    return heard


def keep(seed: int, what: str, mode: Mode) -> None:
    """The smallest form of a finding that its worker survived, as files; in a process bounded as workers are."""
    bound_memory()
    signal.alarm(2 * LONGEST_S)
    case = mode.case(seed)
    folder = FOUND / hashlib.sha256(what.encode()).hexdigest()[:10]
    folder.mkdir(parents=True, exist_ok=True)
    (folder / "what.txt").write_text(f"{seed} {what}\n", encoding="utf-8")
    if not what.startswith(("worker", "time", "memory", "MemoryError")):
        for index, (name, content) in enumerate(case.files):

            def still(shorter: bytes, index: int = index, name: str = name, whole: Case = case) -> bool:
                files = (*whole.files[:index], (name, shorter), *whole.files[index + 1 :])
                return mode.outcome(replace(whole, files=files)).what == what

            shortest = smaller(content, still) if still(content) else content
            case = replace(case, files=(*case.files[:index], (name, shortest), *case.files[index + 1 :]))
    for index, (name, content) in enumerate(case.files):
        (folder / f"{index}-{Path(name).name[-40:] or 'file'}").write_bytes(content)
    for name, table in (("bike.toml", case.bike), ("map.toml", case.columns)):
        if table is not None:
            (folder / name).write_bytes(table)
    if case.visit is not None:
        (folder / "visit.txt").write_text(repr(case.visit), encoding="utf-8")


def run(first: int, minutes: float, n_workers: int, mode: Mode) -> tuple[Tally, int]:
    """Blocks from ``first`` on until the time is over; returns the counts, and the number after the last input."""
    tally, blocks, end = Tally(mode), Queue[int](), time.monotonic() + 60 * minutes
    state = {"next": first}

    def feed() -> None:
        while time.monotonic() < end:
            try:
                begin = blocks.get_nowait()
            except Empty:
                begin, state["next"] = state["next"], state["next"] + mode.block
            run_block(begin, mode.block, tally)

    threads = [Thread(target=feed) for _ in range(n_workers)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    return tally, state["next"]


def noted(text: str, row: str, heading: str = "# ") -> str:
    """The results with one more row in the first table below a heading."""
    lines = text.split("\n")
    below = next(place for place, line in enumerate(lines) if line.startswith(heading))
    begin = next(place for place, line in enumerate(lines) if place > below and line.startswith("| --- "))
    end = next((place for place in range(begin, len(lines)) if not lines[place].startswith("|")), len(lines))
    return "\n".join([*lines[:end], row, *lines[end:]])


def main() -> int:
    """Run, keep what was found, and add a line to the results; status 1 where anything was found."""
    parser = argparse.ArgumentParser(description="Fuzz every reader of ridelog.")
    parser.add_argument("--minutes", type=float, default=10)
    parser.add_argument("--first", type=int, default=1_000_000)
    parser.add_argument("--workers", type=int, default=os.cpu_count() or 1)
    parser.add_argument("--readers", action="store_true", help="small inputs, many, which are read and not measured")
    parser.add_argument("--only", choices=sorted({*KINDS, *KINDS_READ}), help="one kind of inputs")
    parser.add_argument("--block", type=int, nargs=2, help=argparse.SUPPRESS)
    parser.add_argument("--keep", nargs=2, help=argparse.SUPPRESS)
    parser.add_argument("--note", action="store_true", help="add the counts to RESULTS.md")
    arguments = parser.parse_args()
    mode = Mode(arguments.readers, arguments.only)
    if arguments.block:
        work(arguments.block[0], arguments.block[1], mode)
        return 0
    if arguments.keep:
        keep(int(arguments.keep[0]), arguments.keep[1], mode)
        return 0
    tally, after = run(arguments.first, arguments.minutes, arguments.workers, mode)
    row = row_of(tally, arguments.first, after)
    print(row, tally.worst, flush=True)  # noqa: T201
    if arguments.note:
        heading = HEADING_READ if mode.readers else "# "
        RESULTS.write_text(noted(RESULTS.read_text(encoding="utf-8"), row, heading), encoding="utf-8")
    for what, seeds in sorted(tally.found.items()):
        print(f"{len(seeds)} × {what}: {seeds[:5]}", flush=True)  # noqa: T201
        options = ["--keep", str(seeds[0]), what, *mode.options]
        subprocess.run([sys.executable, "-m", "tests.fuzz.run", *options], check=False)
    return 1 if tally.found else 0


def row_of(tally: Tally, first: int, after: int) -> str:
    """A row of the results: which inputs, how many were tried, of which kinds, and what came of it.

    Parameters
    ----------
    tally : what was counted
    first, after : number of the first input, and that after the last

    Returns
    -------
    A line of a table.
    """
    kinds = ", ".join(f"{kind} {n:,}" for kind, n in sorted(tally.tried.items()))
    missed = sum(n for _, n in tally.untried)
    tried = f"{sum(tally.tried.values()):,}" + (f" ({missed:,} not)" if missed else "")
    far = f"{tally.worst.get('slowest', (0.0, 0))[0]:.2f} s, {tally.worst.get('largest', (0.0, 0))[0]:.0f} MB"
    far = far if tally.mode.readers else f"{tally.measured:,}"
    return f"| {first:,} to {after - 1:,} | {tried} | {kinds} | {far} | {len(tally.found)} |"


if __name__ == "__main__":
    sys.exit(main())
