"""How sure a distance is: closed forms."""

import numpy as np
import pytest

from ridelog.analysis.road.distance import position_lengthening_m, ridden_distance, unseen_ends_m
from ridelog.analysis.road.height_noise import Track
from tests.analysis.road.heights import road_ridden


def test_a_distance_keeps_to_the_middle_of_its_rectangle():
    """95 % of ±1.5 % of 10 km is ±142.5 m; of ±0.5 % ±47.5 m; to one trial of 4000, 0.075 m and 0.025 m."""
    assert ridden_distance(10_000.0, "wheel").quantity().high95 == pytest.approx(10_142.5, abs=0.075)
    assert ridden_distance(10_000.0).quantity().low95 == pytest.approx(9_952.5, abs=0.025)


def test_the_wandering_of_positions_at_stops_is_found():
    """Two stops at which the way along the positions grew by 4 m and 3 m, on straight noiseless roads."""
    track = road_ridden(np.random.default_rng(1), 0.0, n_stops=2)
    grown = track.distance_m + 4 * (track.time_s >= 100) + 3 * (track.time_s >= 225)
    straight = Track(track.time_s, grown, track.altitude_m, track.speed_mps, track.distance_m, 0 * track.distance_m)
    assert position_lengthening_m(straight) == pytest.approx(7.0, abs=0.01)
    assert ridden_distance(1000.0, "positions", lengthened_m=7.0).quantity().low95 == pytest.approx(
        1000 - 4.75 - 14, abs=0.006
    )


def test_positions_that_stay_while_the_bike_rolls_lengthen_nothing():
    time_s = np.arange(0.0, 60.0)
    there = np.zeros(60)
    assert position_lengthening_m(Track(time_s, 5 * time_s, there, there + 5, there, there)) == 0.0


def test_bends_between_fixes_may_have_shortened_the_way():
    """12 m told, twice that allowed on the upper side alone; 0.475 % of 1000 m is 4.75 m."""
    way = ridden_distance(1000.0, "positions", shortened_m=12.0).quantity()
    assert way.high95 == pytest.approx(1000 + 4.75 + 24, abs=0.01)
    assert way.low95 == pytest.approx(1000 - 4.75, abs=0.01)


def test_a_bending_way_between_sparse_fixes_is_not_taken_for_scatter():
    """A circle of 100 m at 5 m/s, exact fixes 5 s apart: a bend of 6 m a leg, taken for scatter, would be 90 m."""
    time_s = np.arange(0.0, 1000.0, 5.0)
    east, north = 100 * np.cos(time_s / 20), 100 * np.sin(time_s / 20)
    track = Track(time_s, 5 * time_s, 0 * time_s, 0 * time_s + 5, east, north)
    assert position_lengthening_m(track, fix_step_s=5.0) < 1.0


def test_what_was_ridden_before_the_first_and_after_the_last_sparse_fix_is_told():
    """4 m/s, nothing known in the first 3 s and in the last 8 s: 44 m; of fixes each second, nothing."""
    time_s = np.arange(101.0)
    way_m = np.where((time_s >= 3) & (time_s <= 92), 4 * time_s, np.nan)
    track = Track(time_s, way_m, 0 * time_s, 0 * time_s + 4)
    assert unseen_ends_m(track, 10.0) == pytest.approx(44.0)
    assert unseen_ends_m(track, 1.0) == 0.0
