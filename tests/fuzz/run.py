"""Fuzz every reader for some minutes: ``python -m tests.fuzz.run [--minutes M] [--first SEED] [--only KIND]``.

One worker a core, bounded in memory and time; a worker that dies is a finding and another takes its place. Each kind of
finding is made as small as it goes and kept in ``tests/fuzz/found/``; what was counted is added to ``RESULTS.md``.
"""

import argparse
import hashlib
import os
import resource
import signal
import subprocess
import sys
import time
from collections import Counter
from dataclasses import dataclass, field, replace
from pathlib import Path
from queue import Empty, Queue
from threading import Thread
from typing import IO

from tests.fuzz.case import KINDS, Case, case_of

HERE = Path(__file__).parent
FOUND, RESULTS = HERE / "found", HERE / "RESULTS.md"
BLOCK = 400  # inputs of one worker before it is replaced
LONGEST_S = 120  # an input that takes longer ends its worker
MOST_BYTES = 4_000_000_000  # address space of a worker


def work(first: int, n: int, only: str | None = None) -> None:
    """The inputs of one block, one line for each before it is tried, and one for what was found."""
    resource.setrlimit(resource.RLIMIT_AS, (MOST_BYTES, MOST_BYTES))
    from tests.fuzz.checks import finding

    out = sys.stdout
    for seed in range(first, first + n):
        case = case_of(seed, only)
        out.write(f"try {seed} {case.kind} {int(case.measured)}\n")
        out.flush()
        signal.alarm(LONGEST_S)
        found = finding(case)
        signal.alarm(0)
        if found:
            out.write(f"found {seed} {found.encode('unicode_escape').decode()}\n")
    out.write("done\n")


@dataclass
class Tally:
    """What was tried and found."""

    tried: Counter[str] = field(default_factory=Counter)
    measured: int = 0
    only: str | None = None  # the kind of all inputs
    found: dict[str, list[int]] = field(default_factory=dict)

    def add(self, seed: int, what: str) -> bool:
        """Note a finding; whether it is the first of its kind."""
        seeds = self.found.setdefault(what, [])
        seeds.append(seed)
        return len(seeds) == 1


def run_block(first: int, n: int, tally: Tally) -> None:
    """One worker over a block; where it dies, what it died of is noted and the rest is done by another."""
    while n > 0:
        command = [sys.executable, "-W", "error", "-m", "tests.fuzz.run", "--block", str(first), str(n)]
        command += [] if tally.only is None else ["--only", tally.only]
        threads = dict.fromkeys(("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"), "1")
        with subprocess.Popen(
            command, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True, env={**os.environ, **threads}
        ) as worker:
            last, done = _listen(worker.stdout, tally) if worker.stdout else (None, True)
        if done:
            return
        if last is None:
            raise SystemExit(f"the worker of block {first} did not begin: try {' '.join(command)}")
        tally.add(last, f"worker ended with status {worker.returncode}: {case_of(last, tally.only).kind}")
        n -= last + 1 - first
        first = last + 1


def _listen(stream: IO[str], tally: Tally) -> tuple[int | None, bool]:
    last, done = None, False
    for line in stream:
        word, _, rest = line.rstrip("\n").partition(" ")
        if word == "try":
            seed, kind, measured = rest.split()
            last = int(seed)
            tally.tried[kind] += 1
            tally.measured += int(measured)
        elif word == "found":
            seed, _, what = rest.partition(" ")
            if tally.add(int(seed), what):
                print(f"{seed}: {what}", flush=True)  # noqa: T201
        elif word == "done":
            done = True
    return last, done


