"""How the files were read, on the page."""

from dataclasses import replace

import pytest

from ridelog.importers.preview import preview
from ridelog.recording import ColumnReading
from ridelog.tell.numbers import PAGE
from ridelog.web.parts.reading.sources import column_table, map_link, sources
from ridelog.web.rides import Columns
from tests.web.parts.test_table import said

READINGS = (
    ColumnReading("I (mA)", "current_a", "battery current", "mA", 1e-3, sign=-1, why="sign turned"),
    ColumnReading("foo", None, "", why="its words say nothing"),
)
COLUMNS = Columns("controller.csv", READINGS, map_toml="[[column]]\n")


def test_each_file_is_told_with_its_facts(make_answer):
    words = said(sources(make_answer(n=50), (), "token", PAGE))
    assert "controller.csv" in words
    assert "track.gpx" in words
    assert "Download" not in words  # nobody told how the columns were understood


def test_a_log_comes_with_its_columns_and_the_map_to_correct_them(make_answer):
    shown = sources(make_answer(n=50), (COLUMNS,), "token", PAGE)
    words = said(shown)
    for text in ("I (mA)", "battery current", "sign turned", "its words say nothing", "Download the column map"):
        assert text in words


@pytest.mark.parametrize("path", ["/home/me/rides/controller.csv", "C:\\rides\\controller.csv"])
def test_a_file_is_called_by_its_name_and_not_by_its_folder(make_answer, path):
    answer = make_answer(n=50)
    answer = replace(answer, sources=(replace(answer.sources[0], path=path),))
    heading = sources(answer, (), "token", PAGE).children[0].children[0]
    assert heading.children == "controller.csv"


def test_the_link_leads_to_the_map_of_its_log():
    (paragraph,) = map_link(2, COLUMNS, "abc")
    link, why = paragraph.children
    assert (link.href, link.download) == ("/ride/abc/columns/2.toml", True)
    assert why.startswith(" if a column is not what it was taken for")
    assert map_link(2, Columns("log.csv", READINGS), "abc") == []


def test_the_table_of_columns_has_a_name_for_those_who_hear_it():
    assert "How the columns of log.csv were understood" in str(column_table(Columns("log.csv", READINGS)))


def test_each_column_is_seen_as_a_small_picture_or_in_its_first_cells():
    pictures = (preview([-2.0, 3.5, 3.0]), preview([], ["eco", "tour"]))
    drawn = column_table(Columns("log.csv", READINGS, previews=pictures))
    words = said(drawn[0])
    assert "-2 to 3.5" in words
    assert "eco, tour" in words
    assert "data:image/svg+xml" in str(drawn[0])
    assert "3 rows of the log" in said(drawn[1])
