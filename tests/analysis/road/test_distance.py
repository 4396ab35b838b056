"""How sure a distance is: closed forms."""

import numpy as np
import pytest

from ridelog.analysis.road.distance import position_lengthening_m, ridden_distance
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
