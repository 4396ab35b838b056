"""Data that are no answer, in words; tests/answer/test_plain.py reads such data."""

from ridelog.tell.refusals import answers


def test_a_value_is_cut_where_it_is_long():
    assert answers.unfit("ride.name", "x" * 99, "a number").what == "'" + "x" * 38 + "… is not a number"


def test_a_place_that_is_not_known_is_left_out():
    assert answers.missing("ride", "").lines() == ["answer: ride is missing"]
    assert answers.missing("name", "ride").lines() == ["answer, ride: name is missing"]
