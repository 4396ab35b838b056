"""Where the road rises and falls: slopes of roads made by hand."""

from dataclasses import replace

import numpy as np
import pytest

from ridelog.analysis.road.hills.slopes import (
    DEFAULT_SETTINGS,
    find_slopes,
    sharpened,
    straight_stretches,
)
from ridelog.analysis.road.profile import height_profile


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


def spans(profile, **changes):
    """Direction, start and end [m] of the slopes of a profile, and their heights [m]."""
    slopes = find_slopes(profile, settings=replace(DEFAULT_SETTINGS, **changes))
    return [
        (one.direction, *profile.distance_m[[one.start, one.end]].tolist(), pytest.approx(one.height_m, abs=0.5))
        for one in slopes
    ]


def test_two_climbs_with_a_long_flat_between_are_two_hills():
    profile = height_profile(*ridden([0, 500, 2500, 3000], [0, 20, 20, 40]))
    assert [slope.direction for slope in find_slopes(profile)] == ["up", "up"]


@pytest.mark.parametrize(("level_m", "n_hills"), [(60, 1), (110, 1), (190, 2), (300, 2), (700, 2)])
@pytest.mark.parametrize("grade_pct", [3.0, 6.0, 10.0])
def test_level_road_of_150_m_ends_a_hill_and_less_belongs_to_it(level_m, n_hills, grade_pct):
    """Two climbs of 400 m; 30 m on either side of 150 m are what smoothing and grid leave open."""
    rise = 4 * grade_pct
    knots = [0, 300, 700, 700 + level_m, 1100 + level_m, 1500 + level_m]
    slopes = find_slopes(profile := height_profile(*ridden(knots, [0, 0, rise, rise, 2 * rise, 2 * rise])))
    assert len(slopes) == n_hills
    assert sum(slope.height_m for slope in slopes) == pytest.approx(2 * rise, abs=0.5)
    assert profile.distance_m[[slopes[0].start, slopes[-1].end]] == pytest.approx([300, 1100 + level_m], abs=20)


@pytest.mark.parametrize(("depth_m", "n_hills"), [(1.0, 1), (1.5, 1), (2.6, 2), (4.0, 2)])
def test_a_hill_ends_where_the_road_turns_the_other_way_by_2_m(depth_m, n_hills):
    """30 m up, down at 5 % by less or more than 2 m, and 30 m up again; a dip of less than 5 m is no hill itself.

    Two turns of 12.5 % are rounded by 0.3 m each even when what smoothing does is taken off.
    """
    bottom = 600 + 20 * depth_m
    heights = [0, 0, 30, 30 - depth_m, 60 - depth_m, 60 - depth_m]
    profile = height_profile(*ridden([0, 200, 600, bottom, bottom + 400, bottom + 700], heights))
    slopes = find_slopes(profile)
    assert [slope.direction for slope in slopes] == ["up"] * n_hills
    assert sum(slope.height_m for slope in slopes) == pytest.approx(60 - (depth_m if n_hills == 1 else 0), abs=0.8)


def test_a_hill_begins_and_ends_where_the_grade_passes_1_per_cent():
    """0.6 % is no part of it, 1.6 % is: 300 m of 0.6, 300 of 1.6, 300 of 7, 300 of 1.6 and 300 m of 0.6 % again."""
    knots = [0, 300, 600, 900, 1200, 1500]
    profile = height_profile(*ridden(knots, [0, 1.8, 6.6, 27.6, 32.4, 34.2]))
    ((_, start_m, end_m, height_m),) = spans(profile)
    assert (start_m, end_m) == pytest.approx((300, 1200), abs=25)
    assert height_m == 30.6


def test_a_hill_of_slowly_changing_grade_is_not_cut_short():
    """A hump h = 20 m (1 - cos 2πx/1500 m): its grade 8.4 % · sin passes 1 % at 28.5 m (arcsin 0.1194 = 0.1197 rad)."""
    distance = np.arange(0.0, 1501.0, 2.0)
    profile = height_profile(distance, 20 * (1 - np.cos(2 * np.pi * distance / 1500)))
    (_, up_m, top_m, rise_m), (_, down_m, foot_m, fall_m) = spans(profile)
    assert (up_m, top_m, down_m, foot_m) == pytest.approx((28.5, 721.5, 778.5, 1471.5), abs=25)
    assert (rise_m, fall_m) == (39.7, -39.7)  # 40 m · cos 0.1197


