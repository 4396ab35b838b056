"""The chart of power: its buttons, what stands beneath it, what a click in it marks."""

import json
from dataclasses import replace

from ridelog.figures.look import PAPER
from ridelog.web import ids
from ridelog.web.parts.charts.power import MOVES, power_section, spans
from tests.web.parts.test_table import said


def found(component, key):
    """Every component of a tree that has a property."""
    here = [component] if getattr(component, key, None) is not None else []
    children = getattr(component, "children", None)
    inner = children if isinstance(children, (list, tuple)) else [children]
    return here + [each for child in inner if hasattr(child, "to_plotly_json") for each in found(child, key)]


def test_the_power_has_a_button_for_each_move_and_a_place_for_each_hill(make_answer):
    answer = make_answer(n=500)
    section = power_section(answer, PAPER)
    moves = [getattr(each, "data-move") for each in found(section, "data-move")]
    assert moves == [move for move, _ in MOVES]
    (places,) = [each.data for each in found(section, "data") if each.id == ids.PLACE]
    assert [place["label"] for place in places] == [hill.name for hill in answer.hills]
    assert places[0]["value"] == f"{answer.hills[0].start_s}:{answer.hills[0].end_s}"


def test_how_to_go_closer_is_said_for_either_screen(make_answer):
    """The style sheet shows the one that fits."""
    told = {each.className: said(each) for each in found(power_section(make_answer(n=500), PAPER), "className")}
    assert "Drag over it" in told["if-wide"]
    assert "Use the buttons" in told["if-narrow"]


def test_a_ride_without_power_has_no_such_chart(make_answer):
    series = make_answer(n=500).series
    assert power_section(make_answer(series=series.drop(columns=["power_w", "current_a"])), PAPER) is None
    assert power_section(make_answer(series=series.iloc[:1]), PAPER) is None


def test_a_chart_in_which_nothing_can_lie_below_zero_explains_nothing_there(make_answer):
    answer = make_answer(n=500)
    assert "returned below. " in said(power_section(answer, PAPER))
    energy, charge = replace(answer.energy, returned_wh=None), replace(answer.charge, returned_ah=None)
    told = said(power_section(replace(answer, energy=energy, charge=charge), PAPER))
    assert "above zero. Drag" in told
    assert "returned" not in told


def test_what_the_ride_knows_is_offered_beneath_and_what_was_chosen_is_drawn(make_answer):
    section = power_section(make_answer(n=500), PAPER, lanes=("height", "voltage", "gone"))
    (group,) = [each for each in found(section, "id") if each.id == ids.BENEATH]
    assert group.value == ["height", "voltage"]
    assert [box.value for box in group.children.children] == ["height", "speed", "current", "voltage"]
    (graph,) = [each for each in found(section, "figure") if each.id == ids.POWER_CHART]
    assert [trace["name"] for trace in graph.figure["data"] if "yaxis" in trace] == ["height", "voltage"]


def test_every_hill_and_braking_event_can_be_marked(make_answer):
    answer = make_answer(n=500)
    told = json.loads(spans(answer, PAPER.style))
    assert told["hills"] == [[hill.start_s, hill.end_s, hill.name] for hill in answer.hills]
    assert [each[:2] for each in told["events"]] == [[each.start_s, each.end_s] for each in answer.braking.events]
    assert all(each[2].startswith("Braking event ") for each in told["events"])
