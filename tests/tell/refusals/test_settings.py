"""Bike files and column maps that cannot be read, in words; whole files are in tests/settings and tests/broken."""

from ridelog.errors import BikeFileError, ColumnMapError
from ridelog.tell.refusals import settings


def test_a_long_value_is_cut_where_a_message_repeats_it():
    assert settings.wrong_value("bike.name", 0.5, "text is allowed") == "bike.name = 0.5: text is allowed"
    assert settings.wrong_value("n", "x" * 100, "text") == "n = '" + "x" * 56 + "…: text"


def test_a_range_is_written_as_it_was_set():
    assert settings.in_range(0.001, 0.1, whole=False) == "a number from 0.001 to 0.1 is allowed"
    assert settings.in_range(3, 200, whole=True) == "a whole number from 3 to 200 is allowed"


def test_swapped_files_name_the_option_that_takes_them():
    as_map = settings.swapped(BikeFileError, "b.toml", "log", line=1, is_map=True)
    assert as_map.lines() == ["b.toml, line 1: [log] is of a column map", "hint: give this file with --columns"]
    as_bike = settings.swapped(ColumnMapError, "m.toml", "bike", line=None, is_map=False)
    assert as_bike.lines() == ["m.toml: [bike] is of a bike file", "hint: give this file with --bike"]


def test_a_header_that_no_log_has_is_told_with_those_that_there_are():
    error = settings.no_such_column("m.toml", "I1", {"a.csv": ["t", "I"], "b.csv": ["v"]})
    assert error.lines()[1] == "hint: the columns are a.csv: t, I; b.csv: v"
