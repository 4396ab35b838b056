"""The budget of memory and time of a command: kept, told in one sentence, and far above what rides take."""

import signal
import subprocess
import sys
import threading
import time
from functools import partial

import numpy as np
import pytest

from ridelog import budget
from ridelog.budget import Budget, within
from ridelog.errors import RidelogError
from tests.places import ROOT

SMALL = Budget(free_bytes=50_000_000, bytes_per_byte=60)


def hold(n_bytes: int, until_broken_off: bool = True) -> None:
    """Take memory, as code of ours does; in pieces too large to lie where others were let go before."""
    kept = [np.ones(40_000_000 // 8) for _ in range(n_bytes // 40_000_000)]
    end = time.monotonic() + 60
    while until_broken_off and time.monotonic() < end:
        time.sleep(0.01)
    for watch in budget._watches:
        assert watch._exceeded() is None, len(kept)


@pytest.fixture(autouse=True)
def as_long_as_it_takes(monkeypatch):
    """Where this process is slow to break off it is not ended, as `STUCK` is, with all tests in it."""
    monkeypatch.setattr(budget, "_GRACE_S", 60.0)


def kept(budget_of_it: Budget, n_read: int, work) -> None:
    with within(budget_of_it):
        budget.count(n_read)
        work()


def spin() -> None:
    while True:
        list(range(1000))


def take_for_its_own() -> None:
    try:
        hold(400_000_000)
    except BaseException:  # noqa: BLE001 - as a library may
        raise ValueError("a library's own") from None


def test_a_block_that_takes_more_memory_is_broken_off_and_told():
    with pytest.raises(RidelogError) as told:
        kept(SMALL, 20_000, partial(hold, 400_000_000))
    assert told.value.message == (
        "20 kB took more than 51 MB of memory, the most for files of that size, and ridelog ended the work"
    )
    assert "cut the log into rides" in told.value.hint


def test_a_block_that_takes_more_time_is_broken_off_and_told():
    with pytest.raises(RidelogError, match=r"^500 kB took longer than 1 s of the processor, the most for"):
        kept(Budget(free_s=0.5, s_per_byte=1e-6), 500_000, spin)


COUNTED = """
import gzip, io
from ridelog.errors import RidelogError
from ridelog.importers.registry import unpacked
from ridelog.budget import within
from tests.test_budget import SMALL, hold
packed = gzip.compress(b"time [s],speed [m/s]\\n" * 100_000, compresslevel=1)
with within(SMALL):
    unpacked(io.BytesIO(packed), name="a.csv.gz")
    hold(150_000_000, until_broken_off=False)
print("kept")
try:
    with within(SMALL):
        hold(150_000_000)
except RidelogError:
    print("ended")
"""


def test_what_was_read_and_unpacked_counts():
    """120 MB are within 50 MB + 60 bytes for each of 2.2 MB, packed and unpacked together, and not within 50 MB.

    In a process of its own: one that took much before may give it back to the system meanwhile.
    """
    told = subprocess.run([sys.executable, "-c", COUNTED], cwd=ROOT, capture_output=True, text=True, timeout=60)
    assert told.stdout.split() == ["kept", "ended"], told.stderr


def test_nothing_is_left_of_a_budget_that_was_kept():
    """What the block raises comes out as it is, a signal finds what it found before, and no thread looks on."""
    before = signal.getsignal(signal.SIGUSR2)
    with pytest.raises(ZeroDivisionError), within(SMALL):
        raise ZeroDivisionError
    with within(SMALL):
        assert signal.getsignal(signal.SIGUSR2) is not before
    assert signal.getsignal(signal.SIGUSR2) is before
    assert budget._watches == []
    assert "budget" not in {thread.name for thread in threading.enumerate()}


def test_what_was_broken_off_is_told_even_where_something_takes_it_for_its_own():
    with pytest.raises(RidelogError, match="of memory"):
        kept(SMALL, 0, take_for_its_own)


STUCK = """
import ridelog.budget as budget, numpy as np

def spin():
    kept = np.ones({n})
    while True:
        list(range(1000))

def deaf():
    while True:
        try:
            spin()
        except BaseException:
            pass

with budget.within(budget.Budget(free_bytes=50_000_000, bytes_per_byte=0, free_s={free_s})):
    deaf()
"""


@pytest.mark.parametrize(
    ("free_s", "n", "said"),
    [(60, 50_000_000, "0 kB took more than 50 MB of memory"), (1, 10, "0 kB took longer than 1 s of the processor")],
)
def test_a_process_that_does_not_come_to_an_end_is_ended(free_s, n, said):
    """Where what breaks it off is lost, as in a library that runs on: two lines, and the status of a file."""
    code = STUCK.format(free_s=free_s, n=n)
    ended = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, cwd=ROOT, timeout=90)
    assert ended.returncode == 3
    assert ended.stderr.startswith(said)
    assert len(ended.stderr.splitlines()) == 2


COMMAND = """
import mmap, sys, tempfile, time, ridelog.cli as cli
import ridelog
def measure(ride):
    with tempfile.TemporaryFile() as file:
        file.truncate(100_000_000)
        kept = [mmap.mmap(file.fileno(), 0, mmap.MAP_SHARED | mmap.MAP_POPULATE, mmap.PROT_READ) for _ in range(160)]
    time.sleep(60)
ridelog.measure = measure
sys.exit(cli.main(["measure", *sys.argv[1:]], sys.stdout, sys.stderr))
"""


def test_a_command_is_ended_in_one_sentence_that_names_the_bound():
    """The sample ride of 300 kB may take 2.5 GB and 60 bytes for each of them.

    Planted: a step that takes 16 GB, which are the same 100 MB again and again, so that to take them costs little.
    """
    files = sorted((ROOT / "sample_rides" / "commute").glob("*.[cg][sp][vx]"))
    n_bytes = sum(path.stat().st_size for path in files)
    ended = subprocess.run(
        [sys.executable, "-c", COMMAND, *map(str, files)], capture_output=True, text=True, cwd=ROOT, timeout=120
    )
    first, hint = ended.stderr.splitlines()
    assert ended.returncode == 3
    assert first == (
        f"{n_bytes / 1e3:.0f} kB took more than {2500 + 60 * n_bytes / 1e6:.0f} MB of memory, "
        "the most for files of that size, and ridelog ended the work"
    )
    assert hint.startswith("hint: cut the log into rides")


@pytest.mark.skipif(not sys.platform.startswith("linux"), reason="told and taken back by Linux alone")
def test_what_lies_free_between_what_is_in_use_goes_back_to_the_system():
    """Of 200 MB in pieces of 16 kB each 50th is in use, so that none of the heap's end is free."""
    code = """
import numpy as np
from ridelog.budget import _taken_bytes, give_back
np.ones(20 << 17)  # what is this large once is taken from the heap from then on
pieces = [np.ones(2000) for _ in range(12_500)]
kept = pieces[::50]
full = _taken_bytes()
del pieces
give_back()
print((full - _taken_bytes()) // 1_000_000)
"""
    given = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True, cwd=ROOT).stdout
    assert int(given) > 100
