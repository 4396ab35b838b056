"""The profile: the road and its hills, and below each hill its energy, in the JSON's proportions."""

import re
import xml.etree.ElementTree as ET

import pytest

from ridelog.report.drawings.profile import profile_drawing
from ridelog.report.drawings.svg import NARROW
from ridelog.tell.numbers import IMPERIAL, PAGE, typeset
from tests.scenarios import sample_answer


def boxes(svg):
    found = ET.fromstring(svg).iter("{http://www.w3.org/2000/svg}rect")
    return [{key: each.get(key) for key in ("height", "width", "x", "fill", "stroke")} for each in found]


def test_bars_stand_below_their_hills_as_high_as_their_energies():
    answer = sample_answer("commute")
    svg = profile_drawing(answer, PAGE).file()
    solid = [float(each["height"]) for each in boxes(svg) if each["fill"] == "#a4560f"]
    drawn = [hill.drawn_wh.value for hill in answer.hills if hill.direction == "up"]
    assert len(solid) == len(drawn)
    for height, energy in zip(solid, drawn, strict=True):
        assert height / max(solid) == pytest.approx(energy / max(drawn), abs=0.01)
    hatched = [float(each["height"]) for each in boxes(svg) if each["fill"].startswith("url")]
    returned = [hill.returned_wh.value for hill in answer.hills if hill.direction == "down"]
    for height, energy in zip(hatched, returned, strict=True):
        assert height / max(solid) == pytest.approx(energy / max(drawn), abs=0.01)


def test_every_hill_that_has_room_is_named():
    svg = profile_drawing(sample_answer("commute"), PAGE).file()
    assert len(re.findall("[▲▼]\u00a0", svg)) == len(sample_answer("commute").hills)


def test_a_narrow_one_is_narrow_and_an_imperial_one_in_feet():
    drawing = profile_drawing(sample_answer("commute"), typeset(IMPERIAL), NARROW)
    assert drawing.width == NARROW
    assert "height, ft" in drawing.inline()
    assert "distance along the road, mi" in drawing.inline()


def test_without_heights_there_is_none(make_answer):
    answer = make_answer()
    bare = type(answer)(**{**vars(answer), "series": answer.series.drop(columns=["altitude_m", "smooth_altitude_m"])})
    assert profile_drawing(bare, PAGE) is None
