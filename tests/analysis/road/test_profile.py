"""Height over distance, and ascent."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from ridelog.analysis.road.profile import _turning_points, ascent_descent_m, height_profile, turning_points

# Worked sequence of a web page on ascent: 12 17 15 20 22 18 15 16 14 12 (raw 13 up, 13 down; 12/12 with
# reversals below 2 m ignored, 10/10 below 3 m).
SEQUENCE = np.array([12.0, 17, 15, 20, 22, 18, 15, 16, 14, 12])


@pytest.mark.parametrize(("reversal_m", "expected"), [(0.5, (13, 13)), (2.0, (12, 12)), (3.0, (10, 10))])
def test_ascent_of_the_worked_sequence(reversal_m, expected):
    assert ascent_descent_m(SEQUENCE, reversal_m=reversal_m) == expected


def test_small_steps_back_do_not_hide_a_long_climb():
    """100 times (+4, −1) is 300 m of climb; with the end point kept 301 up and 1 down (D. Connelly 2010)."""
    heights = np.concatenate(([0.0], np.cumsum([4.0, -1.0] * 100)))
    assert ascent_descent_m(heights, reversal_m=3.0) == (301, 1)


def test_a_ride_that_only_climbs_descends_0_m_without_a_sign():
    """Minus zero would be shown, and written to JSON, as "-0"."""
    assert [str(metres) for metres in ascent_descent_m(np.array([0.0, 10.0, 20.0]))] == ["20.0", "0.0"]


def test_a_flat_ride_turns_only_at_its_ends():
    assert turning_points(np.array([0.0, 1, 0, 1, 0]), reversal_m=3.0) == [0, 4]


def ridden(knots_m, heights_m, *, step_m=2.0):
    distance = np.arange(knots_m[0], knots_m[-1] + step_m / 2, step_m, dtype=float)
    return distance, np.interp(distance, knots_m, heights_m)


@given(st.lists(st.integers(0, 9), min_size=1, max_size=60), st.integers(1, 6))
def test_turning_points_are_those_found_by_going_along_all_heights(heights, reversal):
    expected = _turning_points(heights, reversal)
    assert turning_points(np.array(heights, dtype=float), reversal_m=float(reversal)) == expected


def test_standing_still_adds_no_climb():
    """A rest of 10 min with ±0.5 m of noise: raw steps would add hundreds of metres (N·a/3)."""
    distance, height = ridden([0, 500, 1500], [0, 25, 25])
    noise = np.random.default_rng(1).uniform(-0.5, 0.5, 600)
    rest = 200
    distance = np.concatenate([distance[:rest], np.full(600, distance[rest]), distance[rest:]])
    height = np.concatenate([height[:rest], height[rest] + noise, height[rest:]])
    profile = height_profile(distance, height)
    assert ascent_descent_m(profile.height_m) == pytest.approx((25, 0), abs=0.3)


def test_grade_is_that_of_a_straight_slope_up_to_its_ends():
    profile = height_profile(*ridden([0, 1000], [0, 60]))
    assert profile.grade_pct == pytest.approx(6.0, abs=0.02)  # the median of three holds the last cells back a little


def test_a_ride_without_height_or_distance_has_no_profile():
    assert height_profile(np.arange(100.0), np.full(100, np.nan)) is None
    assert height_profile(np.zeros(100), np.arange(100.0)) is None
    assert height_profile(np.array([]), np.array([])) is None


def test_a_way_that_is_long_for_its_samples_gets_wider_cells():
    """100 samples over 4000 km: no more than 30,400 cells, where 5 m would make 800,000; the heights are the same."""
    along_m = np.linspace(0.0, 4e6, 100)
    height_m = 100 + 50 * np.sin(np.arange(100) / 9)
    profile = height_profile(along_m, height_m)
    assert len(profile.distance_m) <= 30_402
    assert profile.height_at(along_m[10:90:7]) == pytest.approx(height_m[10:90:7], abs=2.0)
    dense = height_profile(along_m / 100, height_m)
    assert dense.distance_m[1] == pytest.approx(5.0, rel=1e-3)
