"""Who measures the rides: every ride comes back once, whatever happens to the process that had it."""

import os
from dataclasses import dataclass
from datetime import timedelta
from pathlib import Path

import pytest

from ridelog.errors import StoreError
from ridelog.fleet.folders import RideFiles, look_at
from ridelog.fleet.task import Task
from ridelog.fleet.workers import n_cores, on_cluster, on_processes
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


def test_a_scheduler_that_does_not_answer_is_told_in_one_sentence(tmp_path, kept):
    with pytest.raises(StoreError, match="no Dask scheduler answers there"):
        list(on_cluster(tasks(tmp_path, Noting(str(kept)), n=1), "tcp://127.0.0.1:9", patience_s=1.0))


def test_there_is_a_core():
    assert n_cores() >= 1
