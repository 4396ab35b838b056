"""The rows of a delimited log: read quickly or carefully, with the same result."""

import random

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from ridelog.errors import InputError
from ridelog.importers.delimited.body import Body, Unreadable, _careful, _measurable, _quick, read_body
from ridelog.importers.delimited.dialect import NO_VALUE, sniff
from ridelog.importers.delimited.log_text import LogText
from ridelog.settings.column_map import LogSettings

NUMBERS = {0: "number", 1: "number"}


def dialect_of(text, **log):
    return sniff(text, "b.csv", "utf-8", LogSettings(**log))


def body_of(rows, *, header="t;I", wanted=NUMBERS, delimiter=";", **how):
    text = f"{header}\n{rows}"
    return read_body(LogText.of(text), dialect_of(text, delimiter=delimiter), wanted, "b.csv", **how)


def test_numbers_are_read_and_what_stands_for_none_is_none():
    body = body_of("0;1.5\n1;-\n2;NaN\n3;inf\n4;n/a\n5;\n6;-2e-3\n")
    assert body.numbers[1] == pytest.approx([1.5, *[np.nan] * 5, -0.002], nan_ok=True)
    assert (body.n_rows, body.n_wrong, body.cut_off) == (7, 0, False)


@pytest.mark.parametrize("unit", ["", " A"], ids=["quickly", "carefully"])
def test_infinite_numbers_count_as_not_known_and_are_counted(unit):
    """Cells with a unit are read line by line; 1e999 is beyond any float."""
    body = body_of(f"0;1.5{unit}\n1;inf\n2;-Infinity\n3;1e999\n4;-\n")
    assert body.numbers[1] == pytest.approx([1.5, *[np.nan] * 4], nan_ok=True)
    assert body.n_infinite == {1: 3}
    assert body_of("0;1.5\n1;-\n").n_infinite == {}


def test_an_infinite_time_is_none():
    body = body_of("00:00;1\ninf;2\n+INFINITY;3\ninfo;4\n", wanted={0: "text", 1: "number"})
    assert body.texts[0].to_pylist() == ["00:00", None, None, "info"]
    assert body.n_infinite == {}


def test_a_decimal_comma_is_read_as_one():
    assert body_of("0;1,5\n1;-0,25\n").numbers[1] == pytest.approx([1.5, -0.25])


def test_rows_of_another_width_are_left_out_counted_and_the_first_is_named():
    """Lines are counted from 1, the header's too."""
    body = body_of("0;1\n1;2\n1;2;3\n2;3\n\n3;4\n4\n5;6\n6;7\n7;8\n8;9\n")
    assert body.numbers[0].tolist() == [0, 1, 2, 3, 5, 6, 7, 8]
    assert (body.n_wrong, body.wrong_line) == (2, 4)


def test_a_last_line_that_is_not_whole_is_told_from_others():
    assert body_of("0;1\n1;2\n2;3\n3;4\n4;5\n5").cut_off
    assert not body_of("0;1\n1;2\n2;3\n3;4\n4;5\n5\n").cut_off


def test_too_many_rows_of_another_width_are_another_table():
    with pytest.raises(InputError, match=r"line 3: 2 of 5 rows do not have 2 fields"):
        body_of("0;1\n1;2;3\n2;3;4\n3;4\n4;5\n")
    assert body_of("0;1\n1;2;3\n2;3;4\n3;4\n4;5\n", largest_wrong_share=0.5).n_rows == 3


def test_a_header_that_turns_up_again_and_comments_are_no_rows():
    """As two logs put one behind the other have it."""
    body = body_of("0;1\n# pause\n1;2\nt;I\n2;3\n")
    assert body.numbers[0].tolist() == [0, 1, 2]
    assert body.n_repeated_headers == 1
    assert body.line_of(2) == 6


def test_a_unit_in_the_cells_is_taken_off():
    body = body_of("0;1.5 A\n1;2 A\n2;-\n")
    assert body.numbers[1] == pytest.approx([1.5, 2, np.nan], nan_ok=True)
    assert body.cell_units[1].name == "A"


def test_switches_are_one_and_nought():
    body = body_of("0;on\n1;Off\n2;TRUE\n3;nein\n", wanted=NUMBERS)
    assert body.numbers[1].tolist() == [1, 0, 1, 0]


