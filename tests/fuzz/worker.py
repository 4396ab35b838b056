"""One worker of the bench: inputs of one way, one after the other, bounded in memory and time."""

import resource
import signal
import sys
from dataclasses import dataclass
from typing import TextIO

from tests.fuzz.case import Case, case_of
from tests.fuzz.checks import Outcome, finding_of, resting_bytes, taken, warm
from tests.fuzz.world import world

LONGEST_S = 120  # of the processor: an input that takes longer ends its worker
LONGEST_WAIT_S = 3600  # by the clock; long, for others may have the processor meanwhile
MOST_BYTES = 4_000_000_000  # address space of a worker
MOST_KEPT_BYTES = 100_000_000  # that a worker's memory at rest may have grown by when it ends


@dataclass(frozen=True)
class Mode:
    """Which inputs are made, how they are taken, and how many a worker takes before it is replaced."""

    readers: bool = False
    only: str | None = None  # the kind of all inputs

    @property
    def block(self) -> int:
        """Inputs of one worker."""
        return 4000 if self.readers else 400

    @property
    def options(self) -> list[str]:
        """The same, as options of this program."""
        return [*(["--readers"] if self.readers else []), *([] if self.only is None else ["--only", self.only])]

    def case(self, seed: int) -> Case:
        """The input of this number."""
        if self.readers:
            from tests.fuzz.readers.cases import small_case

            return small_case(seed, self.only)
        return case_of(seed, self.only)

    def outcome(self, case: Case) -> Outcome:
        """Take an input."""
        if self.readers:
            from tests.fuzz.readers.taken import read_and_told, warm_readers

            warm_readers()
            return finding_of(case, read_and_told)
        warm()
        if self.only in (None, "page"):  # at once: what the page takes is not what the first look at it leaves behind
            world()
        return finding_of(case, taken)


def work(first: int, n: int, mode: Mode, out: TextIO = sys.stdout) -> None:
    """The inputs of one block, one line for each before it is made, one of what kind it is, and one for what was found.

    At the end, how far the worker's memory at rest has grown, and what took the most time and memory.
    """
    bound_memory()
    worst = {"slowest": (0.0, first), "largest": (0.0, first)}
    begin_bytes = None
    for seed in range(first, first + n):
        out.write(f"try {seed}\n")
        out.flush()
        case = mode.case(seed)
        out.write(f"is {case.kind} {int(case.measured)}\n")
        out.flush()
        watch(LONGEST_S)
        outcome = mode.outcome(case)
        watch(0)
        begin_bytes = begin_bytes or resting_bytes()
        worst["slowest"] = max(worst["slowest"], (outcome.used_s, seed))
        worst["largest"] = max(worst["largest"], (outcome.used_bytes / 1e6, seed))
        if outcome.what:
            out.write(f"found {seed} {outcome.what.encode('unicode_escape').decode()}\n")
    for word, (most, seed) in worst.items():
        out.write(f"{word} {most:.3f} {seed}\n")
    if begin_bytes is not None and resting_bytes() - begin_bytes > MOST_KEPT_BYTES:
        out.write(f"found {first} memory kept by a worker: {first} and {n - 1} after it\n")
    out.write("done\n")


def bound_memory() -> None:
    """Let this process have so much memory and no more."""
    resource.setrlimit(resource.RLIMIT_AS, (MOST_BYTES, MOST_BYTES))


def watch(most_s: float) -> None:
    """End this process where it works for longer from now on, or waits for very long; 0 for no watch."""
    signal.setitimer(signal.ITIMER_PROF, most_s)
    signal.alarm(LONGEST_WAIT_S if most_s else 0)
