"""The words about files that were given."""

from datetime import UTC, datetime
from typing import get_args

from ridelog.tell.pages import tray as words
from ridelog.web.tray.grouping import Why

EIGHT = datetime(2026, 5, 1, 8, tzinfo=UTC)


def test_there_is_a_sentence_for_each_reason():
    assert set(words.WHY) == set(get_args(Why))


def test_when_a_file_was_recorded_is_told_with_a_second_day_only_where_there_is_one():
    assert words.when(EIGHT, EIGHT.replace(hour=9)) == "2026-05-01 08:00 to 09:00 UTC"
    assert words.when(EIGHT, EIGHT.replace(day=2)) == "2026-05-01 08:00 to 2026-05-02 08:00 UTC"
    assert words.when(None, None) == "no time of day"


def test_what_is_under_way_is_told():
    assert words.measuring(1, working=True, n_ahead=0) == "Reading and measuring …"
    assert words.measuring(3, working=True, n_ahead=0) == "Reading and measuring; 3 rides to go …"
    assert words.measuring(3, working=False, n_ahead=2) == "2 rides will be measured before yours."