@pytest.mark.parametrize(
    ("rows", "message", "hint"),
    [
        ("0;1.5\n1;y\n2;x\n", "b.csv, line 3: I: 'y' is not a number", "leave the column out"),
        ("0;1.5\n1;2,5\n", "b.csv, line 3: I: '2,5' is not a number", "decimal comma?"),
        ("0;1.5\n1;1,234.5\n", "b.csv, line 3: I: '1,234.5' is not a number", "a thousands separator?"),
        ("0;1 A\n1;2 mA\n", "b.csv, line 3: I: '2 mA' is in mA, the rows above are in A", "a column needs one unit"),
    ],
)
def test_a_cell_that_is_no_number_is_named_with_its_line(rows, message, hint):
    with pytest.raises(InputError) as caught:
        body_of(rows, needed={1})
    assert caught.value.message == message
    assert caught.value.hint.startswith(hint)


def test_one_unreadable_cell_costs_that_cell():
    body = body_of("0;1.5\n1;2.5\n2;ERR\n3;3.5\n", needed={1})
    assert body.numbers[1] == pytest.approx([1.5, 2.5, np.nan, 3.5], nan_ok=True)
    assert body.unreadable[1] == Unreadable(1, 4, "ERR", 4, left_out=False)


def test_a_column_that_is_not_needed_is_left_out_where_many_of_its_cells_are_no_numbers():
    body = body_of("0;1.5\n1;y\n2;x\n", needed={0})
    assert np.isnan(body.numbers[1]).all()
    assert body.unreadable[1] == Unreadable(2, 3, "y", 3, left_out=True)
    assert body.numbers[0].tolist() == [0, 1, 2]


@pytest.mark.parametrize("place", [0, 1])
def test_a_stray_quote_costs_its_line(place):
    """A quote that is never closed would make one cell of all that follows."""
    rows = [f"{k};{k}.5" for k in range(40)]
    cells = rows[10].split(";")
    cells[place] = '"' + cells[place]
    rows[10] = ";".join(cells)
    body = body_of("\n".join(rows) + "\n")
    assert body.n_rows + body.n_wrong == 40
    assert body.n_rows >= 39 or len(body.unreadable) == 1


CELLS = st.one_of(st.floats(-1e6, 1e6).map(lambda x: f"{x:.6g}"), st.sampled_from(["", "nan", "-", "N/A", "null"]))


@given(rows=st.lists(st.tuples(st.integers(0, 999).map(str), CELLS), min_size=2, max_size=30))
def test_the_quick_and_the_careful_way_agree(rows):
    """A log of numbers and of what stands for none."""
    text = "t,I\n0,1.5\n" + "".join(f"{t},{cell}\n" for t, cell in rows)
    dialect = dialect_of(text, delimiter=",", decimal=".")
    quick = read_body(LogText.of(text), dialect, NUMBERS, "b.csv")
    careful = Body(LogText.of(text), dialect)
    _careful(careful, NUMBERS, "b.csv")
    assert careful.n_rows == quick.n_rows == len(rows) + 1
    for index in NUMBERS:
        np.testing.assert_array_equal(_measurable(careful.numbers[index])[0], quick.numbers[index])


@pytest.mark.parametrize("unit", ["", " A"], ids=["quickly", "carefully"])
def test_what_nothing_measures_is_infinite_or_nothing_and_keeps_its_sign(unit):
    """Squares and quotients of the rest are numbers; a minus before nothing tells that a logger writes signs."""
    body = body_of(f"0;1e308{unit}\n1;-1e31\n2;1e29\n3;-1e-320\n4;1e-31\n5;-0.00\n")
    values = body.numbers[1]
    assert values == pytest.approx([np.nan, np.nan, 1e29, 0.0, 0.0, 0.0], nan_ok=True)
    assert np.signbit(values[[3, 4, 5]]).tolist() == [True, False, True]
    assert body.n_infinite == {1: 2}


def told(cell):
    """A text as the readers of times take it: they pass over blanks around it."""
    return None if cell is None or cell.strip().lower() in NO_VALUE else cell.strip()


def outcome(read, text, wanted, needed):
    """All that a way of reading finds, or the words of its refusal."""
    dialect = dialect_of(text, delimiter=";", decimal=".")
    body = Body(LogText.of(text), dialect)
    try:
        body = read(body, wanted, needed)
    except InputError as error:
        return str(error)
    numbers = {index: repr(_measurable(values)[0].tolist()) for index, values in body.numbers.items()}
    texts = {index: [told(cell) for cell in cells.to_pylist()] for index, cells in body.texts.items()}
    counts = (body.n_rows, body.n_wrong, body.cut_off, body.n_repeated_headers)
    return numbers, texts, counts, body.cell_units, body.unreadable


