"""A ride that is taken off a store's list is whole beside it, and is the same, file by file, once it is back."""

import os
from pathlib import Path

import pytest

from ridelog.errors import StoreError
from ridelog.fleet.store.places import ABANDONED_AFTER_S
from ridelog.fleet.store.store import open_store
from ridelog.web.kept.removing import put_back, remove, removed_from
from tests.fleet.store.kept import key_of, made_ride


def files(folder):
    return {path.relative_to(folder).as_posix(): path.read_bytes() for path in Path(folder).rglob("*.parquet")}


@pytest.mark.parametrize("merged", [False, True])
def test_a_ride_is_put_aside_and_comes_back_whole(tmp_path, merged):
    """Where several rides share files, too; nor does tidying up, which takes what is left for long, reach it."""
    store = open_store(tmp_path / "store", create=True)
    for number in range(3):
        store.write(made_ride(number))
    if merged:
        store.merge()
    key = key_of(1)
    answer, series, hills = store.answer(key).to_dict(), store.series(key), store.hills()
    remove(store, key)
    assert set(store.keys()) == {key_of(0), key_of(2)}
    assert [(each.key, each.bike) for each in removed_from(store)] == [(key, made_ride(1).bike)]
    for path in tmp_path.rglob("*.parquet"):
        os.utime(path, (path.stat().st_mtime - 2 * ABANDONED_AFTER_S,) * 2)
    store.tidy()
    open_store(tmp_path / "store-removed", create=True)
    put_back(store, key)
    assert removed_from(store) == []
    assert store.answer(key).to_dict() == answer
    assert store.series(key).equals(series)
    assert store.hills().equals(hills)


def test_a_ride_that_is_not_there_is_said_and_nothing_changes(tmp_path):
    store = open_store(tmp_path / "store", create=True)
    store.write(made_ride(0))
    before = files(tmp_path)
    for move, key in ((remove, key_of(1)), (put_back, key_of(0)), (remove, "../../x")):
        with pytest.raises(StoreError):
            move(store, key)
    assert files(tmp_path) == before
