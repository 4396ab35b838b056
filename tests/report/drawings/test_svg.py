"""Marks of a drawing: SVG that any program draws, names as words, paths as short as they can be."""

import re
import xml.etree.ElementTree as ET
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from ridelog.report.drawings.svg import (
    NARROW,
    WIDE,
    Drawing,
    area,
    box,
    curve,
    fits,
    hatch,
    paint,
    path,
    rule,
    shortened,
    width_of,
    words,
)

NUMBER = r"-?(?:\d+(?:\.\d+)?|\.\d+)"
# One stretch as the grammar of SVG 1.1, 8.3.9 has it: a move, then pairs of steps, or none to the right.
STRETCH = re.compile(rf"M{NUMBER} {NUMBER}(?:h0|l{NUMBER}[ -]\S.*)z?")
STEP = re.compile(rf"[Mlhz]|{NUMBER}")


def read(d):
    """Places of a path of absolute moves and relative lines, as SVG 1.1, 8.3 reads it; strokes apart."""
    strokes, numbers, command = [], [], ""
    for token in STEP.findall(d):
        if token == "z":
            continue
        if token in "Mlh":
            command = token
            continue
        if command == "h":
            continue
        numbers.append(float(token))
        if len(numbers) == 2:
            if command == "M":
                strokes.append([tuple(numbers)])
            else:
                x, y = strokes[-1][-1]
                strokes[-1].append((x + numbers[0], y + numbers[1]))
            numbers = []
    return strokes


@settings(max_examples=60)
@given(st.lists(st.tuples(st.floats(-500, 500), st.floats(-500, 500)), min_size=1, max_size=30))
def test_a_path_goes_through_its_places_to_a_tenth(places):
    x, y = (np.array(axis) for axis in zip(*places, strict=True))
    (stroke,) = read(path(x, y))
    kept = [stroke[0], *(b for a, b in pairwise(stroke) if a != b)]
    rounded = np.round(np.column_stack((x, y)), 1)
    wanted = [rounded[0], *(b for a, b in pairwise(rounded) if (a != b).any())]
    assert len(kept) == len(wanted)
    assert np.allclose(kept, wanted, atol=0.051)


@settings(max_examples=60)
@given(st.lists(st.one_of(st.just(float("nan")), st.floats(-50, 50)), max_size=30), st.booleans())
def test_a_path_is_one_that_svg_knows(values, closed):
    x = np.array(values)
    d = path(x, -x, closed=closed)
    n_stretches = sum(1 for a, b in pairwise([float("nan"), *values]) if a != a and b == b)
    stretches = re.findall("M[^M]*", d)
    assert len(stretches) == n_stretches
    for stretch in stretches:
        assert STRETCH.fullmatch(stretch), stretch
        assert len(re.findall(NUMBER, stretch.split("l")[-1])) % 2 == (1 if "h0" in stretch else 0)


def test_a_pen_is_lifted_where_a_place_is_not_known():
    x = np.array([0.0, 1.0, np.nan, 3.0, 4.0])
    assert [len(stroke) for stroke in read(path(x, x))] == [2, 2]
    assert path(x, x, closed=True).count("z") == 2
    assert path(np.array([]), np.array([])) == ""


def test_what_stands_in_a_drawing_is_words_and_its_names_are_told():
    marks = (
        words((1, 2), "<b>&", anchor="end"),
        rule((0, 0), (1, 1), "line"),
        box((0, 0), (2, 2), paint(fill="drawn")),
        hatch("h", "returned"),
        curve("M0 0l1 1", "ink"),
        area("M0 0l1 1z", "drawn"),
    )
    for width in (WIDE, NARROW):
        drawing = Drawing("key", "A <title>", "D & d", width, 50, marks)
        root = ET.fromstring(drawing.inline())
        titles = {each.get("id"): each.text for each in root if each.get("id")}
        assert titles[root.get("aria-labelledby")] == "A <title>"
        assert titles[root.get("aria-describedby")] == "D & d"
    assert ET.fromstring(drawing.file()).get("height") == "50"


def test_a_mark_has_its_colour_as_an_attribute_and_its_name_as_a_class():
    assert paint(fill="drawn", stroke="ink") == 'class="f-drawn s-ink" fill="#a4560f" stroke="#23282c"'
    assert paint(stroke="line") == 'class="s-line" fill="none" stroke="#d9d3c5"'


def luminance(color):
    """Relative luminance of an sRGB colour, WCAG 2.2."""
    parts = [int(color[k : k + 2], 16) / 255 for k in (1, 3, 5)]
    red, green, blue = (c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in parts)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


@pytest.mark.parametrize("name", ["ink", "soft", "drawn", "returned", "danger"])
def test_words_and_lines_stand_out_from_paper(name):
    """At least 4.5 : 1 against the sheet and against white (WCAG 2.2, 1.4.3)."""
    from ridelog.report.drawings.svg import PAPER_COLORS

    for paper in (PAPER_COLORS["sheet"], "#ffffff"):
        assert (luminance(paper) + 0.05) / (luminance(PAPER_COLORS[name]) + 0.05) >= 4.5


def test_labels_that_would_touch_are_left_out():
    assert fits([10, 20, 60], [20, 20, 20]) == [True, False, True]
    assert fits([], []) == []


def test_words_are_cut_where_they_find_no_room_and_say_so():
    assert shortened("winter tyres", width_of("winter tyres")) == "winter tyres"
    assert shortened("winter tyres", width_of("winter ty")) == "winter t…"
    assert shortened("winter tyres", width_of("winter t")) == "winter…"
    assert shortened("winter tyres", -3.0) == "w…"
