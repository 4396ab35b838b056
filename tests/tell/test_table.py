"""A table as data: what it leaves out, and how its cells read in one style or the other."""

import pytest

from ridelog.tell import kinds
from ridelog.tell.numbers import IMPERIAL, METRIC
from ridelog.tell.table import (
    Amount,
    Column,
    Elapsed,
    Span,
    Table,
    capital,
    decimals_of_column,
    heads,
    text_of,
    value_and_bounds,
    value_of,
)
from ridelog.uncertain.quantity import Quantity

HEIGHT = Column("height", "height", kinds.HEIGHT, decimals=1)
ENERGY = Column("energy", "energy", kinds.ENERGY)
WORD = Column("word", "word", align="left")
TABLE = Table(
    "t",
    "T",
    (WORD, HEIGHT, ENERGY, Column("other", "other", kinds.SPEED)),
    (("a", Quantity(3.0), None, None), ("b", None, Quantity(1.5, 1.4, 1.6), None)),
)


@pytest.mark.parametrize(
    ("cell", "column", "metric", "imperial"),
    [
        (Quantity(30.48, 29.48, 31.48), HEIGHT, "30 ±1", "100 ±3"),
        (Quantity(30.48), HEIGHT, "30.5", "100"),  # a foot is told without decimals where a metre has one
        (30.48, HEIGHT, "30.5", "100"),
        (Span(0.0, 8.9408), Column("s", "speed", kinds.SPEED, decimals=0), "0 to 32", "0 to 20"),
        (Span(None, 8.9408, "→"), Column("s", "speed", kinds.SPEED, decimals=0), "? → 32", "? → 20"),
        (Span(None, None), Column("s", "speed", kinds.SPEED), "–", "–"),
        (Amount(Quantity(0.13, 0.128, 0.132), kinds.RESISTANCE), WORD, *["0.130 Ω (0.128 to 0.132)"] * 2),
        (Elapsed(750.0), WORD, "0:12:30", "0:12:30"),
        (12, Column("n", "events"), "12", "12"),
        ("words", WORD, "words", "words"),
        (None, HEIGHT, "–", "–"),
    ],
)
def test_a_cell_is_text_in_the_style(cell, column, metric, imperial):
    """1 ft is 0.3048 m and 1 mph 0.44704 m/s: values that come out whole."""
    assert (text_of(cell, column, METRIC), text_of(cell, column, IMPERIAL)) == (metric, imperial)


@pytest.mark.parametrize(
    ("cell", "column", "decimals", "told"),
    [
        (Quantity(30.48, 29.48, 31.48), HEIGHT, 1, ("30.5", "29.5 to 31.5")),
        (Quantity(30.48, 30.46, 30.49), HEIGHT, 1, ("30.5", "")),  # bounds that look the same tell nothing
        (Quantity(30.48), HEIGHT, 1, ("30.5", "")),
        (Quantity(30.48, 29.48, 31.48), HEIGHT, None, ("30 ±1", "")),
        (Amount(Quantity(0.13, 0.128, 0.132), kinds.RESISTANCE), WORD, 0, ("0.130 Ω", "0.128 to 0.132")),
        (Amount(None, kinds.RESISTANCE), WORD, 0, ("–", "")),
        ("", WORD, 0, ("", "")),
        (None, HEIGHT, 1, ("–", "")),
    ],
)
def test_an_interval_stands_beneath_its_value_or_beside_it(cell, column, decimals, told):
    """Beneath where the column's decimals are given; a thing of another kind than its column has it there always."""
    assert value_and_bounds(cell, column, METRIC, decimals) == told


def test_heads_name_the_unit():
    assert heads(TABLE.columns) == ["word", "height m", "energy Wh", "other km/h"]
    assert heads(TABLE.columns, IMPERIAL, before_unit=", ") == ["word", "height, ft", "energy, Wh", "other, mph"]
    assert capital("drawn, Wh") == "Drawn, Wh"


def test_columns_of_which_nothing_is_known_are_left_out():
    assert [column.key for column in TABLE.known().columns] == ["word", "height", "energy"]


def test_columns_are_chosen_and_left_out_by_their_key():
    assert TABLE.only("energy", "word").rows == ((None, "a"), (Quantity(1.5, 1.4, 1.6), "b"))
    assert [column.key for column in TABLE.without("height").columns] == ["word", "energy", "other"]
    assert TABLE.column("word") == ["a", "b"]


def test_a_row_that_does_not_fit_its_columns_is_refused():
    with pytest.raises(ValueError, match="another number of cells"):
        Table("t", "T", (WORD, HEIGHT), (("a",),))


def test_a_columns_decimals_come_from_its_largest_number_in_the_unit_shown():
    """15.2 m to three digits has one decimal, the same 49.9 ft too; 45.7 m are 150 ft, which has none."""
    free = Column("h", "h", kinds.HEIGHT)
    assert decimals_of_column([Quantity(15.2), None, Quantity(0.1)], free) == 1
    assert decimals_of_column([Quantity(45.7)], free, IMPERIAL) == 0
    assert decimals_of_column([Quantity(45.7)], HEIGHT) == 1


def test_the_number_of_a_cell_is_found_for_bars():
    assert value_of(Quantity(2.0, 1.0, 3.0)) == 2.0
    assert value_of(3) == 3.0
    assert value_of("three") is None
    assert value_of(None) is None
