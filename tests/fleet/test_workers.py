"""Who measures the rides: every ride comes back once, whatever happens to the process that had it."""

import io
import os
import subprocess
import sys
from concurrent.futures import Future
from concurrent.futures.process import BrokenProcessPool
from dataclasses import dataclass, replace
from datetime import timedelta
from pathlib import Path

import pytest

from ridelog.cli import main
from ridelog.errors import StoreError
from ridelog.fleet import workers
from ridelog.fleet.folders import RideFiles
from ridelog.fleet.look import look_at
from ridelog.fleet.task import Task
from ridelog.fleet.workers import FEWEST_SHARED, n_cores, on_processes, spread
from tests.fleet.cluster import SETTINGS
from tests.fleet.recordings import MONDAY, write_log


@dataclass(frozen=True)
class Noting:
    """In the place of a store: a file for each ride, and an end of the process for one of a certain name."""

    folder: str
    deadly: str = "none"
    full: bool = False

    def write(self, ride):
        if ride.name == self.deadly:
            os._exit(9)
        if self.full:
            raise StoreError("no room", hint="make room")
        with Path(self.folder, ride.name).open("a") as stream:
            stream.write("x")


def tasks(tmp_path, store, n=6):
    rides = (write_log(tmp_path / f"{k}.csv", MONDAY + timedelta(hours=k), current_a=k) for k in range(n))
    return [Task(RideFiles("heron", path.stem, (look_at(path),)), store) for path in rides]


@pytest.fixture
def kept(tmp_path):
    folder = tmp_path / "kept"
    folder.mkdir()
    return folder


@pytest.mark.parametrize("n_workers", [1, 2])
def test_every_ride_is_measured_once(tmp_path, kept, n_workers):
    made = tasks(tmp_path, Noting(str(kept)))
    outcomes = list(on_processes(made, n_workers))
    assert sorted(task.ride.name for task, failure in outcomes if failure is None) == [f"{k}" for k in range(6)]
    assert {path.name: path.read_text() for path in kept.iterdir()} == {f"{k}": "x" for k in range(6)}


def test_fresh_processes_take_over_and_no_ride_is_lost(tmp_path, kept, monkeypatch):
    made, pool = [], workers._pool
    monkeypatch.setattr(workers, "RIDES_A_PROCESS", 1)
    monkeypatch.setattr(workers, "_pool", lambda n: made.append(n) or pool(n))
    outcomes = list(on_processes(tasks(tmp_path, Noting(str(kept))), 2))
    assert sorted(task.ride.name for task, failure in outcomes if failure is None) == [f"{k}" for k in range(6)]
    assert made == [2, 2, 2]


def test_looks_at_thousands_of_files_end():
    """Processes that were renewed after 200 pieces each left the rest undone, and nobody to do it."""
    program = (
        "from ridelog.fleet.workers import spread\n"
        "if __name__ == '__main__':\n"
        "    print(sum(spread(abs, range(4000), 2)))\n"
    )
    run = [sys.executable, "-c", program]
    done = subprocess.run(run, capture_output=True, text=True, timeout=240, env={**os.environ, **SETTINGS}, check=True)
    assert int(done.stdout) == sum(range(4000))


def test_a_ride_that_ends_its_process_is_told_and_all_others_are_measured(tmp_path, kept):
    outcomes = list(on_processes(tasks(tmp_path, Noting(str(kept), deadly="2")), 2))
    assert len(outcomes) == 6
    (failed,) = [(task, failure) for task, failure in outcomes if failure is not None]
    assert failed[0].ride.name == "2"
    assert failed[1].again
    assert "ended the process" in failed[1].reason
    assert {path.name for path in kept.iterdir()} == {"0", "1", "3", "4", "5"}


def test_a_store_that_takes_nothing_ends_the_work(tmp_path, kept):
    with pytest.raises(StoreError, match="no room") as caught:
        list(on_processes(tasks(tmp_path, Noting(str(kept), full=True)), 2))
    assert caught.value.hint == "make room"


def test_a_ride_that_cannot_be_read_is_told_with_its_file_and_what_to_do(tmp_path, kept):
    made = tasks(tmp_path, Noting(str(kept)), n=2)
    made[0].ride.paths[0].write_text("nothing,of,a,log\n1,2,3,4\n")
    failures = {task.ride.name: failure for task, failure in on_processes(made, 1)}
    assert failures["1"] is None
    assert failures["0"].path.endswith("0.csv")
    assert failures["0"].hint


