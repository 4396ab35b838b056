"""A table of a document: each number with its interval beneath it, names as words."""

from ridelog.report.tables import capitals, facts, full_table
from ridelog.tell.kinds import ENERGY, VOLTAGE
from ridelog.tell.numbers import PAGE
from ridelog.tell.table import Amount, Column, Table
from ridelog.uncertain.quantity import Quantity
from tests.report.reading import Document

TABLE = Table(
    "x", "Things",
    (Column("name", "name", align="left"), Column("drawn", "drawn", ENERGY), Column("value", "value", align="left")),
    (
        ("<i>a", Quantity(5.0, 4.0, 6.0), Amount(Quantity(3.9, 3.8, 4.0), VOLTAGE)),
        ("b", Quantity(1234.5), None),
    ),
    "A note.",
)  # fmt: skip


def test_a_number_has_its_interval_beneath_it_and_its_unit_above():
    table = Document(full_table(TABLE, PAGE, caption="About <it>")).tables["t-x"]
    assert table.heads == ["Name", "Drawn, Wh", "Value"]
    assert table.keys == ["name", "drawn", "value"]
    assert table.rows[0] == [("<i>a", ""), ("5", "4 to 6"), ("3.90\u00a0V", "3.80 to 4.00")]
    assert table.rows[1] == [("b", ""), ("1\u202f234", ""), ("–", "")]


def test_many_rows_have_their_intervals_beside_the_numbers():
    table = Document(full_table(TABLE, PAGE, narrow_intervals=True, key="y")).tables["t-y"]
    assert table.rows[0][1] == ("5 ±1", "")


def test_a_table_without_a_row_is_nothing():
    assert full_table(Table("x", "x", TABLE.columns, ()), PAGE) == ""


def test_facts_are_definitions():
    rows = [("head wind", "0 < 1")]
    assert "<dt>head wind</dt><dd>0 &lt; 1</dd>" in facts(rows)
    assert "<dt>Head wind</dt>" in facts(capitals(rows), "it", short=True)
    assert facts([]) == ""
