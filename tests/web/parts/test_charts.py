"""The charts' frames: a name, the buttons, the words on what is shown."""

from dataclasses import replace

import pytest

from ridelog.figures.look import PAPER
from ridelog.web import ids
from ridelog.web.parts.charts import MOVES, chart, power_section, track_section
from tests.web.parts.test_table import said


def found(component, key):
    """Every component of a tree that has a property."""
    here = [component] if getattr(component, key, None) is not None else []
    children = getattr(component, "children", None)
    inner = children if isinstance(children, (list, tuple)) else [children]
    return here + [each for child in inner if hasattr(child, "to_plotly_json") for each in found(child, key)]


def test_a_chart_is_one_image_with_a_name(make_answer):
    frame = chart({}, "Power over the ride", "power")
    assert (frame.role, getattr(frame, "aria-label"), frame.id) == ("img", "Power over the ride", "power-image")
    assert frame.children.id == "power"


def test_the_power_has_a_button_for_each_move_and_a_place_for_each_hill(make_answer):
    answer = make_answer(n=500)
    section = power_section(answer, PAPER)
    moves = [each.id["to"] for each in found(section, "id") if isinstance(each.id, dict)]
    assert moves == [move for move, _ in MOVES]
    (places,) = [each.data for each in found(section, "data") if each.id == ids.PLACE]
    assert [place["label"] for place in places] == [hill.name for hill in answer.hills]
    assert places[0]["value"] == f"{answer.hills[0].start_s}:{answer.hills[0].end_s}"


@pytest.mark.parametrize(("narrow", "how"), [(False, "Drag over the chart"), (True, "Use the buttons")])
def test_how_to_go_closer_is_said_for_the_screen_that_is_there(make_answer, narrow, how):
    assert how in said(power_section(make_answer(n=500), replace(PAPER, narrow=narrow)))


def test_a_ride_without_power_or_without_positions_has_no_such_chart(make_answer):
    series = make_answer(n=500).series
    assert power_section(make_answer(series=series.drop(columns=["power_w", "current_a"])), PAPER) is None
    assert power_section(make_answer(series=series.iloc[:1]), PAPER) is None
    assert track_section(make_answer(series=series.drop(columns=["east_m", "north_m"])), PAPER) is None


def test_a_track_whose_return_is_not_known_says_so(make_answer):
    answer = make_answer(n=500)
    assert "charge came back" in said(track_section(answer, PAPER))
    unknown = replace(
        answer,
        charge=replace(answer.charge, returned_ah=None),
        energy=replace(answer.energy, returned_wh=None),
    )
    assert "We do not know where charge came back." in said(track_section(unknown, PAPER))


def test_a_chart_in_which_nothing_can_lie_below_zero_explains_nothing_there(make_answer):
    answer = make_answer(n=500)
    assert "returned below. " in said(power_section(answer, PAPER))
    energy, charge = replace(answer.energy, returned_wh=None), replace(answer.charge, returned_ah=None)
    told = said(power_section(replace(answer, energy=energy, charge=charge), PAPER))
    assert "above zero. Drag" in told
    assert "returned" not in told
