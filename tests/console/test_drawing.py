"""Tables as they are drawn: whole on any terminal, in one piece in a pipe, and of letters alone."""

import io
import re

import pytest

from ridelog.console.drawing import console_on, draw_table, fits, print_rows, written
from ridelog.tell.kinds import ENERGY
from ridelog.tell.numbers import METRIC
from ridelog.tell.table import Column, Table
from ridelog.uncertain.quantity import Quantity
from tests.console.terminal import Terminal

NAME = "a/very/long/folder/of/logs/with/a/ride.csv"
TABLE = Table(
    "logs",
    "Logs",
    (Column("file", "file", align="left"), Column("drawn", "drawn", ENERGY), Column("lasts", "lasts", ENERGY)),
    ((NAME, Quantity(70.0, low95=50.0, high95=142.0), Quantity(5.0)),),
)


def drawn(width, monkeypatch):
    monkeypatch.setenv("COLUMNS", str(width))
    stream = Terminal()
    draw_table(TABLE, console_on(stream), METRIC)
    return re.sub(r"\x1b\[[0-9;]*m", "", stream.getvalue())


def test_a_pipe_gets_names_in_one_piece_and_no_blanks_at_ends_of_lines():
    stream = io.StringIO()
    draw_table(TABLE, console_on(stream), METRIC)
    assert NAME in stream.getvalue()
    assert not re.search(r" $", stream.getvalue(), flags=re.MULTILINE)


@pytest.mark.parametrize("width", [30, 50, 80])
def test_a_terminal_gets_no_line_wider_than_itself_and_every_number_whole(width, monkeypatch):
    text = drawn(width, monkeypatch)
    assert max(map(len, text.splitlines())) <= width
    assert "50 to 142" in text.replace("\n", " ")


def test_the_column_least_needed_goes_first(monkeypatch):
    assert "lasts" in drawn(100, monkeypatch)
    assert "lasts" not in drawn(60, monkeypatch)


def test_a_table_fits_where_its_numbers_do(monkeypatch):
    monkeypatch.setenv("COLUMNS", "60")
    console, table = console_on(Terminal()), written(TABLE, METRIC)
    assert not fits(table, console, METRIC)
    assert fits(table.without("lasts"), console, METRIC, fold_first=True)


def test_words_of_a_file_reach_the_terminal_as_letters():
    stream = Terminal()
    print_rows([("name", "\x1b[31mred\x07")], console_on(stream))
    assert "\x1b[31m" not in stream.getvalue()
    assert "\x07" not in stream.getvalue()
