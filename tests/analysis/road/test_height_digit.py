"""The last digit of a height, and the staircase that it makes of a slope: closed forms of rounded straight roads."""

import numpy as np
import pytest

from ridelog.analysis.road.height_digit import height_digit_m, without_treads
from ridelog.analysis.road.profile import height_profile

ALONG_M = np.arange(0.0, 1000.1, 4.0)


def written(height_m, digit_m):
    return np.round(height_m / digit_m) * digit_m


@pytest.mark.parametrize("digit_m", [0.1, 0.2, 0.3048, 1.0, 5.0])
def test_the_digit_of_a_written_height_is_found(digit_m):
    heights = written(30 + 20 * np.sin(ALONG_M / 300), digit_m)
    assert height_digit_m(heights) == pytest.approx(digit_m, rel=1e-3)


def test_the_digit_is_found_between_another_devices_samples():
    """A track of 1 s at the samples of a log of 0.2 s: only what repeats is as it was written."""
    at_s = np.arange(0.0, 250.0, 1.0)
    heights = written(30 + 20 * np.sin(at_s / 75), 1.0)
    assert height_digit_m(np.interp(np.arange(0.07, 249.0, 0.2), at_s, heights)) == pytest.approx(1.0)


def test_a_height_without_steps_has_no_digit():
    assert height_digit_m(30 + 20 * np.sin(ALONG_M / 300)) == 0.0
    assert height_digit_m(np.full(50, 12.0)) == 0.0
    assert height_digit_m(np.array([])) == 0.0


def test_level_roads_at_even_heights_are_no_staircase():
    """Level at 0, 24 and 48 m, with climbs between: only a fifth of the heights would be in steps of 24 m."""
    heights = np.interp(ALONG_M, [0, 80, 400, 480, 900, 1000], [0, 0, 24, 24, 48, 48])
    assert height_digit_m(heights) == 0.0


def test_a_straight_slope_written_in_metres_is_straight_again():
    """3 % rounded to 1 m: each crossing is known to half the 4 m between samples, so to 0.06 m; its ends are open."""
    true = 10.2 + 0.03 * ALONG_M
    found = without_treads(ALONG_M, written(true, 1.0), 1.0)
    inner = (ALONG_M > 40) & (ALONG_M < 960)
    assert np.abs(found - true)[inner].max() <= 0.061
    assert np.abs(written(true, 1.0) - true)[inner].max() > 0.45


def test_the_grade_of_a_slope_written_in_metres_is_that_of_the_slope():
    """0.5 points: two crossings that are off by 2 m each, 33 m apart, are 12 % of 3 %."""
    profile = height_profile(ALONG_M, written(10.2 + 0.03 * ALONG_M, 1.0))
    inner = (profile.distance_m > 60) & (profile.distance_m < 940)
    assert profile.digit_m == pytest.approx(1.0)
    assert np.abs(profile.grade_pct[inner] - 3.0).max() < 0.5


def test_level_road_before_and_after_a_slope_stays_level():
    """(0, 20.3)(400, 20.3)(600, 30.3)(1000, 30.3), written in metres: 20 and 30 beyond one tread of the slope."""
    true = np.interp(ALONG_M, [0, 400, 600, 1000], [20.3, 20.3, 30.3, 30.3])
    found = without_treads(ALONG_M, written(true, 1.0), 1.0)
    assert found[ALONG_M < 380] == pytest.approx(20.0)
    assert found[ALONG_M > 620] == pytest.approx(30.0)
    assert np.abs(found - true).max() <= 0.5


def test_a_crest_keeps_what_was_written():
    """Up and down again over 25.4 m, written 25 at the top."""
    true = 25.4 - 0.04 * np.abs(ALONG_M - 500)
    found = without_treads(ALONG_M, written(true, 1.0), 1.0)
    assert found.max() == pytest.approx(25.0)
    assert np.abs(found - true)[20:-20].max() <= 0.5


def test_a_leap_of_several_digits_stays_as_recorded():
    heights = np.array([10.0, 10, 10, 13, 13, 13, 13])
    along = np.arange(7.0)
    assert without_treads(along, heights, 1.0).tolist() == heights.tolist()


def test_a_bike_that_stands_while_its_height_wanders_is_no_road():
    """Steps of one digit at one place: nothing falls apart, and the height stays among what was written."""
    along = np.concatenate([np.arange(0.0, 100.0, 5.0), np.full(30, 100.0), np.arange(105.0, 200.0, 5.0)])
    heights = np.concatenate([np.full(20, 10.0), np.repeat([10.0, 11.0, 10.0], 10), np.full(19, 10.0)])
    found = without_treads(along, heights, 1.0)
    assert np.isfinite(found).all()
    assert (found >= 10).all()
    assert (found <= 11).all()
