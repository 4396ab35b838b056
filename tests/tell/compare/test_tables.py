"""A comparison as tables: every number of the record in a cell, in the units asked for."""

from dataclasses import replace

import pytest

from ridelog.compare.record import Condition, Spread
from ridelog.tell.compare.tables import conditions, differences, every_table, groups, loggers, precision, rides
from ridelog.tell.numbers import IMPERIAL, METRIC
from ridelog.tell.table import text_of
from tests.compare.campaigns import told_comparison

WHOLE = told_comparison()


def test_every_table_comes_with_its_rows():
    told = every_table(WHOLE)
    assert [table.key for table in told] == [
        "groups", "differences", "conditions", "precision", "loggers", "rides", "failed",
    ]  # fmt: skip


def test_groups_have_their_means():
    assert groups(WHOLE).column("recovered_mean") == [group.recovered_pct for group in WHOLE.groups]
    assert groups(WHOLE).column("rides") == [6, 6]


def test_differences_stand_as_ridden_then_corrected_with_their_verdicts():
    table = differences(WHOLE)
    assert table.column("what") == ["recovered", "captured", "used", "recovered, corrected"]
    assert table.column("verdict") == ["more", "not clear", "not clear", "more"]
    assert [cell.quantity for cell in table.column("change")] == [each.difference for each in WHOLE.differences]
    assert table.column("of")[0] == "strong less off"
    assert [row[3] for row in table.rows][1].quantity.low95 is None


@pytest.mark.parametrize(("style", "speed"), [(METRIC, "18.0 ± 0.72 km/h"), (IMPERIAL, "11.2 ± 0.45 mph")])
def test_conditions_stand_by_group(style, speed):
    table = conditions(WHOLE, style)
    assert table.rows[0] == ("speed in motion", speed, table.rows[0][2], "yes, corrected for")
    assert table.rows[1][0] == "wind"
    assert table.rows[1][1] is None


def test_precision_and_agreement_are_in_their_words():
    assert precision(WHOLE).rows[0][:2] == ("recovered", "off")
    assert precision(WHOLE).column("loggers") == [2, 2]
    assert loggers(WHOLE).column("pairs") == [4]


def test_rides_are_as_they_were_measured():
    table = rides(WHOLE)
    assert [text_of(cell, column) for cell, column in zip(table.rows[0], table.columns, strict=True)] == [
        "monday", "off", "1 June 2026", "5.00 ±0.10", "–", "9.00",
    ]  # fmt: skip


def test_a_spread_has_the_unit_of_its_mean():
    alike = replace(
        WHOLE, conditions=(Condition("distance_m", {"off": Spread(5960.0, 4.2)}, differs=False, corrected=False),)
    )
    assert conditions(alike).rows[0][:2] == ("distance", "5.96 ± 0.0042 km")
