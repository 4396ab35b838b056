"""The bike as a ride was measured with it: the same places as in the bike file."""

from ridelog.answer.provenance import NO_VALUE, OWN_KEYS, SECTIONS, BikeUsed
from ridelog.settings.bike import Bike, BikeSection


def test_every_value_is_found_by_its_place_in_the_bike_file():
    used = BikeUsed(pack={"full_cell_v": NO_VALUE}, road={"crr": NO_VALUE})
    assert set(used.values()) == {*(f"bike.{key}" for key in OWN_KEYS), "pack.full_cell_v", "road.crr"}


def test_the_sections_are_those_of_the_bike_file():
    assert {"bike", *SECTIONS} == set(Bike.model_fields)
    assert set(OWN_KEYS) <= set(BikeSection.model_fields)
