"""Intervals side by side: each between its ends, zero where it is, told ones filled."""

import xml.etree.ElementTree as ET
from dataclasses import replace

import pytest

from ridelog.report.drawings.intervals import Interval, Panel, intervals_drawing
from ridelog.report.drawings.svg import NARROW, WIDE, width_of
from ridelog.tell.numbers import PAGE

TOLD = Interval("strong − weak", "+3.0 (1.0 to 5.0)", 3.0, 1.0, 5.0, (0.5, 5.5), told=True)
OPEN = Interval("strong <b> weak", "−1.0", -1.0, None, None)


@pytest.mark.parametrize("width", [WIDE, NARROW])
def test_an_interval_lies_between_its_ends_beside_zero(width):
    drawing = intervals_drawing("d", ("T", "D"), [Panel("Recovered, %", (TOLD, OPEN))], PAGE, width)
    root = ET.fromstring(drawing.file())
    lines = list(root.iter("{http://www.w3.org/2000/svg}line"))
    (thick,) = (each for each in lines if each.get("stroke-width") == "5")
    zero, *others = (each for each in lines if each.get("class") == "s-ink")
    assert {each.get("x1") for each in others} <= {zero.get("x1")}
    first, second = root.iter("{http://www.w3.org/2000/svg}circle")
    low, high, at, origin = (
        float(value) for value in (thick.get("x1"), thick.get("x2"), first.get("cx"), zero.get("x1"))
    )
    per_unit = (high - low) / 4.0
    assert at == pytest.approx((low + high) / 2, abs=0.2)
    assert (low - origin) / per_unit == pytest.approx(1.0, abs=0.02)
    assert float(second.get("cx")) == pytest.approx(origin - per_unit, abs=0.3)
    assert "f-returned" in first.get("class")
    assert "f-sheet" in second.get("class")
    assert "&lt;b&gt;" in drawing.inline()


@pytest.mark.parametrize("width", [WIDE, NARROW])
@pytest.mark.parametrize("name", ["winter tyres less summer tyres, as ridden", "x" * 200])
def test_a_label_that_finds_no_room_beside_stands_above_and_inside(width, name):
    drawing = intervals_drawing(
        "d", ("T", "D"), [Panel("Recovered, %", (TOLD, replace(OPEN, label=name)))], PAGE, width
    )
    told = [
        each for each in ET.fromstring(drawing.file()).iter("{http://www.w3.org/2000/svg}text") if each.get("font-size")
    ]
    assert [each.get("text-anchor") for each in told] == [None, None]
    assert all(float(each.get("x")) + width_of(each.text) * 11 / 12 <= width for each in told)
    assert told[1].text.endswith(f"{name.partition(', ')[2]}: −1.0")


@pytest.mark.parametrize("width", [WIDE, NARROW])
@pytest.mark.parametrize("name", ["winter tyres less summer tyres, as ridden", "strong less weak, as ridden"])
def test_no_line_runs_through_a_label(width, name):
    rows = (replace(TOLD, label=name), replace(OPEN, label=name), replace(TOLD, label=name))
    root = ET.fromstring(intervals_drawing("d", ("T", "D"), [Panel("Recovered, %", rows)], PAGE, width).file())
    upright = [
        (float(each.get("x1")), *sorted((float(each.get("y1")), float(each.get("y2")))))
        for each in root.iter("{http://www.w3.org/2000/svg}line")
        if each.get("x1") == each.get("x2")
    ]
    assert len(upright) > 3
    for each in root.iter("{http://www.w3.org/2000/svg}text"):
        size = float(each.get("font-size") or 12)
        start, foot, wide = float(each.get("x")), float(each.get("y")), width_of(each.text) * size / 12
        start -= {"end": wide, "middle": wide / 2}.get(each.get("text-anchor"), 0.0)
        through = [
            x for x, top, end in upright if start <= x <= start + wide and top < foot and end > foot - 0.7 * size
        ]
        assert not through, each.text
