"""What a store holds, asked of one that others write."""

import pytest

import ridelog
from ridelog.errors import StoreError
from ridelog.fleet.store.held import GoneError, held_rides, listed, steady
from ridelog.fleet.store.places import Folder
from tests.fleet.store.kept import key_of, made_ride


def test_who_is_told_that_a_file_is_gone_asks_anew(monkeypatch):
    monkeypatch.setattr("time.sleep", lambda _s: None)
    tries = []

    def work():
        tries.append(1)
        if len(tries) < 3:
            raise GoneError
        return "told"

    assert steady(work, "store") == "told"

    def never():
        raise GoneError

    with pytest.raises(StoreError, match="store: its files change faster than they are read"):
        steady(never, "store")


def test_shared_files_tell_the_same_rides(tmp_path):
    store, place = ridelog.open_store(tmp_path, create=True), Folder(tmp_path)
    for number in range(3):
        store.write(made_ride(number))
    before = held_rides(place, place.listing("answers"))
    store.merge()
    after = held_rides(place, place.listing("answers"))
    told = [{(each.key, each.version, each.bike, each.month) for held in found.values() for each in held}
            for found in (before, after)]  # fmt: skip
    assert told[0] == told[1]
    assert all(each.shared for held in after.values() for each in held)


def test_details_that_go_away_after_the_answers_were_listed_are_not_taken_for_none(tmp_path, monkeypatch):
    store, place = ridelog.open_store(tmp_path, create=True), Folder(tmp_path)
    store.write(made_ride(1))
    store.write(made_ride(2))
    listing = Folder.listing

    def late(self, folder):
        if folder == "hills":
            monkeypatch.setattr(Folder, "listing", listing)
            ridelog.open_store(tmp_path).merge()
        return listing(self, folder)

    monkeypatch.setattr(Folder, "listing", late)
    with pytest.raises(GoneError):
        listed(place, "hills")
    files, rides = listed(place, "hills")
    assert len(files) == 1
    assert set(rides) == {key_of(1), key_of(2)}
