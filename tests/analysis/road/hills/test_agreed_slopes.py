"""The hills that most roads have: those of a road under good heights, and none that only the noise makes."""

import itertools
import tracemalloc

import numpy as np
import pytest

from ridelog.analysis.road.hills.agreed_slopes import _agreed, _Hills, agreed_slopes
from ridelog.analysis.road.hills.slopes import find_slopes
from ridelog.analysis.road.profile import height_profile
from tests.analysis.road.heights import noise_of, wander

SPEED_MPS = 5.0
ALONG_M = np.arange(0.0, 3000.1, SPEED_MPS)  # a sample a second


def ridden(knots_m, heights_m, *, sigma_m=0.05, seed=0):
    """The profile of a road under an error of that size, which forgets itself over 300 s, and its noise as it is."""
    error_m = wander(np.random.default_rng([seed, 3]), len(ALONG_M), 1.0, sigma_m, 300.0)
    profile = height_profile(ALONG_M, np.interp(ALONG_M, knots_m, heights_m) + error_m)
    place_m = profile.distance_m
    noise = noise_of(
        slow_m=sigma_m, wander_m2ps=sigma_m**2 / 300.0, passed_s=place_m / SPEED_MPS, distance_m=place_m,
        rounding_m=np.zeros_like(place_m),
    )  # fmt: skip
    return profile, noise


def test_under_good_heights_the_hills_are_those_drawn_from_the_profile():
    """Up 20 m, level for 400 m, up 30 m, and down again at 5 to 6 %: nothing is in doubt, so nothing differs."""
    profile, noise = ridden([0, 400, 800, 1200, 1700, 2000, 2800, 3000], [0, 0, 20, 20, 50, 50, 0, 0])
    slopes = agreed_slopes(profile, noise)
    assert [slope.direction for slope in slopes] == ["up", "up", "down"]
    assert slopes == find_slopes(profile, noise)


@pytest.mark.parametrize("sigma_m", [2.0, 4.0])
def test_hardly_a_hill_of_a_level_road_is_made_by_its_errors(sigma_m):
    """40 roads of 3 km: errors of 2 and 4 m rise by 5 m now and then, but hardly ever so that most roads would."""
    found = [
        (agreed_slopes(*road), find_slopes(*road))
        for road in (ridden([0, 3000], [0, 0], sigma_m=sigma_m, seed=seed) for seed in range(40))
    ]
    agreed, drawn = (sum(len(each[side]) for each in found) for side in (0, 1))
    assert agreed <= 4
    assert agreed <= max(drawn, 1)


def test_two_climbs_stay_two_where_the_road_between_looks_a_little_steep():
    """300 m of level road that errors of 2 m tilt now and then by more than 1 %: two hills more often than one."""
    knots, heights = [0, 500, 1000, 1300, 1800, 3000], [0, 0, 30, 30, 60, 60]
    ups = []
    for seed in range(40):
        found = agreed_slopes(*ridden(knots, heights, sigma_m=2.0, seed=seed))
        ups.append(sum(slope.height_m > 15 for slope in found))
    assert np.mean(np.array(ups) == 2) >= 0.9


@pytest.mark.parametrize("seed", range(8))
def test_hills_are_in_order_apart_and_go_the_way_they_say(seed):
    knots = np.arange(0, 3001, 200)
    heights = 8 * np.random.default_rng(seed).standard_normal(len(knots)).cumsum()
    slopes = agreed_slopes(*ridden(knots, heights, sigma_m=1.5, seed=seed))
    assert slopes
    assert all(slope.start < slope.end for slope in slopes)
    assert all(one.end <= other.start for one, other in itertools.pairwise(slopes))
    assert all((slope.height_m > 0) == (slope.direction == "up") for slope in slopes)


def test_ends_in_doubt_say_so():
    """Where foot and top are known to some metres under a good height, they are known to tens under a rough one."""
    road = [0, 1000, 1600, 3000], [0, 0, 30, 30]
    (sure,), (unsure,) = (
        [slope for slope in agreed_slopes(*ridden(*road, sigma_m=sigma_m)) if slope.height_m > 15]
        for sigma_m in (0.05, 3.0)
    )
    assert sure.start_u_m + sure.end_u_m < unsure.start_u_m + unsure.end_u_m


def test_hills_of_many_roads_are_not_all_weighed_against_each_other_at_once():
    """Which hill of each of 60 roads is that of another took 31 MB of a log of 3200 gaps; few of them are asked for."""
    rng, n_hills = np.random.default_rng(5), 300
    lists = []
    for _ in range(60):
        start_m = 500.0 * np.arange(n_hills) + rng.uniform(0, 60, n_hills)
        lists.append(_Hills(np.where(np.arange(n_hills) % 2, 1.0, -1.0), start_m, start_m + rng.uniform(200, 300)))
    tracemalloc.start()
    try:
        agreed = _agreed(lists)
        most_bytes = tracemalloc.get_traced_memory()[1]
    finally:
        tracemalloc.stop()
    assert len(agreed) == n_hills
    assert most_bytes < 4 * len(lists) * len(lists) * n_hills
