"""Braking, energy and pack of the groups as tables."""

from dataclasses import replace

import pytest

from ridelog.compare.record import Flow, Over
from ridelog.tell.compare.flows import braking, every, ledger, pack
from ridelog.tell.numbers import METRIC
from tests.compare.campaigns import told_comparison

TOLD = told_comparison()


def cells(table):
    return [[None if cell is None else cell.replace("\u00a0", " ") for cell in row] for row in table.rows]


def test_a_kind_of_braking_has_a_row_for_each_number_and_a_group_its_rides_where_some_do_not_tell_it():
    assert cells(braking(TOLD, METRIC)) == [
        ["stops: times a ride", "4.50 ± 0.55", "5"],
        ["stops: captured", None, "31.3 ± 2.5 %, 4 rides"],
    ]


def test_lines_of_the_ledger_that_hold_nothing_on_any_ride_are_left_out():
    assert cells(ledger(TOLD, METRIC)) == [["returned to the battery", "0 Wh", "5.12 ± 0.31 Wh"]]


def test_what_a_closed_round_leaves_of_speeds_and_heights_is_nothing():
    of = {"off": Over(6, 2e-6, 5e-6, -4e-6, 9e-6), "strong": Over(6, 2e-6, 0.002, -0.004, 9e-6)}
    told = replace(TOLD, flows=(Flow("ledger", "kinetic_wh", of), Flow("ledger", "unplaced_wh", {"off": of["off"]})))
    assert cells(ledger(told, METRIC)) == [["speed gained", "0 Wh", "0.0000 ± 0.0020 Wh"]]


def test_what_was_next_to_the_same_on_all_rides_has_no_decimals_for_its_spread():
    told = replace(TOLD, flows=(Flow("ledger", "drag_wh", {"off": Over(6, 2.154185, 2.7e-5, 2.15415, 2.15422)}),))
    assert cells(ledger(told, METRIC)) == [["motor drag", "2.15 Wh", None]]


def test_what_the_pack_took_at_most_stands_beside_the_mean():
    ((what, off, strong),) = cells(pack(TOLD, METRIC))
    assert what == "highest charge current"
    assert off == "0 A, 1 ride"
    assert strong == "8.20 ± 0.40 A, 9.04 A at most"


@pytest.mark.parametrize("table", every(TOLD, METRIC), ids=lambda table: table.key)
def test_every_table_has_a_column_a_group_called_as_given(table):
    assert [column.name for column in table.columns[1:]] == ["off", "strong"]
    assert all(column.given for column in table.columns[1:])


def test_a_comparison_that_tells_none_has_no_such_table():
    assert every(replace(TOLD, flows=()), METRIC) == []
