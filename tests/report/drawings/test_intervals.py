"""Intervals side by side: each between its ends, zero where it is, told ones filled."""

import xml.etree.ElementTree as ET

import pytest

from ridelog.report.drawings.intervals import Interval, Panel, intervals_drawing
from ridelog.report.drawings.svg import NARROW, WIDE
from ridelog.tell.numbers import PAGE

TOLD = Interval("strong − weak", "+3.0 (1.0 to 5.0)", 3.0, 1.0, 5.0, (0.5, 5.5), told=True)
OPEN = Interval("strong <b> weak", "−1.0", -1.0, None, None)


@pytest.mark.parametrize("width", [WIDE, NARROW])
def test_an_interval_lies_between_its_ends_beside_zero(width):
    drawing = intervals_drawing("d", ("T", "D"), [Panel("Recovered, %", (TOLD, OPEN))], PAGE, width)
    root = ET.fromstring(drawing.file())
    lines = list(root.iter("{http://www.w3.org/2000/svg}line"))
    (thick,) = (each for each in lines if each.get("stroke-width") == "5")
    (zero,) = (each for each in lines if each.get("class") == "s-ink")
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
