"""The scene that every question is asked of: what is in it, and what it holds of a ride without."""

import numpy as np
import pytest

from ridelog.analysis.scene import grade_over_pct, heights_of, scene_of, track_of
from ridelog.settings.bike import Bike, BikeSection, RoadSection
from ridelog.timeline.ride import join_recordings
from tests.timeline.simulated import controller_log, track_log, true_ride

TRUTH = true_ride(8, 900.0)


@pytest.fixture(scope="module")
def scene():
    return scene_of(join_recordings([controller_log(TRUTH), track_log(TRUTH)]))


def test_everything_is_at_the_same_samples(scene):
    n = len(scene.series)
    parts = (scene.motion.speed_mps, scene.motion.height_m, scene.motion.grade_pct, scene.regen_mask)
    assert [len(part) for part in parts] == [n] * 4
    assert len(scene.gap_mask) == n - 1
    assert np.array_equal(scene.time_s, scene.series["elapsed_s"])


def test_height_and_grade_are_those_of_the_road(scene):
    """Heights are off by a constant of the barometer and 0.5 m or so; the grade by 1 % of road at the median."""
    known = np.isfinite(scene.motion.height_m)
    true_m = np.interp(scene.time_s[known], TRUTH.time_s, TRUTH.altitude_m)
    off_m = scene.motion.height_m[known] - true_m
    assert np.std(off_m) < 1.5
    moving = np.gradient(TRUTH.distance_m) > 0.02
    grade_pct = 100 * np.gradient(TRUTH.altitude_m)[moving] / np.gradient(TRUTH.distance_m)[moving]
    found = np.interp(TRUTH.time_s[moving], scene.time_s, scene.motion.grade_pct)
    assert np.nanmedian(np.abs(found - grade_pct)) < 1.5


def test_braking_is_where_the_bike_was_slowed_and_regen_where_current_came_back(scene):
    assert scene.braking
    slowing = [scene.motion.speed_mps[first] > scene.motion.speed_mps[last] for first, last in scene.braking]
    assert np.mean(slowing) > 0.5
    true_w = np.interp(scene.time_s, TRUTH.time_s, TRUTH.power_w)
    assert (true_w[scene.regen_mask] < 25).mean() > 0.95


def test_what_the_bike_file_does_not_give_is_assumed_and_stated():
    recordings = [controller_log(TRUTH), track_log(TRUTH)]
    assert "total_mass_kg" in scene_of(join_recordings(recordings)).assumed
    known = Bike(bike=BikeSection(total_mass_kg=90.0), road=RoadSection(cda_m2=0.5, motor_drag_n=2.0))
    scene = scene_of(join_recordings(recordings, known))
    assert "total_mass_kg" not in scene.assumed
    assert (scene.load.mass_kg, scene.load.cda_m2, scene.drag.value_n) == (90.0, 0.5, pytest.approx(2.0))


def test_a_log_alone_has_no_place_no_height_and_no_drag():
    scene = scene_of(join_recordings([controller_log(TRUTH)]))
    assert (scene.plane, scene.heights, scene.drag) == (None, None, None)
    assert np.isnan(scene.motion.height_m).all()
    assert scene.flow.charge is not None


def test_a_track_alone_has_no_flow():
    scene = scene_of(join_recordings([track_log(TRUTH)]))
    assert scene.flow.charge is None
    assert not scene.regen_mask.any()
    assert scene.heights is not None


def test_a_grade_over_more_of_the_road_is_smoother(scene):
    track = track_of(scene.series, scene.plane)
    heights = heights_of(track)
    rough, smooth = (np.nanstd(np.diff(grade_over_pct(track, heights, over_m))) for over_m in (12.0, 60.0))
    assert smooth < rough
