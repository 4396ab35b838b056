"""Where the road rises and falls: slopes of roads made by hand, and hills ridden both ways."""

import numpy as np
import pytest

from ridelog.analysis.road.profile import height_profile
from ridelog.analysis.road.slopes import find_slopes, same_hill_pairs


def ridden(knots_m, heights_m, *, step_m=2.0):
    distance = np.arange(knots_m[0], knots_m[-1] + step_m / 2, step_m, dtype=float)
    return distance, np.interp(distance, knots_m, heights_m)


def test_up_flat_and_down_are_told_apart():
    """(0,0)(1000,50)(1500,50)(2500,0) is +50 m in 1 km at 5 %, flat, −50 m in 1 km at −5 %.

    20 m: the smoothing's 12 m and a grid cell of 5 m on either side.
    """
    profile = height_profile(*ridden([0, 1000, 1500, 2500], [0, 50, 50, 0]))
    up, down = find_slopes(profile)
    assert (up.direction, down.direction) == ("up", "down")
    assert profile.distance_m[[up.start, up.end, down.start, down.end]] == pytest.approx([0, 1000, 1500, 2500], abs=20)
    for slope, rise in ((up, 50), (down, -50)):
        assert profile.height_m[slope.end] - profile.height_m[slope.start] == pytest.approx(rise, abs=0.5)


def test_two_climbs_with_a_long_flat_between_are_two_hills():
    profile = height_profile(*ridden([0, 500, 2500, 3000], [0, 20, 20, 40]))
    assert [slope.direction for slope in find_slopes(profile)] == ["up", "up"]


def test_a_dip_of_less_than_the_least_height_does_not_cut_a_hill():
    profile = height_profile(*ridden([0, 500, 550, 1000], [0, 30, 28, 60]))
    assert len(find_slopes(profile)) == 1


def test_a_gentle_rise_is_no_hill():
    """30 m in 3 km is 1 %, below the 2 % of the definition."""
    assert find_slopes(height_profile(*ridden([0, 3000], [0, 30]))) == []


def test_a_rise_below_the_least_height_is_no_hill():
    assert find_slopes(height_profile(*ridden([0, 500, 600, 1500], [0, 0, 4.5, 4.5]))) == []
    assert len(find_slopes(height_profile(*ridden([0, 500, 600, 1500], [0, 0, 4.5, 4.5])), min_height_m=4.0)) == 1


def test_a_single_false_height_makes_no_hill():
    distance, height = ridden([0, 2000], [10, 10], step_m=7.0)
    height[100] += 60
    assert find_slopes(height_profile(distance, height)) == []


def test_a_hill_ridden_both_ways_is_a_pair_and_another_hill_is_not():
    profile = height_profile(*ridden([0, 1000, 1500, 2500, 3000, 3500], [0, 50, 50, 0, 0, 30]))
    slopes = find_slopes(profile)
    there = np.minimum(profile.distance_m, 1250)
    back = np.maximum(profile.distance_m - 1250, 0)
    east = there - np.minimum(back, 1250) - np.maximum(back - 1250, 0)  # out, back and beyond the start
    assert same_hill_pairs(slopes, profile, east, np.zeros_like(east)) == [(0, 1)]
    assert same_hill_pairs(slopes, profile, profile.distance_m, 0 * east) == []
