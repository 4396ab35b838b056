"""Why a text log is refused: file and place, the cause, and what can be done about it."""

import pytest

from ridelog.tell.refusals import logs

TIME_HINT = 'column = [{ header = "…", quantity = "time", unit = "s" }]  # or log = { step_s = 1 }: rows are 1 s apart'


@pytest.mark.parametrize(
    ("error", "message", "hint"),
    [
        (logs.not_in_encoding("a.csv", "ascii", 7), "a.csv, byte 7: is not ascii text", None),
        (logs.not_in_encoding("a.csv", "klingon", None), "a.csv: is not klingon text", None),
        (logs.no_such_header_line("a.csv", 9), "a.csv: has no line 9 for a header, as the map states", None),
        (logs.no_column_tells_time("a.csv", 2), "a.csv, line 2: no column tells the time", TIME_HINT),
        (
            logs.unreadable_times("a.csv", 3, ["date", "time"]),
            "a.csv, line 3: the times under 'date, time' cannot be read",
            TIME_HINT,
        ),
        (
            logs.header_of_other_width("a.csv", 1, 2, 4, commas=True),
            "a.csv, line 1: the header names 2 columns, but the rows have 4 fields",
            "decimal commas between commas? export with semicolons, or with decimal points",
        ),
        (
            logs.header_of_other_width("a.csv", 1, 5, 4, commas=True),
            "a.csv, line 1: the header names 5 columns, but the rows have 4 fields",
            "name every column in the header",
        ),
        (
            logs.rows_of_other_width("a.csv", None, 10, 20, 3),
            "a.csv: 10 of 20 rows do not have 3 fields",
            "is the delimiter also a decimal sign? `ridelog columns FILE` shows how the log was read",
        ),
        (
            logs.cell_in_other_unit("a.csv", 14, "current", "5000 mA", ("mA", "A")),
            "a.csv, line 14: current: '5000 mA' is in mA, the rows above are in A",
            "a column needs one unit",
        ),
        (logs.no_numbers("a.csv", 2, ["I", "U"]), "a.csv, line 2: holds no number under 'I', 'U'", None),
    ],
)
def test_an_error_says_where_what_and_what_next(error, message, hint):
    assert (error.message, error.hint) == (message, hint)


@pytest.mark.parametrize(
    ("look", "hint"),
    [
        ("thousands", "a thousands separator? export the log without"),
        ("comma", "decimal comma? the other numbers are written with decimal points"),
        ("point", "decimal point? the other numbers are written with decimal commas"),
        ("other", "leave the column out (use = false in a MAP.toml, option --columns), or mend the line"),
    ],
)
def test_what_a_cell_looks_like_decides_what_may_be_done(look, hint):
    error = logs.not_a_number("a.csv", 2, "current", "1,5", look)
    assert (error.message, error.hint) == ("a.csv, line 2: current: '1,5' is not a number", hint)


def test_a_long_cell_is_cut():
    assert f"'{'x' * 37}…'" in logs.not_a_number("a.csv", 2, "current", "x" * 50, "other").message
    assert f"'{'x' * 39}'" in logs.not_a_number("a.csv", 2, "current", "x" * 39, "other").message
