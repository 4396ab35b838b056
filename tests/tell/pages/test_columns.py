"""What is said of the columns of a log."""

import pytest

from ridelog.channels import CHANNELS
from ridelog.tell.pages import columns as words


def test_what_an_answer_needs_is_looked_for_in_channels_that_there_are():
    for _, channels, _ in words.NEEDS:
        assert set(channels) <= set(CHANNELS)


@pytest.mark.parametrize(
    ("low", "high", "text"), [(-12.34, 25.0, "-12.34 to 25"), (48.0, 48.0, "48"), (0.0, 1.75e9, "0 to 1750000000")]
)
def test_how_far_a_column_reaches_is_said_as_it_is_written(low, high, text):
    assert words.reach(low, high) == text


def test_words_are_shown_where_there_are_no_numbers():
    assert words.first_cells(["eco", "tour"]) == "eco, tour"
    assert words.first_cells([]) == "empty"


def test_columns_that_may_be_the_time_are_asked_about():
    assert words.may_be_time(["n"]).startswith("“n” rises from row to row. Is it the time?")
    assert words.may_be_time(["n", "k"]).startswith("“n”, “k” rise from row to row.")