def keep(seed: int, what: str, only: str | None = None) -> None:
    """The smallest form of a finding that its worker survived, as files; in a process bounded as workers are."""
    resource.setrlimit(resource.RLIMIT_AS, (MOST_BYTES, MOST_BYTES))
    signal.alarm(2 * LONGEST_S)
    from tests.fuzz.checks import finding, smaller

    case = case_of(seed, only)
    folder = FOUND / hashlib.sha256(what.encode()).hexdigest()[:10]
    folder.mkdir(parents=True, exist_ok=True)
    (folder / "what.txt").write_text(f"{seed} {what}\n", encoding="utf-8")
    if not what.startswith(("worker", "time", "memory", "MemoryError")):
        for index, (name, content) in enumerate(case.files):

            def still(shorter: bytes, index: int = index, name: str = name, whole: Case = case) -> bool:
                files = (*whole.files[:index], (name, shorter), *whole.files[index + 1 :])
                return finding(replace(whole, files=files)) == what

            shortest = smaller(content, still) if still(content) else content
            case = replace(case, files=(*case.files[:index], (name, shortest), *case.files[index + 1 :]))
    for index, (name, content) in enumerate(case.files):
        (folder / f"{index}-{Path(name).name[-40:] or 'file'}").write_bytes(content)
    for name, table in (("bike.toml", case.bike), ("map.toml", case.columns)):
        if table is not None:
            (folder / name).write_bytes(table)
    if case.visit is not None:
        (folder / "visit.txt").write_text(repr(case.visit), encoding="utf-8")


def run(first: int, minutes: float, n_workers: int, only: str | None = None) -> tuple[Tally, int]:
    """Blocks from ``first`` on until the time is over; returns the counts, and the number after the last input."""
    tally, blocks, end = Tally(only=only), Queue[int](), time.monotonic() + 60 * minutes
    state = {"next": first}

    def feed() -> None:
        while time.monotonic() < end:
            try:
                begin = blocks.get_nowait()
            except Empty:
                begin, state["next"] = state["next"], state["next"] + BLOCK
            run_block(begin, BLOCK, tally)

    threads = [Thread(target=feed) for _ in range(n_workers)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    return tally, state["next"]


def noted(text: str, row: str) -> str:
    """The results with one more row in their first table."""
    lines = text.split("\n")
    begin = next(place for place, line in enumerate(lines) if line.startswith("| --- "))
    end = next((place for place in range(begin, len(lines)) if not lines[place].startswith("|")), len(lines))
    return "\n".join([*lines[:end], row, *lines[end:]])


def main() -> int:
    """Run, keep what was found, and add a line to the results; status 1 where anything was found."""
    parser = argparse.ArgumentParser(description="Fuzz every reader of ridelog.")
    parser.add_argument("--minutes", type=float, default=10)
    parser.add_argument("--first", type=int, default=1_000_000)
    parser.add_argument("--workers", type=int, default=os.cpu_count() or 1)
    parser.add_argument("--only", choices=KINDS, help="one kind of inputs")
    parser.add_argument("--block", type=int, nargs=2, help=argparse.SUPPRESS)
    parser.add_argument("--keep", nargs=2, help=argparse.SUPPRESS)
    parser.add_argument("--note", action="store_true", help="add the counts to RESULTS.md")
    arguments = parser.parse_args()
    if arguments.block:
        work(arguments.block[0], arguments.block[1], arguments.only)
        return 0
    if arguments.keep:
        keep(int(arguments.keep[0]), arguments.keep[1], arguments.only)
        return 0
    tally, after = run(arguments.first, arguments.minutes, arguments.workers, arguments.only)
    total = sum(tally.tried.values())
    kinds = ", ".join(f"{kind} {n:,}" for kind, n in sorted(tally.tried.items()))
    row = f"| {arguments.first:,} to {after - 1:,} | {total:,} | {kinds} | {tally.measured:,} | {len(tally.found)} |"
    print(row)  # noqa: T201
    if arguments.note:
        RESULTS.write_text(noted(RESULTS.read_text(encoding="utf-8"), row), encoding="utf-8")
    for what, seeds in sorted(tally.found.items()):
        print(f"{len(seeds)} × {what}: {seeds[:5]}")  # noqa: T201
        only = [] if arguments.only is None else ["--only", arguments.only]
        subprocess.run([sys.executable, "-m", "tests.fuzz.run", "--keep", str(seeds[0]), what, *only], check=False)
    return 1 if tally.found else 0


if __name__ == "__main__":
    sys.exit(main())