def quickly(body, wanted, needed):
    return read_body(body.text, body.dialect, wanted, "b.csv", needed=needed, largest_wrong_share=1.0)


def carefully(body, wanted, needed):
    _careful(body, wanted, "b.csv", needed)
    return body


HEADER = "time;I;brake;note"
WANTED = {0: "text", 1: "number", 2: "number"}


@pytest.mark.parametrize("unit", ["", " A", " mA"])
@pytest.mark.parametrize("words", [("on", "off"), ("TRUE", "false"), ("1", "0")])
@pytest.mark.parametrize("again", ["", HEADER + "\n"])
def test_units_switch_words_and_repeated_headers_are_read_quickly(unit, words, again):
    rows = [f"00:{k:02d};{k / 4}{unit};{words[k % 9 > 6]};a\n" for k in range(40)]
    body = body_of(
        "".join([*rows[:7], again, *rows[7:30], again, again, *rows[30:], again]), header=HEADER, wanted=WANTED
    )
    assert not body.is_careful
    np.testing.assert_array_equal(body.numbers[1], np.arange(40) / 4)
    np.testing.assert_array_equal(body.numbers[2], [float(words[k % 9 > 6] in ("on", "TRUE", "1")) for k in range(40)])
    assert (body.n_rows, body.n_repeated_headers, body.n_wrong) == (40, 4 if again else 0, 0)
    assert bool(body.cell_units) == bool(unit)


def test_what_stands_in_cells_below_the_first_hundreds_is_read_quickly_too():
    rows = [f"00:00;{k}{' A' if k > 700 else ''};0;a\n" for k in range(800)]
    body = body_of("".join(rows), header=HEADER, wanted=WANTED)
    assert not body.is_careful
    np.testing.assert_array_equal(body.numbers[1], np.arange(800))


@pytest.mark.parametrize(
    "row", ["# a;1;2;3", "Time;I;brake;note", ' "time";I;brake;note', '00:01;"7 A";on;"b', "time ;I;brake;note"]
)
def test_lines_that_arrow_may_take_for_rows_are_what_the_careful_way_takes_them_for(row):
    rows = [f"00:{k:02d};{k / 4} A;off;a\n" for k in range(40)]
    text = f"{HEADER}\n" + "".join([*rows[:20], row + "\n", *rows[20:]])
    assert outcome(quickly, text, WANTED, {1}) == outcome(carefully, text, WANTED, {1})


TOKENS = (
    ";", '"', "\n", " ", " A", " V", "-", "nan", "#", "# ", "//", "on", "off", "inf", "+", "_", "e5", "1e999", "x", "é",
    "\u00a0A", "\n\n", "\n   \n", f"\n{HEADER}\n", HEADER, "\n# comment\n", '"a"', "n/a", "0x1", ".5",
)  # fmt: skip


def mutated(rng):
    """A log of cells with units and switches by chance, changed at a few places."""
    unit, words = rng.choice(["", " A", "A", "\u00a0A"]), rng.choice([("on", "off"), ("1", "0"), ("TRUE", "FALSE")])
    rows = [f"00:{k:02d};{k / 4}{unit};{words[k % 9 > 6]};{rng.choice('ab ')}\n" for k in range(30)]
    body = "".join(rows)
    for _ in range(rng.choice([1, 1, 2, 4])):
        at = rng.randrange(len(body))
        body = body[:at] + rng.choice([*TOKENS, ""]) + body[at + rng.choice([0, 0, 1, 9]) :]
    return f"{HEADER}\n{body}"


def test_mutated_logs_are_read_quickly_as_they_are_carefully():
    rng = random.Random(3)
    n_read = n_quick = 0
    for _ in range(1200):
        text, needed = mutated(rng), rng.choice([set(), {1}, {1, 2}])
        try:
            dialect_of(text, delimiter=";", decimal=".")
        except InputError:
            continue
        quick, careful = outcome(quickly, text, WANTED, needed), outcome(carefully, text, WANTED, needed)
        assert quick == careful, text
        n_read += 1
        n_quick += not isinstance(quick, str) and _quick(
            Body(LogText.of(text), dialect_of(text)), WANTED, "b.csv", needed
        )
    assert n_read > 1000
    assert n_quick > 600
