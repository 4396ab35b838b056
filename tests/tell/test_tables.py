"""The tables of an answer hold its records' numbers, unrounded and in their own units."""

from dataclasses import replace

from ridelog.answer.braking import BrakingKind
from ridelog.answer.pack import Pack
from ridelog.recording import ColumnReading
from ridelog.tell import tables
from ridelog.tell.numbers import METRIC
from ridelog.tell.table import Elapsed, Span, text_of
from ridelog.uncertain.quantity import Quantity
from tests.tell.ledgers import BANDS, ENTRY, LEDGER


def test_the_hills_are_the_records_own_numbers(make_answer):
    answer = make_answer()
    table = tables.hills(answer)
    assert table.column("length") == [hill.length_m for hill in answer.hills]
    assert table.column("drawn") == [hill.drawn_wh for hill in answer.hills]
    assert table.column("from_to")[0] == Span(250, 1230, "–")


def test_available_and_captured_stand_with_the_way_down_only(make_answer):
    """Going up, what braking had available is not what the climb is about."""
    answer = make_answer()
    some = tuple(replace(hill, available_wh=Quantity(1.0), captured_pct=Quantity(5.0)) for hill in answer.hills)
    table = tables.hills(replace(answer, hills=some))
    known = [cell is not None for cell in table.column("captured")]
    assert known == [hill.direction == "down" for hill in answer.hills]


def test_what_came_back_of_a_hill_ridden_both_ways_stands_with_its_descent(make_answer):
    """Pairs 1, 2, 3 recovered 9.6, 8.7 and 7.4 %; the descents are ridden in the order 2, 3, 1."""
    shares = [cell.value for cell in tables.hills(make_answer()).column("both_ways") if cell is not None]
    assert shares == [8.7, 7.4, 9.6]


def test_a_pair_is_named_without_its_direction(make_answer):
    table = tables.hill_pairs(make_answer())
    assert table.column("hill") == ["Hill 1", "Hill 2", "Hill 3"]
    assert [cell.value for cell in table.column("returned")] == [4.6, 4.1, 2.9]


def test_events_begin_at_their_time_and_keep_their_order(make_answer):
    table = tables.events(make_answer())
    assert table.column("start")[:2] == [Elapsed(310.0), Elapsed(365.0)]
    assert set(table.column("kind")) == {"stop", "descent"}


def test_kinds_of_braking_that_did_not_occur_have_no_row(make_answer):
    table = tables.kinds(make_answer())
    assert table.column("kind") == ["stop", "descent"]
    assert table.column("missed") == [Quantity(5.2), Quantity(2.1)]


def test_an_event_of_unknown_kind_is_in_a_row(make_answer):
    answer = make_answer()
    own = (BrakingKind("unknown", 8, Quantity(1.0, 0.5, 1.5), None, None, Quantity(0.5)),)
    table = tables.kinds(replace(answer, braking=replace(answer.braking, kinds=own)))
    assert table.rows == (("not known", 8, Quantity(1.0, 0.5, 1.5), None, Quantity(0.5), None),)


def test_what_an_event_missed_is_the_ledgers_number(make_answer):
    answer = make_answer()
    entry = replace(ENTRY, kind="event", start_s=365.0, missed_wh=Quantity(1.7, 1.5, 1.9))
    missed = tables.events(replace(answer, ledger=replace(LEDGER, events=(entry,)))).column("missed")
    assert missed == [None, Quantity(1.7, 1.5, 1.9), *[None] * 6]


def test_the_ledger_has_a_sign_before_what_comes_in_and_goes_out(make_answer):
    table = tables.ledger(make_answer(ledger=LEDGER))
    names = table.column("line")
    assert names[0] == "+ drawn from the battery"
    assert names[2] == "- air resistance"
    assert names[-1] == "  could have come back"
    assert table.column("energy")[0] == ENTRY.drawn_wh
    assert tables.ledger(make_answer(ledger=None)) is None


def test_hills_and_bands_of_a_ledger(make_answer):
    hill = replace(ENTRY, kind="hill", name="Hill 1, up")
    answer = make_answer(ledger=replace(LEDGER, hills=(hill,)), speed_bands=BANDS)
    assert tables.hill_ledger(answer).column("missed_wh") == [ENTRY.missed_wh]
    assert tables.bands(answer).column("speed") == ["0 to 10 km/h", "above 10 km/h"]


def test_the_battery_has_a_row_for_each_number_that_is_known():
    """Each in its own unit."""
    table = tables.pack(Pack(resistance_ohm=Quantity(0.13), highest_charge_a=Quantity(3.89)))
    column = table.columns[1]
    assert [text_of(cell, column) for cell in table.column("value")] == ["0.130 Ω", "3.89 A"]
    assert tables.pack(Pack()).rows == ()


def test_the_reference_clock_is_called_so(make_answer):
    answer = make_answer()
    assert tables.sources(answer).column("offset") == ["reference", Quantity(-3.2)]
    facts = dict(tables.source_facts(answer.sources[1], METRIC))
    assert facts["clock"] == "3.20 s behind the electrical log"
    assert facts["samples"] == "1200, one every 1.0 s (median)"
    assert dict(tables.source_facts(answer.sources[0], METRIC))["clock"] == "the one that all others are set against"


def test_samples_begin_with_what_most_people_look_for_and_have_units(make_answer):
    table = tables.samples(make_answer(n=10).series)
    assert [column.key for column in table.columns[:4]] == ["elapsed", "speed_mps", "distance_m", "current_a"]
    by_key = {column.key: column for column in table.columns}
    assert by_key["speed_mps"].unit() == "km/h"
    assert by_key["regen_mask"].unit() == ""
    assert set(table.column("regen_mask")) <= {"yes", "no"}
    assert table.rows[0][0] == Elapsed(0.0)


def test_a_column_that_is_not_used_says_so():
    readings = (
        ColumnReading("Speed", "speed_mps", "speed", "km/h", factor=1 / 3.6, why="a"),
        ColumnReading("X", None, "motor current", "A", why="b"),
        ColumnReading("I", "current_a", "battery current", "A", sign=-1, why="c"),
    )
    table = tables.column_readings(readings)
    assert table.column("quantity") == ["speed", "not used (motor current)", "battery current"]
    assert table.column("conversion") == ["× 0.277778", "", "sign turned"]
