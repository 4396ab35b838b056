"""One ride measured and kept: what cannot be measured comes back as words, never as an exception."""

import hashlib
from dataclasses import replace

import pytest

from ridelog.errors import InputError, RidelogError, StoreError
from ridelog.fleet.folders import RideFiles
from ridelog.fleet.look import look_at
from ridelog.fleet.store.store import open_store
from ridelog.fleet.task import Failure, Task, measured
from tests.fleet.recordings import MONDAY, write_log


@pytest.fixture
def task(tmp_path):
    path = write_log(tmp_path / "bike" / "log.csv", MONDAY)
    ride = RideFiles("heron", "monday", (look_at(path),), group="weak")
    return Task(ride, open_store(tmp_path / "store", create=True))


def test_a_ride_is_kept_with_its_name_its_group_and_what_its_recordings_are(task):
    assert measured(task) is None
    (row,) = task.store.answers().to_dict("records")
    assert (row["key"], row["bike"], row["name"], row["group"]) == (task.ride.key, "heron", "monday", "weak")
    assert row["recordings"] == task.ride.recordings_key


def test_a_ride_is_kept_with_the_digests_of_the_files_it_was_measured_with(task, tmp_path):
    bike = tmp_path / "bike" / "bike.toml"
    bike.write_text("[bike]\ntotal_mass_kg = 112.0\n", encoding="utf-8")
    given = Task(replace(task.ride, bike_file=look_at(bike)), task.store)
    assert measured(task) is None
    assert measured(given) is None
    kept = task.store.answers().set_index("key")
    assert kept.loc[given.ride.key, "bike_file"] == hashlib.sha256(bike.read_bytes()).hexdigest()
    assert kept.loc[task.ride.key, ["bike_file", "column_map"]].isna().all()


def test_a_file_that_is_gone_is_a_failure(task):
    task.ride.paths[0].unlink()
    failure = measured(task)
    assert failure.path.endswith("log.csv")
    assert failure.reason
    assert not failure.again


def test_a_fault_of_ours_is_one_too(task, monkeypatch):
    monkeypatch.setattr("ridelog.measure", lambda _ride: 1 / 0, raising=False)
    assert "ZeroDivisionError" in measured(task).reason


def test_a_store_that_takes_nothing_is_no_failure_of_the_ride(task, monkeypatch):
    def full(ride):
        raise StoreError("no room")

    monkeypatch.setattr(task.store, "write", full)
    with pytest.raises(StoreError):
        measured(task)


def test_a_failure_is_at_the_file_that_an_error_names():
    assert Failure.of(InputError("a.csv", "is empty", place="line 2", hint="fill it"), "b") == Failure(
        "a.csv", "line 2: is empty", "fill it"
    )
    assert Failure.of(RidelogError("no room"), "b") == Failure("b", "no room", None)
