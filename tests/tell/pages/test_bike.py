"""The words of the bike form: every key has some, and what entering the mass gives is told with its numbers."""

import pytest

from ridelog.settings.bike_form import BIKE_KEYS
from ridelog.tell.numbers import METRIC
from ridelog.tell.pages import bike as words
from ridelog.uncertain.budget import Budget, BudgetRow
from ridelog.uncertain.quantity import Quantity


def test_every_key_has_a_label_and_stands_in_one_group():
    assert set(words.LABELS) == set(BIKE_KEYS)
    grouped = [*words.MASS_FIRST, *(place for _, places in words.GROUPS for place in places)]
    assert sorted(grouped) == sorted(BIKE_KEYS)
    choices = {choice for key in BIKE_KEYS.values() for choice in key.choices}
    assert choices <= set(words.CHOICES)


def test_a_label_names_the_unit_that_the_key_does():
    ends = {"kg": "_kg", "m": "_m", "Ah": "_ah", "V": "_v", "A": "_a", "°C": "_c", "%": "_pct", "m²": "_m2", "N": "_n",
            "hPa": "_hpa", "m/s": "_mps"}  # fmt: skip
    for place, (_, unit) in words.LABELS.items():
        if unit in ends:
            assert place.removesuffix("_kg").endswith(ends[unit].removesuffix("_kg")) or "limit" in place


@pytest.mark.parametrize(
    ("given", "text"),
    [
        ((110.0, 30.0, "assumed"), "assumed: 110 ± 30 kg"),
        ((108.0, 3.0, "entered"), "entered"),
        ((None, None, None), "not entered"),
    ],
)
def test_where_a_value_came_from_is_said(given, text):
    assert words.source("bike.total_mass_kg", *given) == text


def test_what_entering_the_mass_gives_is_told_by_half_widths():
    """28 to 160 is ± 66; 40 to 52 is ± 6 (by hand)."""
    told = words.would_be(Quantity(46.0, 40.0, 52.0), Quantity(46.0, 28.0, 160.0), 3.0, METRIC)
    assert "about ± 6 points instead of ± 66" in told.replace("\xa0", " ")
    assert "hardly" in words.would_be(Quantity(46.0, 40.0, 52.0), Quantity(46.0, 40.0, 52.1), 3.0, METRIC)


def test_a_value_says_what_it_could_take_away_where_that_is_much():
    row = BudgetRow("current zero", 0.3, 99.55, "enter-standby-draw")
    budget = Budget("recovered", "%", 8.0, (row,), 0.3, 7.4, 8.6)
    assert "100 %" in words.share_of_doubt("sensor.standby_draw_a", budget)
    assert words.share_of_doubt("sensor.voltage_gain_limit_pct", budget) is None
    assert words.share_of_doubt("sensor.standby_draw_a", None) is None
