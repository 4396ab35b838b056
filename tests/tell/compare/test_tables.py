"""A comparison as tables: every number of the record in a cell, in the units asked for."""

from dataclasses import replace

import pytest

from ridelog.compare.record import Condition, HillFigure, HillSpread, Spread
from ridelog.tell.compare.tables import (
    conditions,
    differences,
    every_table,
    groups,
    hills,
    loggers,
    precision,
    rides,
)
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
    assert table.column("what") == [
        "recovered, as ridden",
        "recovered, corrected",
        "captured, as ridden",
        "used, as ridden",
    ]
    assert table.column("verdict") == ["more", "more", "not clear", "not clear"]
    ordered = [WHOLE.differences[at] for at in (0, 3, 1, 2)]
    assert [cell.quantity for cell in table.column("change")] == [each.difference for each in ordered]
    assert table.column("of")[0] == "strong less off"
    assert [row[3] for row in table.rows][2].quantity.low95 is None
    alone = replace(WHOLE, differences=WHOLE.differences[:3])
    assert differences(alone).column("what") == ["recovered", "captured", "used"]


def test_hills_stand_with_what_each_group_captured():
    hill = HillFigure(1, 710.0, -37.7, {"off": HillSpread(6, 24.3, 1.23), "strong": HillSpread(1, 40.0, None)})
    assert hills(replace(WHOLE, hills=(hill,))).rows == (
        ("Descent 1", "710 m", "-37.7 m", "24.3 ± 1.2 %, 6 rides", "40.0 %, 1 ride"),
    )


@pytest.mark.parametrize(("style", "lengths"), [(METRIC, ("196 m", "1710 m")), (IMPERIAL, ("643 ft", "5610 ft"))])
def test_lengths_of_hills_stand_in_one_unit_below_one_another(style, lengths):
    few = tuple(HillFigure(at, length_m, -9.0, {}) for at, length_m in ((1, 196.0), (2, 1710.0)))
    assert tuple(hills(replace(WHOLE, hills=few), style).column("length")) == lengths


@pytest.mark.parametrize(("style", "speed"), [(METRIC, "18.00 ± 0.72 km/h"), (IMPERIAL, "11.18 ± 0.45 mph")])
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
    assert conditions(alike).rows[0][:2] == ("distance", "5.9600 ± 0.0042 km")


def test_what_was_the_same_on_all_rides_has_no_spread():
    alike = Condition("total_mass_kg", {"off": Spread(129.4, 0.0)}, differs=False, corrected=False)
    assert conditions(replace(WHOLE, conditions=(alike,))).rows[0][1] == "129.4 kg"
