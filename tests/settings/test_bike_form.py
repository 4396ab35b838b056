"""The bike file as a form: its keys, one value checked by itself, entries put into the text."""

import tomllib
from io import BytesIO

import pytest

from ridelog.errors import BikeFileError
from ridelog.settings.bike import Bike, read_bike
from ridelog.settings.bike_form import BIKE_KEYS, complaint, entered, remarks, value_of, with_entries


def test_every_key_of_the_bike_file_is_one_of_the_form():
    there = {f"{name}.{key}" for name, part in Bike.model_fields.items() for key in part.annotation.model_fields}
    assert set(BIKE_KEYS) == there
    assert (BIKE_KEYS["bike.total_mass_kg"].low, BIKE_KEYS["bike.total_mass_kg"].high) == (30, 600)
    assert BIKE_KEYS["pack.cells_in_series"].kind == "whole"
    assert BIKE_KEYS["sensor.averaged"].kind == "switch"
    assert "mid-drive" in BIKE_KEYS["motor.kind"].choices


@pytest.mark.parametrize(
    ("place", "written", "value"),
    [
        ("bike.total_mass_kg", " 112,5 ", 112.5),
        ("bike.total_mass_kg", "112.5", 112.5),
        ("bike.total_mass_kg", "", None),
        ("bike.total_mass_kg", "heavy", "heavy"),
        ("bike.total_mass_kg", "1.234,5", "1.234,5"),
        ("road.wind_mps", "-3", -3.0),
        ("pack.cells_in_series", "13", 13),
        ("pack.cells_in_series", "13.5", 13.5),
        ("bike.name", "12", "12"),
        ("sensor.averaged", "true", True),
    ],
)
def test_what_is_written_into_a_field_becomes_a_value(place, written, value):
    found = value_of(BIKE_KEYS[place], written)
    assert found == value
    assert type(found) is type(value)


@pytest.mark.parametrize(
    ("place", "written"),
    [
        ("bike.total_mass_kg", "5"), ("bike.total_mass_kg", "heavy"), ("bike.total_mass_kg", "9e999"),
        ("pack.cells_in_series", "13.5"), ("motor.kind", "steam"), ("sensor.averaged", "perhaps"),
        ("bike.name", "x" * 300),
    ],
)  # fmt: skip
def test_a_field_says_what_the_bike_file_says(place, written):
    """The same sentence as the file with that value is refused with."""
    value = value_of(BIKE_KEYS[place], written)
    section, key = place.split(".")
    text = f"[{section}]\n{key} = {value if not isinstance(value, str) else repr(value)}\n"
    with pytest.raises(BikeFileError) as refused:
        read_bike(BytesIO(text.encode()), name="b")
    assert complaint(BIKE_KEYS[place], value) == refused.value.what
    assert complaint(BIKE_KEYS[place], None) is None


def test_entries_are_put_in_and_taken_out_and_comments_stay():
    text = '# mine\n[bike]\nname = "Gannet" # hers\ntotal_mass_kg = 100\n'
    written = with_entries(text, {"bike.total_mass_kg": 104.0, "bike.name": None, "pack.cells_in_series": 13})
    assert written.startswith("# mine\n[bike]\n")
    assert tomllib.loads(written) == {"bike": {"total_mass_kg": 104.0}, "pack": {"cells_in_series": 13}}
    assert entered(written) == {"bike.total_mass_kg": 104.0, "pack.cells_in_series": 13}
    assert with_entries("", {"pack.capacity_ah": None}) == ""


@pytest.mark.parametrize("text", ["bike = 3\n", "[bike\n"])
def test_a_text_that_keys_cannot_be_set_in_is_refused(text):
    with pytest.raises(BikeFileError):
        with_entries(text, {"bike.total_mass_kg": 100.0})


def test_where_a_value_came_from_is_noted_behind_it_and_goes_with_it():
    text = with_entries("[bike]\ntotal_mass_kg = 100 # weighed\n", {"road.cda_m2": 0.5}, remark="by coasting")
    assert remarks(text) == {"bike.total_mass_kg": "weighed", "road.cda_m2": "by coasting"}
    again = with_entries(text, {"road.cda_m2": 0.6, "bike.total_mass_kg": 101.0})
    assert remarks(again) == {"bike.total_mass_kg": "weighed"}  # the rider's own note stays
    assert remarks("[bike") == {}
