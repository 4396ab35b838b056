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
    assert as_map.lines() == [
        "b.toml, line 1: [log] belongs in a column map, not in a bike file",
        "hint: this looks like a column map, which --columns takes; were --bike and --columns swapped?",
    ]
    as_bike = settings.swapped(ColumnMapError, "m.toml", "bike", line=None, is_map=False)
    assert as_bike.lines() == [
        "m.toml: [bike] belongs in a bike file, not in a column map",
        "hint: this looks like a bike file, which --bike takes; were --bike and --columns swapped?",
    ]
    both = settings.swapped(ColumnMapError, "m.toml", "bike", line=None, is_map=False, mixed=True)
    assert "swapped" not in both.lines()[1]


def test_a_text_that_is_too_long_is_told_in_our_words():
    complaint = {"type": "string_too_long", "ctx": {"max_length": 200}, "msg": "String should have …", "loc": ("a",)}
    assert settings.allowed(complaint) == "at most 200 characters are allowed"


def test_an_empty_name_is_told_with_its_option():
    assert settings.no_name(BikeFileError, "--bike").message == "--bike: an empty name was given"


def test_a_header_that_no_log_has_is_told_with_those_that_there_are():
    error = settings.no_such_column("m.toml", "I1", {"a.csv": ["t", "I"], "b.csv": ["v"]})
    assert error.lines()[1] == "hint: the columns are a.csv: t, I; b.csv: v"
