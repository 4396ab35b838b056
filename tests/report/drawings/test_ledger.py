"""The ledger as bars: each as long as its energy, with its name and its number."""

import pytest

from ridelog.report.drawings.ledger import ledger_drawing
from ridelog.report.drawings.svg import NARROW, WIDE
from ridelog.tell.numbers import PAGE
from tests.report.drawings.test_profile import boxes
from tests.scenarios import sample_answer


@pytest.mark.parametrize("width", [WIDE, NARROW])
def test_bars_are_as_long_as_their_energies(width):
    answer = sample_answer("commute")
    drawn = boxes(ledger_drawing(answer, PAGE, width).file())
    (given,) = (float(each["width"]) for each in drawn if each["fill"] == "#a4560f")
    (back,) = (float(each["width"]) for each in drawn if each["fill"] == "#0a5f67")
    assert back / given == pytest.approx(answer.energy.recovered_pct.value / 100, abs=0.002)


def test_every_step_has_its_name():
    words = ledger_drawing(sample_answer("commute"), PAGE).inline()
    for name in (
        "drawn from the battery",
        "air resistance",
        "friction brakes",
        "unexplained",
        "returned to the battery",
    ):
        assert f">{name}</text>" in words


def test_without_a_ledger_there_is_none(make_answer):
    assert ledger_drawing(make_answer(), PAGE) is None
