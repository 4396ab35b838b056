"""All rides of a store as tables: the newest first, with the road that each took."""

from ridelog.fleet.store.store import open_store
from ridelog.web.kept.listed import listed
from tests.fleet.store.kept import key_of, made_ride


def test_rides_over_one_hill_took_one_road_and_each_pass_is_of_one_hill(tmp_path):
    store = open_store(str(tmp_path / "store"), create=True)
    for number in range(2):
        store.write(made_ride(number))
    found = listed(store)
    assert list(found.rides["key"]) == [key_of(1), key_of(0)]
    assert set(found.rides["route"]) == {key_of(0)}
    assert found.passes.groupby("direction")["place"].nunique().eq(1).all()
    assert found.passes["place"].dtype == "str"


def test_an_empty_store_has_no_rides(tmp_path):
    found = listed(open_store(str(tmp_path / "store"), create=True))
    assert len(found.rides) == len(found.passes) == 0
