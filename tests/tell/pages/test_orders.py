"""How far something is, and what came of it, in words."""

import pytest

from ridelog.tell.pages import orders


@pytest.mark.parametrize(
    ("stage", "done", "of", "words"),
    [
        ("measuring", 3, 12, "Measuring: 3 of 12 rides done …"),
        ("measuring", 0, 1, "Measuring: 0 of 1 ride done …"),
        ("measuring", 0, 0, "Reading and measuring …"),
        ("writing", 1, 3, "Writing the documents: 1 of 3 done …"),
        ("", 0, 0, "Beginning …"),
    ],
)
def test_how_far_it_is(stage, done, of, words):
    assert orders.far(stage, done, of) == words


def test_who_is_ahead():
    assert orders.waiting(0) == "Waiting: yours is next …"
    assert orders.waiting(1) == "Waiting behind 1 other …"
    assert orders.waiting(2) == "Waiting behind 2 others …"


@pytest.mark.parametrize(
    ("size", "words"), [(1, "1 byte"), (900, "900 bytes"), (2500, "2.5 kB"), (107288, "107 kB"), (2.1e6, "2.1 MB")]
)
def test_how_large_a_file_is(size, words):
    assert orders.size(int(size)) == words


def test_what_a_file_is():
    assert orders.form("report.pdf") == "PDF, to print"
    assert orders.form("rides.csv") == "rides, CSV"
