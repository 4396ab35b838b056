"""The chart of the ledger starts with what was drawn and ends with what came back."""

import dataclasses

import pytest

from ridelog.figures.ledger import waterfall
from ridelog.figures.look import NIGHT, PAPER
from ridelog.tell.ledger import lines
from tests.figures.checked import ledger_figure
from tests.tell.ledgers import ENTRY, LEDGER, q


def test_the_waterfall_leads_from_drawn_to_what_came_back():
    """Worked by hand: 90 Wh go in; 35, 18, 10, 4, 7, 2 and 8 go out; 6 are left, where the last bar ends."""
    steps = waterfall(lines(ENTRY))
    assert [(line.key, *ends) for line, *ends in steps[:2]] == [("drawn_wh", 0.0, 70), ("rider_wh", 70, 90)]
    assert [(line.key, *ends) for line, *ends in steps[-1:]] == [("returned_wh", 0.0, 6)]
    assert steps[-2][2] == pytest.approx(6)
    assert [line.key for line, _, _ in steps].count("kinetic_wh") == 0  # nothing, so no bar


def test_what_brings_energy_in_goes_first():
    """A ride that ends lower: the height that it lost is an income; and so is a rest below nothing."""
    lower = dataclasses.replace(ENTRY, potential_wh=q(-10), unexplained_wh=q(-2), air_wh=q(65))
    keys = [line.key for line, start, end in waterfall(lines(lower)) if end > start]
    assert keys == ["drawn_wh", "rider_wh", "potential_wh", "unexplained_wh", "returned_wh"]


@pytest.mark.parametrize("look", [PAPER, NIGHT])
def test_the_chart_has_a_bar_for_each_step_with_its_number(look):
    figure = ledger_figure(LEDGER, look)
    assert len(figure.data) == len(waterfall(lines(ENTRY)))
    assert figure.data[0].x == (70,)
    assert figure.data[0].y == ("drawn from the battery",)
    assert figure.data[-1].text == ("6.0",)  # 70 Wh to three digits: as many decimals for all


def test_without_what_came_back_there_is_no_chart():
    bare = dataclasses.replace(ENTRY, returned_wh=None, unexplained_wh=None)
    assert ledger_figure(dataclasses.replace(LEDGER, ride=bare), PAPER) is None


def test_only_what_the_battery_gave_and_took_has_its_colours():
    """A ride that falls: the height that it lost brings energy in, but nothing was drawn."""
    lower = dataclasses.replace(LEDGER, ride=dataclasses.replace(ENTRY, potential_wh=q(-10)))
    figure = ledger_figure(lower, PAPER)
    colours = {bar.y[0]: bar.marker.line.color for bar in figure.data}
    assert colours["height lost"] == PAPER.soft
    assert {name for name, colour in colours.items() if colour == PAPER.drawn} == {"drawn from the battery"}
    assert {name for name, colour in colours.items() if colour == PAPER.returned} == {"returned to the battery"}
