"""Points of any GPX document from its tree, also where no two of them are built alike."""

from xml.etree.ElementTree import fromstring

import numpy as np

from ridelog.importers.points.tree import tree_points
from tests.importers.tracks import gpx, point


def read(text):
    return tree_points(fromstring(text.replace('<?xml version="1.0" encoding="UTF-8"?>\n', "")))


def test_points_of_different_build_keep_their_places():
    inner = ["", "<hr>90</hr>", "<extensions><hr>91</hr><a/></extensions>", "", "<hr>92</hr>"]
    points, _ = read(gpx([point(k, inner=text) for k, text in enumerate(inner)]))
    assert np.diff(points.time_us).tolist() == [1_000_000] * 4
    np.testing.assert_array_equal(points.extras.columns(points.rows)[("hr", "")], [np.nan, 90, 91, np.nan, 92])


def test_the_last_time_in_the_point_itself_counts_and_others_are_extras():
    inner = "<fix><time>7</time></fix><time>2026-05-01T09:00:00Z</time>"
    points, _ = read(gpx([point(0, inner=inner)]))
    assert points.time_us.tolist() == [1_777_626_000_000_000]  # 2026-05-01 09:00 UTC
    assert points.extras.columns(points.rows)[("time", "")].tolist() == [7]


def test_a_unit_is_read_by_any_of_its_names():
    inner = '<a unit="W">1</a><a units="kW">2</a><a uom="V">3</a>'
    points, _ = read(gpx([point(0, inner=inner)]))
    assert list(points.extras.columns(points.rows)) == [("a", "W"), ("a", "kW"), ("a", "V")]


def test_points_outside_of_a_segment_of_a_track_are_none():
    text = gpx([point(0)]).replace("</gpx>", f"<trkseg>{point(1)}</trkseg><rte>{point(2)}</rte></gpx>")
    assert len(read(text)[0].time_us) == 1
