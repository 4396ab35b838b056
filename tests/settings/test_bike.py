"""The bike file: read, and its mistakes named with key, line and what is allowed."""

import io
import math

import pytest

from ridelog.errors import BikeFileError
from ridelog.settings.bike import Bike, read_bike
from tests.places import REFERENCE


def test_the_bike_file_of_the_contract_is_read():
    bike = read_bike(REFERENCE / "bike.toml")
    assert (bike.bike.total_mass_kg, bike.pack.cells_in_series, bike.motor.kind) == (112.0, 13, "direct-drive")
    assert (bike.sensor.current_zero_limit_a, bike.road.wind_mps, bike.cost.km_per_year) == (0.1, 0.0, 3000)
    assert read_bike(io.BytesIO(b"")) == Bike()


@pytest.mark.parametrize(
    ("text", "line"),
    [
        ("[road]\n\ncrr = 0.5", "b.toml, line 3: road.crr = 0.5: a number from 0.001 to 0.1 is allowed"),
        ("[bike]\nmass = 3", "b.toml, line 2: unknown key bike.mass"),
        ("# mine\n[brakes]\nx = 1", "b.toml, line 2: unknown key brakes"),
        ("bike.total_mass_kg = 1", "b.toml, line 1: bike.total_mass_kg = 1: a number from 30 to 600 is allowed"),
        ('[bike]\ntotal_mass_kg = "110"', "b.toml, line 2: bike.total_mass_kg = '110': a number from 30 to 600"),
        (
            "[pack]\ncells_in_series = 13.5",
            "b.toml, line 2: pack.cells_in_series = 13.5: a whole number from 1 to 40 is allowed",
        ),
        ("[road]\ncrr = nan", "b.toml, line 2: road.crr = nan: a number from 0.001 to 0.1 is allowed"),
        ("[motor]\nkind = 'fast'", "b.toml, line 2: motor.kind = 'fast': allowed is 'direct-drive', 'geared-locked'"),
        ("[bike", "b.toml: is not TOML"),
        ("bike = 3", "b.toml, line 1: bike = 3: a table is allowed, headed [bike] on a line of its own"),
        ("[[bike]]", "b.toml, line 1: bike = [{}]: a table is allowed, headed [bike] on a line of its own"),
        ("[bike]\nname = 3", "b.toml, line 2: bike.name = 3: text in quotation marks is allowed"),
        ("[sensor]\naveraged = 'yes'", "b.toml, line 2: sensor.averaged = 'yes': true or false is allowed"),
    ],
)
def test_a_mistake_in_the_bike_file_is_named_with_its_line(text, line):
    with pytest.raises(BikeFileError) as caught:
        read_bike(io.BytesIO(text.encode()), name="b.toml")
    assert caught.value.lines()[0].startswith(line)


def test_a_bike_file_that_is_not_text_or_not_there_is_an_error_of_one_line(tmp_path):
    with pytest.raises(BikeFileError, match="is not UTF-8 text"):
        read_bike(io.BytesIO(b"\xff\xfe\x00"), name="b.toml")
    with pytest.raises(BikeFileError, match="no such file"):
        read_bike(tmp_path / "none.toml")


def test_an_unknown_key_comes_with_those_that_are_known():
    with pytest.raises(BikeFileError) as caught:
        read_bike(io.BytesIO(b"[motor]\npower_w = 250\n"), name="b.toml")
    assert caught.value.lines()[1] == "hint: the keys there are kind"
    with pytest.raises(BikeFileError) as caught:
        read_bike(io.BytesIO(b"[engine]\n"), name="b.toml")
    assert caught.value.lines()[1] == "hint: the keys there are bike, pack, motor, sensor, road, cost"


def test_a_zero_with_a_minus_is_zero():
    """-0.0 as the lower end of a range would lie above the upper one."""
    drag_n = read_bike(io.BytesIO(b"[road]\nmotor_drag_n = -0.0\n")).road.motor_drag_n
    assert math.copysign(1.0, drag_n) == 1.0
