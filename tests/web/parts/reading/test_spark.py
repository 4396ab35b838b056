"""A column as a small picture: a line that breaks where nothing is known, and zero where it lies between."""

import xml.etree.ElementTree as ET

from ridelog.importers.preview import preview
from ridelog.web.parts.reading.spark import EDGE_PX, HEIGHT_PX, WIDTH_PX, drawing, spark
from tests.web.parts.test_table import said

NAN = float("nan")


def paths(values):
    return [each.attrib["d"] for each in ET.fromstring(drawing(values))]


def test_the_line_reaches_from_edge_to_edge_and_from_lowest_to_highest():
    """The lowest is at the foot, the highest at the top, the ends at the sides."""
    (line,) = paths([1.0, 5.0, 3.0])
    foot_px, right_px = HEIGHT_PX - EDGE_PX, WIDTH_PX - EDGE_PX
    places = ((EDGE_PX, foot_px), (WIDTH_PX / 2, EDGE_PX), (right_px, HEIGHT_PX / 2))
    assert line == "M" + "L".join(f"{x:.1f} {y:.1f}" for x, y in places)


def test_it_breaks_where_nothing_is_known_and_shows_zero_between():
    zero, line = paths([-1.0, None, 1.0, 2.0])
    assert (line.count("M"), line.count("L")) == (2, 1)
    assert zero.startswith("M0 ")


def test_a_level_column_lies_in_the_middle():
    assert paths([4.0, 4.0])[0].count(f"{HEIGHT_PX / 2:.1f}") == 2


def test_what_holds_no_numbers_is_shown_as_it_is_written():
    assert said(spark(preview([NAN, NAN], ["eco", "<b>"]))) == "eco, <b>"
    assert said(spark(preview([]))) == "empty"
    assert spark(preview([-1.5, 2.0])).children[0].alt == "values from -1.5 to 2"
