"""Cells of a column of numbers: each is understood by itself, and once."""

import math

import pytest

from ridelog.importers.delimited.cells import Cells, OtherUnitError


@pytest.mark.parametrize(
    ("cell", "value"),
    [
        ("1.5", 1.5),
        ("-2e-3 A", -0.002),
        ("+5", 5.0),
        (".5", 0.5),
        ("on", 1.0),
        ("FALSE", 0.0),
        ("inf", math.inf),
        ("-Infinity", math.inf),
    ],
)
def test_a_number_a_switch_and_an_infinite_value(cell, value):
    cells = Cells(".")
    assert cells[cell] == value
    assert not cells.wrong


@pytest.mark.parametrize("cell", ["", "n/a", "NaN", "-"])
def test_what_stands_for_no_value_is_none_and_not_wrong(cell):
    cells = Cells(".")
    assert math.isnan(cells[cell])
    assert not cells.wrong


def test_a_decimal_comma_is_one_where_the_log_writes_so():
    assert Cells(",")["1,5"] == 1.5
    cells = Cells(".")
    assert math.isnan(cells["1,5"])
    assert cells.wrong == {"1,5"}


def test_a_second_unit_is_refused_with_both():
    cells = Cells(".")
    assert cells["1 A"] == 1.0
    assert cells["2"] == 2.0
    with pytest.raises(OtherUnitError) as caught:
        cells["3 V"]
    assert (caught.value.cell, caught.value.units) == ("3 V", ("V", "A"))
