"""What many rides tell together: said once, by the same numbers as the audit says them, with the rider's names."""

import pytest

from ridelog.fleet import summary
from ridelog.fleet.store.catalogue import Attempt
from ridelog.fleet.store.store import open_store
from ridelog.fleet.summary import audit_of
from ridelog.fleet.together import audit_of_store
from tests.fleet.store.kept import key_of, made_ride


@pytest.fixture
def store(tmp_path):
    store = open_store(tmp_path / "store", create=True)
    for number in range(6):
        store.write(made_ride(number, bike="Avocet" if number < 4 else "Ruff", returned_wh=10.0 + number))
    return store


def test_a_store_says_what_an_audit_of_all_its_rides_says_once(store, monkeypatch):
    told = audit_of_store(store)
    assert told == audit_of(store, list(store.keys()), (0, 6), ())
    monkeypatch.setattr(summary, "audit_of", lambda *_: pytest.fail("said twice"))
    assert audit_of_store(store) == told


def test_another_ride_is_told(store):
    before = audit_of_store(store)
    store.write(made_ride(6, bike="Ruff"))
    assert [bike.rides for bike in before.bikes] == [4, 2]
    assert sorted(bike.rides for bike in audit_of_store(store).bikes) == [3, 4]


@pytest.mark.parametrize("comes", [6, 5])  # another ride, or one that is kept anew and is not there for a moment
def test_a_store_that_is_written_while_it_is_read_is_told_of_what_was_there_and_nothing_of_it_is_kept(
    store, monkeypatch, comes
):
    ride = made_ride(comes, bike="Ruff")
    store.remove(ride.key)
    looked = store.answers()
    store.write(ride)
    with monkeypatch.context() as between:
        real, told = type(store).answers, iter([looked])

        def answers(self, **which):  # the audit's own look, between that of its rides and that of their hills
            if which:
                return real(self, **which)
            found = next(told)
            store.write(made_ride(comes, bike="Ruff", returned_wh=33.0))  # under the same names
            return found

        between.setattr(type(store), "answers", answers)
        seen = audit_of_store(store)
    assert sum(bike.rides for bike in seen.bikes) == sum(hill.passes for hill in seen.hills) == len(looked)
    after = audit_of_store(store)
    assert sum(bike.rides for bike in after.bikes) == len(looked) + 1
    assert after == audit_of(store, list(store.keys()), (0, len(looked) + 1), ())


def test_a_ride_that_is_gone_when_its_version_is_asked_for_is_no_fault(store, monkeypatch):
    kept = type(store).keys

    def keys(self):
        held = kept(self)
        held.pop(key_of(5))
        return held

    monkeypatch.setattr(type(store), "keys", keys)
    assert sum(bike.rides for bike in audit_of_store(store).bikes) == 6


def test_what_could_not_be_measured_is_told_unless_it_was_since(store):
    for key in (key_of(1), key_of(99)):
        attempt = Attempt(key, "a.csv\nb.gpx", "Ruff", "x", "failed", "is empty", "log again", "0.1.0", "2026-01-01")
        store.catalogue.note([attempt])
    assert [(each.path, each.reason, each.hint) for each in audit_of_store(store).failed] == [
        ("a.csv", "is empty", "log again")
    ]


def test_a_hill_is_called_as_the_rider_calls_it_and_nothing_else_moves(store, tmp_path, monkeypatch):
    before = audit_of_store(store)
    (first, *_) = before.hills
    (tmp_path / "store" / "hills.toml").write_text(f'[hill]\n{first.id.rpartition("-")[0]} = "Mill Lane"\n')
    monkeypatch.setattr(summary, "audit_of", lambda *_: pytest.fail("all was said anew"))
    after = audit_of_store(store)
    (named, *_) = after.hills
    assert named.name == f"Mill Lane, {named.direction}"
    assert after.bikes == before.bikes
    assert {one.bike: one.passes for one in named.by_bike} == {"Avocet": 4, "Ruff": 2}
