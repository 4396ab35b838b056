"""The ride in a few lines. Expected words are written by hand from the made-up answer's numbers."""

from dataclasses import replace

from ridelog.answer.pack import Pack
from ridelog.answer.ride import Charge, Energy
from ridelog.findings import Finding
from ridelog.tell.advice import ADVICE
from ridelog.tell.summary import best_advice, columns_left_out, key_figures
from ridelog.uncertain.budget import Budget, BudgetRow
from ridelog.uncertain.quantity import Quantity
from tests.tell.cases import CASES


def test_what_is_known_has_its_line(make_answer):
    told = dict(key_figures(make_answer()))
    assert told["energy"] == "212 Wh drawn, 14.1 Wh returned, 6.65 % (6.10 to 7.30) recovered"
    assert told["charge"] == "4.42 Ah drawn, 0.294 Ah returned, 6.65 % recovered"
    assert told["use"] == "23.5 Wh/km net; what came back is good for 598 m"
    assert told["braking"] == "8 events, 33.0 Wh available, 42.7 % of it captured"
    assert "battery" not in told


def test_what_is_not_known_has_no_line_or_says_so(make_answer):
    nothing = make_answer(energy=Energy(*5 * [None]), charge=Charge(Quantity(4.42), None, None))
    told = dict(key_figures(replace(nothing, braking=replace(nothing.braking, available_wh=None))))
    assert "energy" not in told
    assert "use" not in told
    assert told["charge"] == "4.42 Ah drawn; we do not know what came back"
    assert told["braking"] == "8 events; we do not know how much energy was available"


def test_what_is_of_a_part_of_the_ride_says_so(make_answer):
    """Climbed and captured are of the part with heights; what was drawn is of the whole ride and says nothing."""
    partial = Finding("height-partial", "warning", {"covered_pct": 52.4})
    told = dict(key_figures(replace(make_answer(), findings=(partial,))))
    part = " where the height is known (52 % of the ride)"
    assert told["braking"] == f"8 events, 33.0 Wh available, 42.7 % of it captured{part}"
    assert told["road"].endswith(part)
    assert part not in told["energy"]


def test_the_battery_is_told_in_one_line(make_answer):
    told = dict(key_figures(make_answer(pack=Pack(highest_cell_v=Quantity(4.18), highest_charge_a=Quantity(5.5)))))
    assert told["battery"] == "highest cell 4.18 V; highest charge current 5.50 A"


def test_the_advice_is_that_of_the_largest_uncertainty():
    rows = (
        BudgetRow("zero of the current", 0.3, 80.0, "stand-switched-on"),
        BudgetRow("gain", 0.1, 20.0, "log-faster"),
    )
    told = best_advice(Budget("recovered", "%", 8.0, rows, 0.32, 7.4, 8.6))
    assert told == f"The largest part is that of zero of the current. To shrink it, {ADVICE['stand-switched-on']}."
    assert best_advice(Budget("recovered", "%", 8.0, (), 0.0, 8.0, 8.0)) is None


def test_columns_that_do_not_fit_are_counted():
    assert columns_left_out(1).startswith("1 more column does not fit here")
    assert columns_left_out(3).startswith("3 more columns do not fit here")


def test_the_most_that_can_have_been_drawn_is_told_as_such_in_every_line(make_answer):
    """A log that drops the sign, without heights: no bound is known, and the lines say what the headline does."""
    either_way = Finding("flow-while-braked", "warning", dict(CASES["flow-while-braked"][0], bounded=False))
    energy, charge = Energy(Quantity(78.7), *4 * [None]), Charge(Quantity(1.55), None, None)
    told = dict(key_figures(make_answer(energy=energy, charge=charge, findings=(either_way,))))
    assert told["energy"] == "at most 78.7 Wh drawn; we do not know what came back"
    assert told["charge"] == "at most 1.55 Ah drawn; we do not know what came back"
    bounded = Energy(Quantity(75.7, 71.9, 79.6), *4 * [None])
    told = dict(key_figures(make_answer(energy=bounded, charge=charge, findings=(either_way,))))
    assert told["energy"] == "75.7 Wh (71.9 to 79.6) drawn; we do not know what came back"


def test_where_nothing_shows_the_sign_nothing_is_told_as_drawn(make_answer):
    nobody_knows = Finding("sign-open", "warning", CASES["sign-open"][0])
    told = dict(key_figures(make_answer(findings=(nobody_knows,))))
    assert told["energy"] == "212 Wh one way, 14.1 Wh the other"
    assert told["charge"] == "4.42 Ah one way, 0.294 Ah the other"
