"""How a log is written is found out from its first lines."""

import pytest

from ridelog.errors import InputError
from ridelog.importers.delimited.dialect import is_value, sniff, split_line
from ridelog.settings.column_map import LogSettings


def dialect_of(text: str, **log):
    return sniff(text, "b.csv", "utf-8", LogSettings(**log))


@pytest.mark.parametrize(
    ("text", "delimiter", "decimal"),
    [
        ("t,U,I\n1,48.2,5.1\n2,48.1,5.2\n", ",", "."),
        ("t;U;I\n1;48,2;5,1\n2;48,1;5,2\n", ";", ","),
        ("t;U;I\n1;48.2;5.1\n2;48.1;5.2\n", ";", "."),
        ("t\tU\tI\n1\t48,2\t5,1\n2\t48,1\t5,2\n", "\t", ","),
        ("t|U|I\n1|48.2|5.1\n", "|", "."),
        ('t,U\n"1,5","48,2"\n"2,5","48,1"\n', ",", ","),
        # decimal commas also part these rows into equally many fields, which are no numbers then
        ("t;U;I\n0,0;48,1;5,2\n0,5;48,1;5,2\n", ";", ","),
    ],
)
def test_delimiter_and_decimal_sign_are_told_by_the_rows(text, delimiter, decimal):
    found = dialect_of(text)
    assert (found.delimiter, found.decimal) == (delimiter, decimal)


def test_lines_above_the_header_are_passed_over():
    found = dialect_of("# a comment, with commas\nDevice;12\n\ntime;current;voltage\ns;A;V\n1;2;50\n")
    assert found.headers == ("time", "current", "voltage")
    assert found.units == ("s", "A", "V")
    assert (found.header_line, found.first_line, found.n_comment_lines) == (4, 6, 2)


def test_a_header_that_is_itself_a_comment_is_found():
    found = dialect_of("# about the log\n# time [s], current [A]\n0,1\n1,2\n")
    assert found.headers == ("time [s]", "current [A]")
    assert found.header_line == 2


@pytest.mark.parametrize("form", ["ISO 8601", "UTC", "-", "yyyy-mm-dd hh:mm:ss"])
def test_a_units_row_may_say_how_the_time_is_written_or_that_there_is_no_unit(form):
    found = dialect_of(f"time;current;v\n{form};A;km/h\n2026-05-01 08:00:00;2;20\n2026-05-01 08:00:01;2;20\n")
    assert (found.headers, found.units) == (("time", "current", "v"), (form, "A", "km/h"))
    assert (found.header_line, found.first_line) == (1, 3)


def test_values_that_are_missing_in_the_first_row_make_no_units_row():
    found = dialect_of("time;current;voltage\n0;-;-\n1;2;50\n2;2;50\n")
    assert (found.units, found.first_line) == ((), 2)


def test_units_alone_head_the_columns_where_nothing_else_does():
    found = dialect_of("s;A;V\n1;2;50\n2;2;50\n")
    assert (found.headers, found.units, found.header_line) == (("s", "A", "V"), (), 1)


def test_a_percent_sign_in_a_header_is_no_comment():
    assert dialect_of("time (s),SoC (%)\n1,90\n").headers == ("time (s)", "SoC (%)")


def test_a_delimiter_too_many_is_put_up_with():
    assert dialect_of("t,U,\n1,50,\n2,51,\n").headers == ("t", "U", "")
    assert dialect_of("t,U\n1,50,\n2,51,\n").headers == ("t", "U", "")
    assert dialect_of("t,U,\n1,50\n2,51\n").headers == ("t", "U")


def test_the_map_overrules_what_was_found():
    found = dialect_of("t,U\n1,2\nx,y\n3,4\n", header_line=3, decimal=",", delimiter=",")
    assert found.headers == ("x", "y")
    assert found.decimal == ","


@pytest.mark.parametrize(
    "cell", ["1", "-1.5", "+2,5", ".5", "1e-3", "5 A", "12:30:01.5", "2026-05-01T08:00:00Z", "1.5.2026"]
)
def test_numbers_and_times_are_values(cell):
    assert is_value(cell)


@pytest.mark.parametrize("cell", ["", "time", "A", "cell 1", "48 apples", "-"])
def test_words_are_no_values(cell):
    assert not is_value(cell)


def test_quotes_are_taken_off_and_an_open_quote_hurts_nobody():
    assert split_line('"a;b"; c ;"d"', ";") == ["a;b", "c", "d"]
    assert split_line('1,"2', ",")[0] == "1"


def table(n_columns, *, above=""):
    """A log of so many columns, and 90 rows."""
    head = ",".join(["time [s]", "battery current [A]", *(f"other {index:05d}" for index in range(n_columns - 2))])
    row = ",1" * (n_columns - 2)
    return above + head + "\n" + "".join(f"{t},{t % 7}{row}\n" for t in range(90))


@pytest.mark.parametrize(
    "text",
    [
        table(5_000),
        table(7_000),
        table(30_000),
        table(2, above="# note\n" * 10_000),
        table(2, above="x" * 70_000 + "\n"),
    ],
    ids=["a header to the last byte", "a header beyond", "a header of three times that", "notes above", "a line above"],
)
def test_a_table_that_begins_beyond_what_is_looked_at_is_called_a_table(text):
    with pytest.raises(InputError) as caught:
        dialect_of(text)
    assert caught.value.lines()[0] == (
        "b.csv: is a table that begins too late: "
        "the first 64 kB, where its header and first rows must stand, hold none of both"
    )


def test_a_long_text_that_is_no_table_is_called_none():
    with pytest.raises(InputError, match="is not a table of at least two columns"):
        dialect_of("a tale without an end\n" * 10_000)
