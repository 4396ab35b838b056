"""TOML files of the user's own: opened, and their mistakes in words."""

import io

import pytest

from ridelog.errors import InputError
from ridelog.settings.bike import Bike
from ridelog.settings.column_map import ColumnMap
from ridelog.settings.toml_files import BIKE_SECTIONS, MAP_SECTIONS, is_column_map, line_of, read_toml


def read(source):
    return read_toml(source, "my.toml", InputError, option="--mine", form=lambda text: f"so: {len(text)}")


def test_the_text_and_what_it_says_are_given_without_a_byte_order_mark(tmp_path):
    """Some editors put the mark in front of every file."""
    path = tmp_path / "my.toml"
    path.write_bytes(b"\xef\xbb\xbf[road]\r\ncrr = 0.01\r\n")
    assert read(path) == read(str(path)) == ("[road]\r\ncrr = 0.01\r\n", {"road": {"crr": 0.01}})
    assert read(io.BytesIO(path.read_bytes())) == read(path)


@pytest.mark.parametrize(
    ("content", "lines"),
    [
        (
            b"[road]\ncrr = 0,01\n",
            [
                "my.toml: is not TOML: Expected newline or end of document after a statement (at line 2, column 8)",
                "hint: so: 18",
            ],
        ),
        (b"name = 'B\xe4r'", ["my.toml, byte 9: is not UTF-8 text", "hint: save it as UTF-8 in a text editor"]),
    ],
)
def test_what_cannot_be_read_is_named_with_its_place(content, lines):
    with pytest.raises(InputError) as caught:
        read(io.BytesIO(content))
    assert caught.value.lines() == lines


@pytest.mark.parametrize("name", ["none.toml", "", "a\0b"])
def test_a_name_that_is_no_file_is_one_line_with_the_option(tmp_path, name):
    with pytest.raises(InputError) as caught:
        read(tmp_path / name)
    assert len(caught.value.lines()) == 2
    assert caught.value.hint == "--mine takes a TOML file; is the name spelled right?"


@pytest.mark.parametrize(
    ("content", "expected"),
    [(b"[log]\n", True), (b"[[column]]\n", True), (b"column = []", True), (b"[bike]\n", False), (b"", False)],
)
def test_a_column_map_is_told_from_a_bike_file(content, expected):
    assert is_column_map(io.BytesIO(content), "my.toml") is expected


LINES = """# mine
title.short = "x"
cost = { currency = "EUR" }

[bike]
name = "crr = 1" # [road]
[ road ] # mine
wind_mps = 0
"crr" = 0.01

[[column]]
header = "a"
[[column]]
header = "b"
unit = "A"
"""


@pytest.mark.parametrize(
    ("keys", "line"),
    [
        (["title", "short"], 2),
        (["cost", "currency"], 3),
        (["bike"], 5),
        (["bike", "name"], 6),
        (["road", "crr"], 9),
        (["road", "nothing"], 7),
        (["column", 0, "header"], 12),
        (["column", 1, "unit"], 15),
        (["column", 0, "unit"], 11),
        (["column", 1], 13),
        (["elsewhere", "crr"], None),
    ],
)
def test_the_line_of_a_key_is_found_or_that_of_its_table(keys, line):
    """Counted from 1, as editors do; a form feed or a line separator within a text begins no line there."""
    assert line_of(LINES, keys) == line
    assert line_of(LINES.replace("\n", "\r\n"), keys) == line
    assert line_of(LINES.replace("# mine", "# mi\u2028ne\x0c"), keys) == line


def test_the_sections_that_tell_the_files_apart_are_all_that_there_are():
    assert set(Bike.model_fields) == BIKE_SECTIONS
    assert set(ColumnMap.model_fields) == MAP_SECTIONS


@pytest.mark.parametrize(
    ("content", "told"),
    [
        (b"name = 'x'\n" * 30_000, "larger than 256 kB"),
        (b".".join([b"a"] * 3000) + b" = 1\n", "has a line of more than 4000 characters"),
        (b"a = 1" + b"0" * 3900 + b"0" * 400, "has a line of more than 4000 characters"),
        (b"a = [\n" + b"[\n" * 5000, "longer or deeper than can be read"),
    ],
    ids=["large", "dots", "digits", "lists"],
)
def test_what_nobody_writes_by_hand_is_refused_in_one_sentence(content, told):
    """Without the bounds a line of a hundred thousand dots took 10 GB, and deep lists ended the program."""
    with pytest.raises(InputError) as caught:
        read(io.BytesIO(content))
    assert told in str(caught.value)


def test_a_source_without_an_end_is_read_no_further_than_its_bound():
    class Endless(io.RawIOBase):
        asked = 0

        def read(self, n=-1):
            assert 0 < n < 1_000_000
            return b"\0" * n

    with pytest.raises(InputError, match="larger than"):
        read(Endless())
