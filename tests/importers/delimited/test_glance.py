"""Rows of a log, evenly spaced, without reading it."""

import pytest

from ridelog.importers.delimited.dialect import sniffed
from ridelog.importers.delimited.glance import glance
from ridelog.importers.delimited.log_text import decoded


def seen(text, n_rows=8):
    content, encoding = decoded(text.encode(), "a.csv")
    return glance(content, sniffed(content, "a.csv", encoding, None), n_rows)


@pytest.mark.parametrize("n", [1, 3, 8, 9, 1000])
def test_as_many_rows_as_wanted_are_seen_from_the_first_to_near_the_last(n):
    values = seen("time (s),U (V)\n" + "".join(f"{k},50\n" for k in range(n)))[0].values
    assert len(values) == min(n, 8) or (n == 9 and 7 <= len(values) <= 8)
    assert values[0] == 0
    assert values[-1] >= (n - 1) * 0.75
    assert list(values) == sorted(set(values))


def test_comments_and_rows_of_another_width_are_passed_over():
    text = "time (s),U (V)\n" + "".join(f"{k},50\n# note\n{k},50,1\n\n" for k in range(200))
    _, volts = seen(text, 64)
    assert 10 <= len(volts.values) <= 64
    assert set(volts.known) == {50.0}


def test_units_beside_numbers_are_taken_off_and_words_are_shown_as_they_are():
    rows = "".join(f"{k},{40 + k % 9} V,{['eco', 'tour'][k % 2]}\n" for k in range(60))
    _, volts, mode = seen("time (s),voltage,mode\n" + rows, 60)
    assert set(volts.known) == set(range(40, 49))
    assert volts.cells[0] == "40 V"
    assert (mode.known, set(mode.cells)) == ((), {"eco", "tour"})
