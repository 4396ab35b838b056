"""Rides of a bike and month come into one file, and are read as before, whoever writes meanwhile."""

import contextlib
import os
import subprocess
import sys
import time
import uuid
from itertools import count
from pathlib import Path

import pandas as pd
import pyarrow.parquet as pq
import pytest
from fsspec.implementations.memory import MemoryFileSystem

import ridelog
from ridelog.errors import StoreError
from ridelog.fleet.store.held import held_rides
from ridelog.fleet.store.measured import Names
from ridelog.fleet.store.merging import MERGED, merge, partitions
from ridelog.fleet.store.places import place_of
from tests.fleet.store.kept import faults_of, key_of, made_ride
from tests.places import ROOT

RIDES = [made_ride(number, bike="Tern" if number % 2 else "Gannet") for number in range(8)]  # March and April


@pytest.fixture(params=["folder", "memory", "s3"])
def address(request, tmp_path):
    if request.param == "folder":
        return str(tmp_path / "store")
    base = "memory:/" if request.param == "memory" else request.getfixturevalue("bucket")
    return f"{base}/{uuid.uuid4().hex}"


@pytest.fixture
def store(tmp_path):
    return filled(str(tmp_path / "store"))


def filled(address):
    store = ridelog.open_store(address, create=True)
    for ride in RIDES:
        store.write(ride)
    return store


def files(address, table="answers"):
    return sorted(place_of(address).listing(table))


def tables(store):
    return [getattr(store, table)() for table in ("answers", "hills", "events", "findings")]


def test_what_was_merged_reads_as_before_everywhere(address):
    store = filled(address)
    before = tables(store)
    store.merge()
    assert [len(files(address, table)) for table in ("answers", "hills", "series")] == [4, 4, 8]
    for opened in (store, ridelog.open_store(address)):
        assert all(now.equals(was) for now, was in zip(tables(opened), before, strict=True))
        assert faults_of(opened, *RIDES) == []
    again = files(address)
    store.merge()
    assert files(address) == again


def test_rides_come_into_go_from_and_change_in_what_was_merged_everywhere(address):
    store = filled(address)
    store.merge()
    newer, new = made_ride(1, bike="Tern", version="0.2.0", returned_wh=16.0), made_ride(9, bike="Tern")
    for ride in (newer, new):
        store.write(ride)
    store.remove(key_of(3), key_of(0), key_of(77))
    left = [newer, new, *(RIDES[number] for number in (2, 4, 5, 6, 7))]
    for _ in range(2):
        assert faults_of(store, *left) == []
        assert set(store.keys()) == {ride.key for ride in left}
        store.merge()
    assert len(files(address)) == 4
    assert len(files(address, "series")) == 7


def test_other_programs_read_each_ride_once(store, tmp_path):
    store.merge()
    store.write(made_ride(1, bike="Tern", version="0.2.0"))
    store.merge()
    rides = pd.read_parquet(tmp_path / "store" / "answers")
    assert sorted(rides["key"]) == sorted(ride.key for ride in RIDES)
    assert set(rides["bike"]) == {"Gannet", "Tern"}


def test_a_ride_that_is_called_otherwise_leaves_what_it_shared(store, tmp_path):
    store.merge()
    store.rename({key_of(2): Names("Skua", "To work", "strong")})
    for _ in range(2):
        row = store.answers().set_index("key").loc[key_of(2)]
        assert tuple(row[["bike", "name", "group"]]) == ("Skua", "To work", "strong")
        assert set(store.hills().set_index("key").loc[[key_of(2)], "bike"]) == {"Skua"}
        assert len(store.answers()) == 8
        store.merge()
    assert "Skua" in store.answers(bikes=["Skua"])["bike"].tolist()
    assert key_of(2) not in pd.read_parquet(tmp_path / "store" / "answers" / "bike=Gannet")["key"].tolist()


def test_a_merged_ride_takes_less_room(store, tmp_path):
    def taken():
        return sum(path.stat().st_size for path in (tmp_path / "store" / "answers").rglob("*.parquet"))

    before = taken()
    store.merge()
    assert taken() < 0.6 * before
    (path, *_) = (tmp_path / "store" / "answers").rglob("merged-*.parquet")
    assert pq.ParquetFile(path).metadata.num_rows >= 2


def test_lost_or_damaged_notes_change_nothing(store, tmp_path):
    store.merge()
    keys = store.keys()
    for content in (b"", b"{", b"[1]", b'{"a": 3}', None):
        notes = tmp_path / "store" / ".rows" / "merged.json"
        if content is None:
            notes.unlink()
        else:
            notes.write_bytes(content)
        assert ridelog.open_store(tmp_path / "store").keys() == keys


