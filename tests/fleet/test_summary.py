"""What all rides of some bikes tell together: sums by hand, and only of the rides that are asked for."""

from dataclasses import replace

import numpy as np
import pytest

from ridelog.fleet.store.store import open_store
from ridelog.fleet.summary import audit_of
from ridelog.fleet.task import Failure
from ridelog.uncertain.quantity import Quantity
from tests.fleet.store.kept import made_ride


@pytest.fixture
def store(tmp_path):
    store = open_store(tmp_path / "store", create=True)
    for number in range(6):
        store.write(made_ride(number, bike="Avocet" if number < 4 else "Ruff", returned_wh=10.0 + number))
    return store


def test_each_bike_has_its_sums_and_its_mean(store):
    audit = audit_of(store, list(store.keys()), (6, 0), ())
    avocet, ruff = audit.bikes
    rows = store.answers(bikes=["Avocet"])
    assert (avocet.bike, avocet.rides, ruff.bike, ruff.rides) == ("Avocet", 4, "Ruff", 2)
    assert avocet.returned_wh == pytest.approx(10 + 11 + 12 + 13)
    assert avocet.drawn_wh == pytest.approx(rows["energy_drawn_wh"].sum())
    assert avocet.distance_m == pytest.approx(np.nansum(rows["ride_distance_m"]))
    assert avocet.recovered_pct.value == pytest.approx(rows["energy_recovered_pct"].mean(), rel=0.05)
    assert ruff.recovered_pct is None
    assert [one.code for one in ruff.stands_out] == ["not-enough-rides"]
    assert avocet.first < avocet.last


def test_only_the_rides_that_are_asked_for_count(store):
    keys = store.answers(bikes=["Ruff"])["key"].tolist()
    audit = audit_of(store, keys, (0, 2), (Failure("x", "is empty"),))
    assert [(bike.bike, bike.rides) for bike in audit.bikes] == [("Ruff", 2)]
    assert (audit.measured, audit.unchanged, len(audit.failed)) == (0, 2, 1)


def test_the_same_hill_on_several_rides_is_one(store):
    audit = audit_of(store, list(store.keys()), (6, 0), ())
    assert sum(hill.passes for hill in audit.hills) == len(store.hills())
    assert max(hill.passes for hill in audit.hills) == 6


def test_a_store_without_rides_tells_of_no_bike(tmp_path):
    empty = open_store(tmp_path / "empty", create=True)
    assert audit_of(empty, [], (0, 0), ()).bikes == ()


def test_a_ride_of_which_others_tell_that_nothing_came_back_stands_in_the_history_with_0(tmp_path):
    """As in the bike's own figure; a ride of another logger, which may clip at zero, stays not known."""
    store = open_store(tmp_path / "store", create=True)
    for number, layout in enumerate("aaab"):
        ride, shows = made_ride(number), number < 2
        energy = ride.answer.energy if shows else replace(ride.answer.energy, recovered_pct=None)
        told = {"can_show_return": shows, "log_layout": layout}
        store.write(replace(ride, answer=replace(ride.answer, energy=energy), extra=told))
    (bike,) = audit_of(store, list(store.keys()), (4, 0), ()).bikes
    first, second, dead, other = (point.recovered_pct for point in bike.history)
    assert min(first.value, second.value) > 1
    assert dead == Quantity(0.0, 0.0, 0.0)
    assert other is None
