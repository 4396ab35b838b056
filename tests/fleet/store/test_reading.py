"""Rows that were read once are not read again, and whatever has changed is."""

import weakref

import pytest

import ridelog
from ridelog.errors import StoreError
from ridelog.fleet.store import reading
from ridelog.fleet.store.places import Folder
from tests.fleet.store.kept import faults_of, key_of, made_ride


@pytest.fixture
def opened(monkeypatch):
    """The Parquet files that are opened."""
    opened = []
    unpacked = reading.unpacked

    def counted(content, path, names=None):
        opened.append(path)
        return unpacked(content, path, names)

    monkeypatch.setattr(reading, "unpacked", counted)
    monkeypatch.setattr(reading, "KEPT_FROM", 2)
    return opened


@pytest.fixture
def store(tmp_path):
    store = ridelog.open_store(tmp_path, create=True)
    for number in range(5):
        store.write(made_ride(number))
    return store


def test_a_file_is_opened_once(store, opened):
    first = store.answers()
    assert len(opened) == 5
    assert store.answers().equals(first)
    assert len(opened) == 5
    store.write(made_ride(7))
    assert len(store.answers()) == 6
    assert len(opened) == 6


def test_rows_of_many_files_are_joined_as_they_come(store, monkeypatch):
    """A table of a hundred columns takes more than the ride in it: of five no more than two stand together."""
    whole = store.answers()
    rows, read, standing = reading._rows, [], []

    def seen(*given):
        standing.append(sum(table() is not None for table in read))
        read.append(weakref.ref(table := rows(*given)))
        return table

    monkeypatch.setattr(reading, "_rows", seen)
    monkeypatch.setattr(reading, "TOGETHER", 2)
    assert store.answers().equals(whole)
    assert len(read) == 5
    assert max(standing) <= 2


def test_what_has_changed_is_read_anew(store, opened):
    store.answers(), store.hills(), store.events()
    store.write(made_ride(1, returned_wh=15.0))
    store.write(made_ride(2, version="0.2.0"))
    store.remove(key_of(3))
    rides = [made_ride(0), made_ride(1, returned_wh=15.0), made_ride(2, version="0.2.0"), made_ride(4)]
    assert faults_of(store, *rides) == []
    assert store.answers()["energy_returned_wh"].tolist() == [14.1, 15.0, 14.1, 14.1]
    assert store.answers()["ridelog"].tolist() == ["0.1.0", "0.1.0", "0.2.0", "0.1.0"]


@pytest.mark.parametrize("content", [b"", b"ARROW1" * 99, None, "cut"])
def test_a_damaged_or_lost_copy_changes_nothing(store, opened, tmp_path, content):
    first = store.answers()
    copy = tmp_path / ".rows" / "answers.arrow"
    if content is None:
        copy.unlink()
    else:
        copy.write_bytes(copy.read_bytes()[:-200] if content == "cut" else content)
    assert store.answers().equals(first)
    assert store.answers().equals(first)
    assert len(opened) == 10


def test_a_copy_of_other_columns_is_not_used(store, opened, tmp_path):
    first = store.answers()
    (tmp_path / ".rows" / "hills.arrow").write_bytes((tmp_path / ".rows" / "answers.arrow").read_bytes())
    assert len(store.hills()) == len(first)


def test_a_store_that_may_not_be_written_is_read(store, opened, monkeypatch):
    def refuse(self, contents):
        raise reading.StoreError("no")

    monkeypatch.setattr(Folder, "put", refuse)
    assert len(store.answers()) == 5


def test_where_a_file_goes_away_meanwhile_the_store_is_asked_anew(store, opened, monkeypatch):
    read = Folder.read
    removed = []

    def others(self, paths):
        if not removed and any(path.startswith("answers") for path in paths):
            removed.append(ridelog.open_store(self.root).remove(key_of(3)))
        return read(self, paths)

    monkeypatch.setattr(Folder, "read", others)
    assert set(store.answers()["key"]) == {key_of(number) for number in (0, 1, 2, 4)}
    assert len(removed) == 1


def test_where_files_go_away_all_the_time_it_is_said(store, monkeypatch):
    monkeypatch.setattr(Folder, "read", lambda *_: iter(()))
    monkeypatch.setattr("time.sleep", lambda _s: None)
    with pytest.raises(StoreError, match="its files change faster than they are read"):
        store.answers()


def test_columns_come_in_the_order_asked_for_though_no_file_holds_them(store, tmp_path):
    """The bike stands in the path of a file, and not in it."""
    rows = reading.asked(Folder(tmp_path), "answers", {"columns": ["bike", "energy_returned_wh", "key"]})
    assert list(rows.columns) == ["bike", "energy_returned_wh", "key"]
    assert set(rows["bike"]) == {made_ride(0).bike}
    with pytest.raises(StoreError, match="no column"):
        reading.asked(Folder(tmp_path), "answers", {"columns": ["speed"]})
