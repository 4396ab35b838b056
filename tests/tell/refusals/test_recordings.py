"""Recordings of which nothing can be made, in words."""

from ridelog.tell.refusals import recordings


def test_an_impossible_channel_says_where_it_starts_and_how_much_of_it_there_is():
    found = recordings.Impossible("current_a", "A", 900.0, 61.0, -400, 400, 30, 120)
    error = recordings.impossible_values("b.csv", found)
    assert error.lines() == [
        "b.csv: current_a = 900 A at 61.000 s is outside -400..400 A, and so are 30 of 120 values",
        "hint: is the unit or the column right? `ridelog columns FILE` shows how it was understood",
    ]