def test_a_false_flat_belongs_to_the_hill():
    """1.5 % for 400 m between two climbs of 24 m is steeper than level road: 54 m in 1200 m."""
    profile = height_profile(*ridden([0, 300, 700, 1100, 1500, 1800], [0, 0, 24, 30, 54, 54]))
    ((_, start_m, end_m, height_m),) = spans(profile)
    assert (start_m, end_m) == pytest.approx((300, 1500), abs=20)
    assert height_m == 54


def test_of_a_long_gentle_rise_only_the_steep_part_is_a_hill():
    """4 km of 1.4 % and 300 m of 8 % are 80 m in 4.3 km, 1.86 %; the 24 m beyond 2 % lie on the 300 m.

    Where smoothing has rounded the bends, some 15 m of 4 % on either side are taken with them: 0.6 m each.
    """
    profile = height_profile(*ridden([0, 2000, 2300, 4300], [0, 28, 52, 80]))
    ((_, start_m, end_m, height_m),) = spans(profile)
    assert (start_m, end_m) == pytest.approx((2000, 2300), abs=20)
    assert height_m.expected == pytest.approx(24, abs=1.2)


def test_a_gentle_rise_is_no_hill():
    """30 m in 3 km is 1 %, below the 2 % of the definition."""
    assert find_slopes(height_profile(*ridden([0, 3000], [0, 30]))) == []


def test_a_rise_below_the_least_height_is_no_hill():
    profile = height_profile(*ridden([0, 500, 600, 1500], [0, 0, 4.5, 4.5]))
    assert spans(profile) == []
    assert len(spans(profile, min_height_m=4.0)) == 1


def test_a_ramp_shorter_than_50_m_is_no_hill():
    """6 m in 35 m; smoothing leaves some 5 m uncertain at either end."""
    profile = height_profile(*ridden([0, 500, 535, 1000], [0, 0, 6, 6]))
    assert spans(profile) == []
    assert len(spans(profile, min_length_m=20.0)) == 1


def test_a_rise_steeper_than_any_road_is_a_false_height():
    """40 m in 80 m is 50 %."""
    profile = height_profile(*ridden([0, 500, 580, 1000], [0, 0, 40, 40]))
    assert spans(profile) == []
    assert len(spans(profile, max_grade_pct=60.0)) == 1


def test_smoothing_takes_little_off_the_height_of_a_hill():
    """A roof of 2 · 250 m at 8 %: a kernel of 12 m lowers the ridge by 12 m · 0.16/√(2π) = 0.77 m, and 0.35 m are left.

    A ridge so sharp is drawn as two bends and a level stretch of some 20 m between, half of which is on either side.
    """
    profile = height_profile(*ridden([0, 500, 750, 1000, 1500], [0, 0, 20, 0, 0]))
    assert profile.height_m.max() == pytest.approx(20 - 0.77, abs=0.1)
    up, down = find_slopes(profile)
    assert (up.height_m, down.height_m) == pytest.approx((20, -20), abs=0.4)


def test_the_height_of_a_usual_hill_is_that_of_its_road():
    profile = height_profile(*ridden([0, 300, 700, 1100, 1500], [0, 0, 24, 24, 0]))
    up, down = find_slopes(profile)
    assert (up.height_m, down.height_m) == pytest.approx((24, -24), abs=0.1)


def test_a_road_is_drawn_as_few_straight_stretches():
    profile = height_profile(*ridden([0, 1000, 1500, 2500], [0, 25, 25, 0]))
    road = straight_stretches(profile)
    assert road.distance_m == pytest.approx([0, 1000, 1500, 2500], abs=10)
    assert road.height_m == pytest.approx([0, 25, 25, 0], abs=0.2)
    assert road.grade_pct == pytest.approx([2.5, 0, -2.5], abs=0.05)


def test_a_place_between_stretches_is_put_where_the_grade_passes_1_per_cent():
    """From level to 8 % over 300 m: 1 % is passed after 37.5 m."""
    distance = np.arange(0.0, 1500.1, 5.0)
    grade = np.interp(distance, [500, 800], [0, 8]) / 100
    profile = height_profile(distance, np.concatenate(([0.0], np.cumsum((grade[1:] + grade[:-1]) / 2 * 5))))
    edge = sharpened(straight_stretches(profile), profile, None, DEFAULT_SETTINGS)
    first_steep = int(np.argmax(edge.grade_pct > 1))
    assert edge.distance_m[first_steep] == pytest.approx(537.5, abs=15)


def test_a_single_false_height_makes_no_hill():
    distance, height = ridden([0, 2000], [10, 10], step_m=7.0)
    height[100] += 60
    assert find_slopes(height_profile(distance, height)) == []
