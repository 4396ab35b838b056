"""The rides of a store on the page: as tables, one by one, and anew once others write it."""

import pytest

from ridelog.web.kept.kept import PATIENCE_S, Kept
from ridelog.web.kept.sources import store_rides
from tests.fleet.store.kept import key_of, made_ride


@pytest.fixture
def kept(tmp_path, monkeypatch):
    monkeypatch.setattr("ridelog.web.kept.kept.PATIENCE_S", 60.0)
    kept = store_rides(str(tmp_path / "store"))
    for number in range(3):
        kept.store().write(made_ride(number))
    return kept


def test_rides_are_listed_newest_first_with_their_route_and_those_written_since(kept):
    rides = kept.listed().rides
    assert list(rides["key"]) == [key_of(2), key_of(1), key_of(0)]
    assert set(rides["route"]) == {key_of(0)}  # the same hill, as far
    kept.store().write(made_ride(3, bike="Ruff"))
    assert list(kept.listed().rides["bike"]) == ["Ruff", "Gannet", "Gannet", "Gannet"]
    assert {bike.bike for bike in kept.audit().bikes} == {"Ruff", "Gannet"}


def test_a_ride_is_shown_by_its_key_and_nothing_else_is_looked_for(kept, monkeypatch):
    shown = kept.shown(key_of(1))
    assert shown.title == "Gannet, Ride 1"
    assert shown.answer.energy == made_ride(1).answer.energy
    assert len(shown.answer.series) == 240
    assert kept.shown(key_of(9)) is None
    monkeypatch.setattr(Kept, "_there", lambda *_: pytest.fail("looked for"))
    for token in ("", "x" * 64, "../" + key_of(1)[3:], key_of(1) + "\n", key_of(1).upper()):
        assert kept.shown(token) is None


def test_a_hill_is_named_and_called_by_its_number_again(kept):
    (hill, *_) = kept.audit().hills
    kept.name_hill(hill.id.rpartition("-")[0], "Mill Lane")
    assert kept.audit().hills[0].name == f"Mill Lane, {hill.direction}"
    kept.name_hill(hill.id.rpartition("-")[0], "")
    assert kept.audit().hills[0].name == hill.name


def test_a_ride_knows_its_hills_once_the_rides_are_listed(kept):
    """It enters its one hill at 20 s."""
    assert kept.hills_of(key_of(1)) == {}
    kept.listed()
    (hill,) = kept.audit().hills
    assert kept.hills_of(key_of(1)) == {20.0: hill.id}
    assert kept.hills_of(key_of(9)) == kept.hills_of("x") == {}


def test_bikes_are_known_once_the_store_is_there_and_no_store_is_made_for_them(kept):
    """As of the sample rides, of which the fleet alone was looked at."""
    made = []
    samples = Kept(lambda _told, _found: made.append(1) or kept.store())
    assert samples.bikes() == ()
    assert made == []
    samples.audit()
    assert samples.bikes() == ("Gannet",)


def test_nobody_waits_long():
    assert PATIENCE_S <= 2
