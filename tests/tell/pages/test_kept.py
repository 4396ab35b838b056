"""The words about rides that are kept."""

from ridelog.tell.numbers import METRIC
from ridelog.tell.pages import kept as words


def test_a_route_is_told_by_what_is_known_of_it():
    assert words.route("Ruff 1", (5230.0, 84.2), 7, METRIC) == "5.23 km, up 84 m, 7 rides, the first Ruff 1"
    assert words.route("Ruff 1", (5230.0, None), 2, METRIC) == "5.23 km, 2 rides, the first Ruff 1"


def test_how_many_are_shown_of_how_many():
    assert words.how_many(1, 1, METRIC) == "1 ride."
    assert words.how_many(3, 60, METRIC) == "3 of 60 rides."


def test_a_hill_in_a_sentence():
    told = words.hill_lead(830.0, -41.0, (7, 1), METRIC)
    assert told == "830 m long, 41 m high, ridden 7 times by 1 bike."
