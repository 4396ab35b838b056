"""Which stretches of coasting lie on one road."""

import numpy as np
import pytest

from ridelog.analysis.coastdown.roads import Place, roads_of, shared_sines


def there_and_back(aside_m=0.0, turn_rad=0.0):
    """100 m north-east and 100 m back, 11 samples each, ``aside_m`` beside, turned by ``turn_rad``."""
    along = np.linspace(0, 100, 11)
    way_back = np.pi / 4 + np.pi + turn_rad
    east = np.concatenate([along * np.sin(np.pi / 4), 100 * np.sin(np.pi / 4) + aside_m + along * np.sin(way_back)])
    north = np.concatenate([along * np.cos(np.pi / 4), 100 * np.cos(np.pi / 4) - aside_m + along * np.cos(way_back)])
    distance = np.concatenate([along, 100 + along])
    return [(0, 10), (11, 21)], distance, (east, north)


def test_a_road_ridden_back_is_one_road_with_two_ways():
    """Places along it count the same way for both."""
    first, second = roads_of(*there_and_back())
    assert (first.road, first.way, second.road, second.way) == (0, 1, 0, -1)
    assert second.along_m == pytest.approx(np.linspace(100, 0, 11), abs=1e-9)


@pytest.mark.parametrize("changes", [{"aside_m": 30.0}, {"turn_rad": 0.5}])
def test_a_road_beside_it_or_across_it_is_another(changes):
    """42 m aside, or turned by 29°."""
    first, second = roads_of(*there_and_back(**changes))
    assert first.road != second.road


def test_without_positions_every_stretch_is_a_road_of_its_own():
    """Nothing tells which way it was."""
    runs, distance, _ = there_and_back()
    assert [(place.road, place.way) for place in roads_of(runs, distance, None)] == [(0, 1), (1, 1)]


def test_a_bent_road_is_left_alone():
    """A quarter of a circle is no straight line."""
    angle = np.linspace(0, np.pi / 2, 11)
    plane = (64 * np.cos(angle), 64 * np.sin(angle))
    runs, distance = [(0, 10), (0, 10)], 64 * angle
    assert [place.road for place in roads_of(runs, distance, plane)] == [0, 1]


def test_the_slope_of_a_road_is_the_mean_of_its_passes():
    """+1 % seen going, −3 % seen coming back: the road rises by 2 %, on two passes."""
    along = np.linspace(0, 100, 11)
    places = [Place(0, 1, along), Place(0, -1, along[::-1]), Place(1, 1, along)]
    sines, passes = shared_sines(places, [np.full(11, 0.01), np.full(11, -0.03), np.full(11, 0.05)])
    assert sines[0] == pytest.approx(np.full(11, 0.02))
    assert sines[1] == pytest.approx(np.full(11, -0.02))
    assert sines[2] == pytest.approx(np.full(11, 0.05))
    assert passes.tolist() == [2.0, 1.0]
