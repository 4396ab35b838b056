"""Where kept rides come from: samples are made when they are first asked for, a store is opened at once."""

import threading

import pytest

from ridelog.errors import StoreError
from ridelog.fleet.audit import Progress
from ridelog.fleet.store.store import open_store
from ridelog.web.kept import sources
from ridelog.web.kept.kept import UnderwayError
from ridelog.web.kept.sources import sample_rides, store_rides
from tests.fleet.recordings import MONDAY, write_log
from tests.fleet.store.kept import key_of, made_ride

LONG_S = 30.0


@pytest.fixture
def bikes(tmp_path):
    write_log(tmp_path / "heron" / "log.csv", MONDAY)
    (tmp_path / "heron" / "bike.toml").write_text('[bike]\nname = "Heron <i>"\n')
    return tmp_path


def test_samples_are_measured_by_the_first_who_asks(bikes, monkeypatch):
    made = []
    kept = sample_rides(lambda: made.append(1) or [bikes])
    assert made == []
    monkeypatch.setattr("ridelog.web.kept.kept.PATIENCE_S", LONG_S)
    assert [kept.audit().bikes[0].bike, list(kept.listed().rides["bike"])] == ["Heron <i>", ["Heron <i>"]]
    assert made == [1]
    assert not kept.keeps


def test_who_asks_meanwhile_hears_how_far_it_is_and_a_server_that_ends_breaks_it_off(bikes, monkeypatch):
    told, broken_off, go = threading.Event(), threading.Event(), threading.Event()

    def audited(_folders, store, *, told: object):
        try:
            store.write(made_ride(1))
            told(Progress(1, 2, 0))
            begun.set()
            assert go.wait(LONG_S)
            told(Progress(2, 2, 0))
        finally:
            broken_off.set()

    begun = told
    monkeypatch.setattr(sources, "audit", audited)
    monkeypatch.setattr("ridelog.web.kept.kept.PATIENCE_S", 0.0)
    kept = sample_rides(lambda: [bikes])
    with pytest.raises(UnderwayError):
        kept.listed()
    assert begun.wait(LONG_S)
    with pytest.raises(UnderwayError) as state:
        kept.listed()
    assert state.value.progress == Progress(1, 2, 0)
    assert kept.shown(key_of(1)).title == "Gannet, Ride 1"  # by its address, whatever is measured beside
    kept.close()
    go.set()
    assert broken_off.wait(LONG_S)


def test_a_store_is_opened_at_once_and_made_where_there_is_none(tmp_path):
    kept = store_rides(str(tmp_path / "new"))
    assert (tmp_path / "new" / "store.json").exists()
    assert kept.keeps
    (tmp_path / "other").mkdir()
    (tmp_path / "other" / "x.txt").write_text("x")
    with pytest.raises(StoreError):
        store_rides(str(tmp_path / "other"))


def test_a_ride_of_a_store_is_there_for_whoever_opens_it_first(tmp_path, monkeypatch):
    """By its address after a start, before anybody asked for the list; it was "no longer held", after ten seconds."""
    address = str(tmp_path / "store")
    open_store(address, create=True).write(made_ride(1))
    monkeypatch.setattr("ridelog.web.kept.kept.RIDE_PATIENCE_S", LONG_S)
    assert store_rides(address).shown(key_of(1)).title == "Gannet, Ride 1"
