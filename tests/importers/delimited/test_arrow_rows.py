"""Rows as arrow reads them from the bytes of a log."""

import pyarrow as pa
import pytest

from ridelog.importers.delimited.arrow_rows import arrow_rows
from ridelog.importers.delimited.dialect import sniff
from ridelog.importers.delimited.log_text import LogText
from ridelog.settings.column_map import LogSettings


def rows_of(text, is_number=None):
    dialect = sniff(text, "b.csv", "utf-8", LogSettings(delimiter=";"))
    log = LogText.of(text)
    found = arrow_rows(log, dialect, is_number or {0: True, 1: True})
    return found, found.are_lines_of(log, dialect)


@pytest.mark.parametrize("end", ["", "\n"])
@pytest.mark.parametrize("places", [[1], [1, 2], [2, 2], [4], [4, 4]])
def test_repeated_headers_are_taken_out_wherever_they_stand(places, end):
    lines = ["0;1", "1;2", "2;3", "3;4"]
    for place in reversed(places):
        lines.insert(place, "t;I")
    found, _ = rows_of("t;I\n" + "\n".join(lines) + end)
    assert found.n_headers == len(places)
    assert found.taken(0).to_pylist() == [0, 1, 2, 3]
    assert found.table.column_names == ["1"]


def test_a_line_that_only_begins_like_the_header_is_none():
    with pytest.raises(pa.ArrowInvalid):
        rows_of("t;I\n0;1\nt;I2\n1;2\n")


def test_rows_of_another_width_are_kept_apart_without_blanks_and_comments():
    found, are_lines = rows_of("t;I\n0;1\n1\n   \n# a\n1;2\n1;2;3\n")
    assert (found.wrong, are_lines) == (["1", "1;2;3"], True)


@pytest.mark.parametrize("row", ["# a;1", '"1;2', "// b;2"])
def test_rows_that_are_no_lines_are_seen(row):
    _, are_lines = rows_of(f"t;I\n0;1\n{row}\n1;2\n2;3\n", {0: False, 1: False})
    assert not are_lines