def test_who_finds_another_one_merging_leaves_it(store, tmp_path, monkeypatch):
    with place_of(tmp_path / "store").alone(0.0) as alone:
        assert alone
        store.merge()
        assert len(files(tmp_path / "store")) == 8
    store.merge()
    with place_of(tmp_path / "store").alone(0.0):
        monkeypatch.setattr("ridelog.fleet.store.store.PATIENCE_S", 0.05)
        with pytest.raises(StoreError, match="another ridelog is putting its files together"):
            store.remove(key_of(1))
    store.remove(key_of(1))
    assert len(store.keys()) == 7


def test_what_was_written_anew_since_it_was_read_stays(store, tmp_path, monkeypatch):
    """A writer comes between the reading of a ride and its being taken away."""
    place = place_of(tmp_path / "store")
    answers = place.listing("answers")
    part = partitions(held_rides(place, answers), answers)[0]
    number = next(n for n in range(8) if RIDES[n].key == part.rides[0].key)
    changed = made_ride(number, bike=part.bike, returned_wh=15.0)
    put = place.put

    def late(contents):
        put(contents)
        ridelog.open_store(tmp_path / "store").write(changed)

    monkeypatch.setattr(place, "put", late)
    merge(place, part)
    assert faults_of(store, changed, *(ride for ride in RIDES if ride.key != changed.key)) == []
    store.merge()
    assert faults_of(store, changed, *(ride for ride in RIDES if ride.key != changed.key)) == []


def test_of_two_who_merge_in_object_storage_each_ride_is_read_once(address):
    store = filled(address)
    place = place_of(address)
    answers = place.listing("answers")
    parts = partitions(held_rides(place, answers), answers)
    store.write(made_ride(10, bike=parts[0].bike))
    there = [entry.path(table) for part in parts for entry, _ in part.files for table in MERGED]
    kept = dict(place.read(there))
    store.merge()
    place.put(kept)  # as if the first had not yet come to take them away
    for part in parts:
        merge(place, part)
    rides = [*RIDES, made_ride(10, bike=parts[0].bike)]
    assert faults_of(store, *rides) == []
    assert len(store.answers()) == 9
    store.merge()
    assert faults_of(store, *rides) == []


class EndedError(BaseException):
    """As by a signal: nothing may catch it."""


def test_ended_at_any_of_its_requests_merging_leaves_each_ride_once_in_object_storage(monkeypatch):
    rides = [RIDES[0], RIDES[2], made_ride(3, bike="Gannet")]  # of one bike and month
    done = []
    for step in count():
        address = f"memory://{uuid.uuid4().hex}"
        store = ridelog.open_store(address, create=True)
        for ride in rides:
            store.write(ride)
        left = iter(range(step))
        with monkeypatch.context() as patch, contextlib.suppress(EndedError):
            for name in ("pipe_file", "rm_file"):
                patch.setattr(MemoryFileSystem, name, _ending(getattr(MemoryFileSystem, name), left))
            store.merge()
            done.append(step)
        for _ in range(2):  # as it was left, and merged by the next
            assert faults_of(ridelog.open_store(address), *rides) == []
            assert len(store.answers()) == len(rides)
            store.merge()
        assert len(files(address)) == 1
        if done:
            break
    assert done[0] >= 4 + 3 * 4


def _ending(request, left):
    """A request that is ended before it begins, once none is left."""

    def made(*given, **named):
        if next(left, None) is None:
            raise EndedError
        return request(*given, **named)

    return made


MERGER = """
import sys
import ridelog
from tests.fleet.store.test_merging import RIDES
store = ridelog.open_store(sys.argv[1])
while True:
    for ride in RIDES:
        store.write(ride)
    store.merge()
"""


def test_who_reads_while_others_write_and_merge_sees_each_ride_once(store, tmp_path):
    merger = subprocess.Popen(
        [sys.executable, "-c", MERGER, str(tmp_path / "store")], env={**os.environ, "PYTHONPATH": str(ROOT)}
    )
    try:
        patience_s, seen = time.monotonic() + 60, set()
        while len(seen) < 4 and time.monotonic() < patience_s:  # until it was read in some states of it
            reader = ridelog.open_store(Path(tmp_path / "store"))
            for table in tables(reader):
                assert sorted(set(table["key"])) == sorted(ride.key for ride in RIDES)
            assert len(reader.answers()) == 8
            assert reader.answer(key_of(1)) == RIDES[1].answer
            seen.add(tuple("merged" in path for path in files(tmp_path / "store")))
        assert len(seen) >= 4
    finally:
        merger.kill()
        merger.wait()
