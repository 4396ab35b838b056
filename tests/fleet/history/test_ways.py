"""Two ways along one road: published distances, the same road the other way, ends that differ."""

import numpy as np
import pytest
from pyproj import Geod

from ridelog.fleet.history.ways import Agreement, frechet_m, length_m, plane, resampled, same_way


def along(*points):
    return np.array(points, dtype=float)


def circle(radius_m):
    angle = np.linspace(0, 2 * np.pi, 100)
    return radius_m * np.column_stack([np.cos(angle), np.sin(angle)])


def test_published_frechet_distances():
    # tests of similarity_measures (MIT): circles of radius 10 and 100; y = x against y = x + 1
    assert frechet_m(circle(10), circle(100)) == pytest.approx(90, abs=1e-9)
    x = np.linspace(0, 1, 100)
    assert frechet_m(np.column_stack([x, x]), np.column_stack([x[::2], x[::2] + 1])) == pytest.approx(1.0, abs=1e-9)
    # Worked by hand: parallel lines 1 apart; 0-10 against 0-6-4-10, where a leash of 1 lasts; Hausdorff says 0
    assert frechet_m(along((0, 0), (1, 0), (2, 0), (3, 0)), along((0, 1), (1, 1), (2, 1), (3, 1))) == 1
    there = resampled(along((0, 0), (10, 0)), 0.1)
    back = np.concatenate([resampled(along((a, 0), (b, 0)), 0.1) for a, b in ((0, 6), (6, 4), (4, 10))])
    assert frechet_m(there, back) == pytest.approx(1.0, abs=0.1)


def test_the_same_road_the_other_way_is_another_way():
    road = resampled(along((0, 0), (300, 40), (600, 0)))
    assert same_way(road, road + 8)
    assert not same_way(road, road[::-1])
    assert frechet_m(along((0, 0), (3, 0)), along((3, 0), (0, 0))) == 3  # where Hausdorff says 0


def test_ends_may_differ_and_roads_may_not():
    road = resampled(along((0, 0), (800, 0)))
    assert same_way(road, resampled(along((120, 10), (760, 5))))
    assert not same_way(road, resampled(along((500, 0), (1300, 0))))
    assert not same_way(road, resampled(along((0, 0), (400, 200), (800, 0))))
    assert not same_way(road, resampled(along((0, 60), (800, 60))))
    assert same_way(road, resampled(along((0, 60), (800, 60))), Agreement(apart_m=70))


def test_a_plane_keeps_distances():
    # geodesic on WGS 84 by pyproj; a sphere is within half a percent of it
    line = plane(np.array([46.5, 46.51]), np.array([-32.0, -31.98]), (46.5, -32.0))
    geodesic = Geod(ellps="WGS84").line_length([-32.0, -31.98], [46.5, 46.51])
    assert length_m(line) == pytest.approx(geodesic, rel=0.005)
    across = plane(np.array([0.0, 0.0]), np.array([179.999, -179.999]), (0.0, 180.0))
    assert length_m(across) == pytest.approx(0.002 * 111_194.93)


def test_resampling_keeps_ends_and_length():
    line = resampled(along((0, 0), (7, 0), (7, 31)))
    assert line[0].tolist() == [0, 0]
    assert line[-1].tolist() == [7, 31]
    assert np.hypot(*np.diff(line, axis=0).T).max() <= 10
