"""Places along the ride, and hills ridden both ways, worked by hand."""

import numpy as np
import pytest

from ridelog.analysis.road.hills.slopes import find_slopes
from ridelog.analysis.road.places import Positions, same_hill_pairs
from ridelog.analysis.road.profile import height_profile
from ridelog.answer.hills import Place

ALONG_M = np.array([0.0, 100.0, 200.0, 300.0])
LATITUDE = np.array([46.0, 46.001, 46.002, 46.003])
LONGITUDE = np.array([7.0, 7.0, 7.001, 7.002])


def test_a_place_lies_between_the_positions_before_and_after_it():
    place = Positions.known(ALONG_M, LATITUDE, LONGITUDE).place(150.0)
    assert (place.latitude_deg, place.longitude_deg) == pytest.approx((46.0015, 7.0005))


def test_positions_that_are_not_known_are_left_out():
    latitude = np.array([46.0, np.nan, 46.002, 46.003])
    place = Positions.known(ALONG_M, latitude, LONGITUDE).place(100.0)
    assert (place.latitude_deg, place.longitude_deg) == pytest.approx((46.001, 7.0005))


@pytest.mark.parametrize("at_m", [-150.0, 450.0])
def test_a_place_far_from_every_position_is_not_known(at_m):
    assert Positions.known(ALONG_M, LATITUDE, LONGITUDE).place(at_m) is None


def test_without_positions_no_place_is_known():
    assert Positions.known(ALONG_M, np.full(4, np.nan), LONGITUDE).place(100.0) is None


def test_a_road_across_the_180th_meridian_keeps_its_place():
    longitude = np.array([179.998, 179.999, -179.999, -179.998])
    assert Positions.known(ALONG_M, LATITUDE, longitude).place(150.0).longitude_deg == pytest.approx(-180.0)
    assert Positions.known(ALONG_M, LATITUDE, longitude).place(200.0) == Place(46.002, pytest.approx(-179.999))


def test_a_hill_ridden_both_ways_is_a_pair_and_another_hill_is_not():
    along = np.arange(0.0, 3501.0, 2.0)
    heights = np.interp(along, [0, 1000, 1500, 2500, 3000, 3500], [0, 50, 50, 0, 0, 30])
    profile = height_profile(along, heights)
    slopes = find_slopes(profile)
    there = np.minimum(profile.distance_m, 1250)
    back = np.maximum(profile.distance_m - 1250, 0)
    east = there - np.minimum(back, 1250) - np.maximum(back - 1250, 0)  # out, back and beyond the start
    assert same_hill_pairs(slopes, profile, east, np.zeros_like(east)) == [(0, 1)]
    assert same_hill_pairs(slopes, profile, profile.distance_m, 0 * east) == []


def test_of_two_descents_on_one_road_a_climb_takes_the_nearer_and_the_next_climb_the_other():
    """Up and down the same hill twice, the second time 12 m to the north: each climb is paired with its own descent."""
    along = np.arange(0.0, 4001.0, 2.0)
    profile = height_profile(along, 25 - 25 * np.cos(np.pi * along / 1000))
    slopes = find_slopes(profile)
    east = np.abs((profile.distance_m + 1000) % 2000 - 1000)
    north = np.where(profile.distance_m < 2000, 0.0, 12.0)
    assert [slope.direction for slope in slopes] == ["up", "down", "up", "down"]
    assert same_hill_pairs(slopes, profile, east, north) == [(0, 1), (2, 3)]
    assert same_hill_pairs(slopes[:3], profile, east, north) == [(0, 1)]