def no_scheduler(address):
    """What is said where none answers."""
    return [
        "measuring 1 ride …", f"{address}: no Dask scheduler answers there",
        "hint: an address is like tcp://192.168.1.7:8786",
    ]  # fmt: skip


def test_a_scheduler_that_does_not_answer_is_told_in_one_sentence_and_no_more(tmp_path):
    """Also by what Dask says as a process ends."""
    write_log(tmp_path / "heron" / "log.csv", MONDAY)
    command = [sys.executable, "-m", "ridelog", "audit", str(tmp_path), "--scheduler", "tcp://127.0.0.1:9"]
    done = subprocess.run(command, capture_output=True, text=True, timeout=60, env={**os.environ, **SETTINGS})
    assert done.returncode == 3
    assert done.stderr.splitlines() == no_scheduler("tcp://127.0.0.1:9")


@pytest.mark.parametrize("address", ["nonsense", "tcp://127.0.0.1", ""])
def test_an_address_that_is_none_is_told_alike(tmp_path, capfd, address):
    write_log(tmp_path / "heron" / "log.csv", MONDAY)
    out, err = io.StringIO(), io.StringIO()
    assert main(["audit", str(tmp_path), "--scheduler", address], out, err) == 3
    assert err.getvalue().splitlines() == no_scheduler(address)
    assert tuple(capfd.readouterr()) == ("", "")


def told(look):
    """A look with the words of its error, as errors are not compared."""
    return replace(look, error=None), look.error and look.error.lines()


def test_looks_of_many_processes_are_those_of_one_also_where_these_are_ended(tmp_path, monkeypatch):
    paths = [write_log(tmp_path / f"{k}.csv", MONDAY, seconds=k + 2) for k in range(FEWEST_SHARED)]
    paths[5].write_bytes(b"junk")
    alone = {path: told(look_at(path)) for path in paths}
    assert {look.path: told(look) for look in spread(look_at, paths, 2)} == alone
    monkeypatch.setattr(workers, "_pool", lambda _n: _Pool(breaks_at=3))
    taken = list(spread(look_at, paths, 2))
    assert len(taken) == len(paths)
    assert {look.path: told(look) for look in taken} == alone


def who(number):
    """Which process had it."""
    return number, os.getpid()


def test_larger_pieces_are_shared_where_there_are_few():
    given = range(workers.FEWEST_LARGE)
    shared = list(spread(who, given, 2, fewest=workers.FEWEST_LARGE, at_once=1))
    assert [number for number, _ in shared] == list(given)
    assert os.getpid() not in {process for _, process in shared}
    assert {process for _, process in spread(who, given, 2)} == {os.getpid()}


def test_there_is_a_core():
    assert n_cores() >= 1


def test_a_ride_that_is_handed_out_as_the_processes_break_is_not_lost(tmp_path, kept, monkeypatch):
    """The pool breaks on the third ride handed out, before any was done; the next pool does all."""
    pools = [_Pool(breaks_at=3)]
    monkeypatch.setattr(workers, "_pool", lambda _n: pools.pop() if pools else _Pool())
    outcomes = list(on_processes(tasks(tmp_path, Noting(str(kept))), 2))
    assert sorted(task.ride.name for task, failure in outcomes if failure is None) == [f"{k}" for k in range(6)]


class _Pool:
    """A pool that works at once, or one that breaks as a ride is handed to it."""

    def __init__(self, breaks_at=None):
        self.breaks_at, self.n_handed = breaks_at, 0

    def __enter__(self):
        return self

    def __exit__(self, *_error):
        return False

    def submit(self, work, task):
        self.n_handed += 1
        if self.n_handed == self.breaks_at:
            raise BrokenProcessPool
        future = Future()
        if self.breaks_at is None:
            future.set_result(work(task))
        return future

    def map(self, work, given, **_how):
        for n_handed, each in enumerate(given, start=1):
            if n_handed == self.breaks_at:
                raise BrokenProcessPool
            yield work(each)

    def shutdown(self, **_how):
        """Nothing is left to end."""
